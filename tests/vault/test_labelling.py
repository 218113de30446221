"""A label that cannot be given: nothing changes, and what cannot be taken back is mended later."""

import errno
from collections.abc import Iterator
from pathlib import Path

import pytest

from showvault.files.disk import DiskError
from showvault.vault.checking import check_vault
from showvault.vault.labelling import remove_label, set_label
from showvault.vault.versions import Version, list_versions
from tests.faults.failing_disk import FailingDisk
from tests.vault.builders import keep, make_vault, opened

FOR_EVER = 10**6


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    folder = make_vault(tmp_path / "vault")
    with opened(folder) as vault:
        keep(vault, {"show/1.json": b"1"}, label="first")
    return folder


def calls_of_a_label(folder: Path) -> Iterator[int]:
    """Every call to the disk that giving a label makes, counted from 1."""
    disk = FailingDisk()
    with opened(folder, disk=disk) as vault:
        before = disk.calls
        commit = list_versions(vault.store)[0].commit
        set_label(vault, commit, "counted", who="Ada")
        made = disk.calls - before
        remove_label(vault, "counted", who="Ada")
    yield from range(1, made + 1)


@pytest.mark.parametrize("stays", [1, FOR_EVER])
def test_a_disk_that_fails_at_any_call_costs_no_label_that_was_given(
    folder: Path, stays: int
) -> None:
    """Once, or from then on: then it cannot even be taken back, and the next opening mends it."""
    refused = 0
    for call in calls_of_a_label(folder):
        disk = FailingDisk(code=errno.EIO, stays=stays)
        with opened(folder, disk=disk) as vault:
            version: Version = list_versions(vault.store)[0]
            disk.fails_at = disk.calls + call
            try:
                set_label(vault, version.commit, f"label {call}", who="Ada")
            except DiskError:
                refused += 1
                given = False
            else:
                given = True
            disk.fails_at = None
        with opened(folder) as vault:
            labels = list_versions(vault.store)[0].labels
            assert labels[0] == "first"
            assert (f"label {call}" in labels) >= given
            assert check_vault(vault) == []
            if f"label {call}" in labels:
                remove_label(vault, f"label {call}", who="Ada")
    assert refused >= 10
