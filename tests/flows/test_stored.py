import json

import pytest
from msgspec.structs import replace

from showvault.flows.stored import (
    BUNDLE,
    NoShowError,
    bytes_of_file,
    parts_of_version,
    show_of_version,
    stored_file,
)
from showvault.vault.versions import DamagedVersionError
from tests.flows.rooms import Room, a_save


def test_a_show_is_given_back_byte_for_byte(room: Room):
    kept = room.keep(room.save(a_save(50)))
    assert show_of_version(room.vault.store, kept.version) == a_save(50)
    assert parts_of_version(room.vault.store, kept.version).outline["title"] == "Evening"


def test_a_version_without_a_show_says_so_and_gives_its_file_back(room: Room):
    kept = room.keep(room.save(b"desk", "evening.desk"))
    with pytest.raises(NoShowError, match="no readable show"):
        parts_of_version(room.vault.store, kept.version)
    assert bytes_of_file(room.vault.store, kept.version, kept.version.files[0]) == b"desk"


def test_bytes_that_are_not_what_the_record_says_are_not_given_back(room: Room):
    version = room.keep(room.save(a_save(50))).version
    wrong = replace(version.files[0], sha256="0" * 64)
    with pytest.raises(DamagedVersionError, match="version 1"):
        bytes_of_file(room.vault.store, version, wrong)


def test_a_file_in_pieces_is_told_from_all_others(room: Room):
    version = room.keep(room.save(a_save(50))).version
    data = a_save(50)
    stored = stored_file(room.vault.store, version, version.files[0])
    assert b"".join(stored.bundles()) == data
    assert stored.size == len(data)
    assert stored.equals(data)
    for other in (b"", data[:-1], data + b" ", a_save(51)):
        assert not stored.equals(other)


@pytest.mark.parametrize("count", [0, 1, 5000])
def test_a_file_of_any_size_is_put_together_in_bundles(count: int, room: Room):
    show = json.loads(a_save(50))
    show["macros"] = {str(n): {"name": "x" * 400} for n in range(1, count + 1)}
    data = json.dumps(show).encode()
    version = room.keep(room.save(data)).version
    bundles = list(stored_file(room.vault.store, version, version.files[0]).bundles())
    assert b"".join(bundles) == data
    assert len(bundles) == 1 + len(data) // BUNDLE
