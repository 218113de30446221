"""Fail the n-th operation of a restore: the file is the old or the restored one, both are kept."""

import errno
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from showvault.errors import ShowvaultError
from showvault.files.disk import DISK
from showvault.files.reading import read_settled
from showvault.flows.describing import Describer
from showvault.flows.keep import Keeper
from showvault.flows.restore import Restored, restore_in_place, restore_to
from showvault.flows.stored import bytes_of_file
from showvault.flows.summaries import describe_sides
from showvault.interchange.registry import choose_reader
from showvault.vault.checking import check_vault
from showvault.vault.layout import create_vault
from showvault.vault.opening import Vault
from showvault.vault.versions import list_versions
from tests.faults.failing_disk import FailingDisk
from tests.flows.rooms import a_save
from tests.vault.builders import START, Ticking, opened

FIRST, SECOND, UNSAVED = a_save(1), a_save(2), a_save(3)

Restore = Callable[[Keeper, Path], Restored]


def in_place(keeper: Keeper, show: Path) -> Restored:
    first = list_versions(keeper.vault.store)[-1]
    return restore_in_place(keeper, first, first.files, when=START)


def to_a_file(keeper: Keeper, show: Path) -> Restored:
    first = list_versions(keeper.vault.store)[-1]
    return restore_to(keeper, first, first.files[0], show, when=START)


def keeper_of(vault: Vault) -> Keeper:
    return Keeper(vault, "Ada", choose_reader, Describer(describe_sides))


def lay_out(place: Path, template: Path) -> None:
    """Two versions kept, and a third save that no version holds; always in the same place."""
    shutil.rmtree(place, ignore_errors=True)
    if template.exists():
        shutil.copytree(template, place)
        return
    show = place / "evening.json"
    place.mkdir()
    create_vault(place / "vault", name="Evening", watched=[show], clock=Ticking())
    with opened(place / "vault") as vault:
        for data in (FIRST, SECOND):
            show.write_bytes(data)
            keeper_of(vault).keep([read_settled(show)], when=START)
    show.write_bytes(UNSAVED)
    (place / "vault" / "ballast").write_bytes(b"")
    shutil.copytree(place, template)


def kept_in(vault: Vault) -> list[bytes]:
    return [
        bytes_of_file(vault.store, version, version.files[0])
        for version in list_versions(vault.store)
    ]


@pytest.mark.parametrize(("act", "code"), [(in_place, errno.EIO), (to_a_file, errno.ENOSPC)])
def test_a_restore_survives_a_failure_at_any_step(
    tmp_path: Path, act: Restore, code: int, capsys: pytest.CaptureFixture[str]
) -> None:
    place, template = tmp_path / "room", tmp_path / "template"
    show = place / "evening.json"
    n = refused = 0
    while True:
        n += 1
        lay_out(place, template)
        with opened(place / "vault") as vault:
            keeper = keeper_of(vault)
            disk = vault.disk = vault.store.disk = FailingDisk(n, code)
            told = None
            try:
                told = act(keeper, show)
            except ShowvaultError as error:
                assert error.exit_code in (5, 6, 7), error
                refused += 1
            vault.disk = vault.store.disk = DISK
        with opened(place / "vault") as vault:
            kept = kept_in(vault)
            assert kept[-2:] == [SECOND, FIRST]
            there = show.read_bytes()
            assert there in (FIRST, UNSAVED)
            assert there == UNSAVED or UNSAVED in kept
            assert told is None or there == FIRST
            assert not [path for path in place.iterdir() if path.name.startswith(".")]
            act(keeper_of(vault), show)
            assert show.read_bytes() == FIRST
            assert UNSAVED in kept_in(vault)
            assert check_vault(vault) == []
        if disk.calls < n:
            break
    with capsys.disabled():
        name = errno.errorcode[code]
        print(f"\nrestore {act.__name__}, {name}: {n - 1} points, {refused} refused, 0 lost")
    assert refused >= 20
