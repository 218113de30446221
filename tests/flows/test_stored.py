import pytest
from msgspec.structs import replace

from showvault.flows.stored import (
    NoShowError,
    bytes_of_file,
    parts_of_version,
    show_of_version,
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
