import json
from pathlib import Path
from typing import Any, NoReturn

import pytest
from msgspec.structs import replace

from showvault.files.disk import DiskError
from showvault.files.reading import read_settled
from showvault.flows.cautions import cautions_on_restoring
from showvault.flows.keep import Keeper
from showvault.flows.restore import (
    FolderGoneError,
    NoSuchFileError,
    SeveralFilesError,
    choose_file,
    restore_in_place,
    restore_to,
)
from showvault.flows.stored import show_of_version
from showvault.vault.asking import resolve
from showvault.vault.versions import DamagedVersionError, Version, list_versions
from tests.flows.rooms import Room, a_save
from tests.watch.keepers import full_disk


def version(room: Room, text: str) -> Version:
    return resolve(room.vault.store, text, now=room.clock())


def test_a_restore_gives_the_very_bytes_under_the_files_own_name(room: Room):
    show = room.save(a_save(50))
    room.keep(show)
    room.keep(room.save(a_save(65)))
    one = version(room, "1")
    restore_in_place(room.keeper, one, one.files, when=room.clock())
    assert show.read_bytes() == a_save(50)


def test_a_restore_is_a_version_and_previous_undoes_it(room: Room):
    show = room.save(a_save(50))
    room.keep(show)
    room.keep(room.save(a_save(65)))
    one = version(room, "1")
    restored = restore_in_place(room.keeper, one, one.files, when=room.clock())
    assert restored.version is not None
    assert restored.version.summary == "version 1 restored"
    before = version(room, "previous")
    restore_in_place(room.keeper, before, before.files, when=room.clock())
    assert show.read_bytes() == a_save(65)


def test_what_stands_there_unkept_is_kept_first(room: Room):
    show = room.save(a_save(50))
    room.keep(show)
    room.save(a_save(99))
    one = version(room, "1")
    restored = restore_in_place(room.keeper, one, one.files, when=room.clock())
    assert len(restored.replaced) == 1
    assert show_of_version(room.vault.store, restored.replaced[0]) == a_save(99)


def test_a_half_written_file_that_stands_there_is_set_aside_first(room: Room):
    room.keep(room.save(a_save(50)))
    half = a_save(65)[:200]
    room.save(half)
    one = version(room, "1")
    restored = restore_in_place(room.keeper, one, one.files, when=room.clock())
    assert not restored.replaced[0].good
    assert version(room, "latest").files[0].sha256 == one.files[0].sha256


def test_a_restore_elsewhere_leaves_the_history_alone(room: Room, tmp_path: Path):
    room.keep(room.save(a_save(50)))
    room.keep(room.save(a_save(65)))
    one = version(room, "1")
    target = tmp_path / "elsewhere.json"
    restored = restore_to(room.keeper, one, one.files[0], target, when=room.clock())
    assert target.read_bytes() == a_save(50)
    assert restored.version is None
    assert len(list_versions(room.vault.store)) == 2


@pytest.mark.parametrize("there", [None, b"notes of the night"])
def test_bytes_that_are_not_those_of_the_version_come_back_nowhere(
    room: Room, tmp_path: Path, there: bytes | None
):
    one = room.keep(room.save(a_save(50))).version
    damaged = replace(one, files=(replace(one.files[0], sha256="0" * 64),))
    folder = tmp_path / "elsewhere"
    folder.mkdir()
    target = folder / "mine.json"
    if there is not None:
        target.write_bytes(there)
    with pytest.raises(DamagedVersionError):
        restore_to(room.keeper, damaged, damaged.files[0], target, when=room.clock())
    assert [path.read_bytes() for path in folder.iterdir()] == [there] * (there is not None)
    show = room.save(a_save(65))
    with pytest.raises(DamagedVersionError):
        restore_in_place(room.keeper, damaged, damaged.files, when=room.clock())
    assert show.read_bytes() == a_save(65)
    assert len(list_versions(room.vault.store)) == 1


def test_a_foreign_file_in_the_way_is_kept_and_does_not_become_the_show(room: Room, tmp_path: Path):
    room.keep(room.save(a_save(50)))
    room.keep(room.save(a_save(65)))
    target = tmp_path / "mine.json"
    target.write_bytes(a_save(1, title="Evening"))
    one = version(room, "1")
    restored = restore_to(room.keeper, one, one.files[0], target, when=room.clock())
    assert target.read_bytes() == a_save(50)
    assert any(file.path == str(target) for file in restored.replaced[0].files)
    assert show_of_version(room.vault.store, version(room, "latest")) == a_save(65)
    before = version(room, "previous")
    restore_in_place(room.keeper, before, before.files, when=room.clock())
    assert target.read_bytes() == a_save(1, title="Evening")


def test_a_restore_of_what_stands_there_writes_nothing(room: Room):
    show = room.save(a_save(50))
    room.keep(show)
    before = show.stat().st_mtime_ns
    one = version(room, "1")
    restored = restore_in_place(room.keeper, one, one.files, when=room.clock())
    assert not restored.files[0].written
    assert show.stat().st_mtime_ns == before
    assert restored.version is None


def test_a_set_aside_file_can_be_had_back(room: Room, tmp_path: Path):
    from showvault.files.reading import read_settled

    half = a_save(65)[:200]
    room.keeper.set_aside(read_settled(room.save(half)), "cut", when=room.clock())
    one = version(room, "1")
    restore_to(room.keeper, one, one.files[0], tmp_path / "half", when=room.clock())
    assert (tmp_path / "half").read_bytes() == half


def test_a_file_that_the_version_does_not_hold_is_named_with_those_it_holds(room: Room):
    room.keep(room.save(a_save(50)))
    with pytest.raises(NoSuchFileError, match="no file named 'other'") as caught:
        choose_file(version(room, "1"), "other")
    assert caught.value.hint == "it holds: evening.json"


def test_what_to_mind_before_loading_is_said_once_naming_the_fixtures(room: Room):
    show = json.loads(a_save(50))
    show["cue_lists"]["1"]["cues"]["1"]["levels"]["101"] = {"Pan": 50}
    room.keep(room.save(json.dumps(show).encode()))
    show["cue_lists"]["1"]["cues"]["1"]["levels"]["101"] = {"Pan": 90}
    room.keep(room.save(json.dumps(show).encode()))
    one = version(room, "1")
    restored = restore_in_place(room.keeper, one, one.files, when=room.clock())
    cautions = cautions_on_restoring(room.vault.store, restored)
    said = {caution.hazard: caution.fixtures for caution in cautions}
    assert said[None] == ()
    assert said["moving"] == ("101",)


def test_a_folder_that_is_gone_is_said_so(room: Room):
    room.keep(room.save(a_save(50)))
    room.shows.rename(room.shows.with_name("away"))
    one = version(room, "1")
    with pytest.raises(FolderGoneError, match="is not there"):
        restore_in_place(room.keeper, one, one.files, when=room.clock())


class RefusesToRecord(Keeper):
    """A vault that can be read and not be written."""

    def keep(self, *_: Any, **__: Any) -> NoReturn:
        raise full_disk(Path("/vault"))

    set_aside = keep_beside = keep


def test_a_file_that_came_back_is_told_so_though_nothing_can_be_recorded(room: Room):
    show = room.save(a_save(50))
    room.keep(show)
    show.unlink()
    one, old = version(room, "1"), room.keeper
    keeper = RefusesToRecord(old.vault, old.who, old.choose_reader, old.describer)
    restored = restore_in_place(keeper, one, one.files, when=room.clock())
    assert show.read_bytes() == a_save(50)
    assert restored.version is None
    assert "no space left" in str(restored.not_recorded)


def test_nothing_is_written_over_what_cannot_be_kept_first(room: Room):
    show = room.save(a_save(50))
    room.keep(show)
    room.save(a_save(99))
    one, old = version(room, "1"), room.keeper
    keeper = RefusesToRecord(old.vault, old.who, old.choose_reader, old.describer)
    with pytest.raises(DiskError):
        restore_in_place(keeper, one, one.files, when=room.clock())
    assert show.read_bytes() == a_save(99)


def test_what_stood_there_is_named_though_it_was_set_aside_before(room: Room):
    show = room.save(a_save(50))
    room.keep(show)
    room.save(a_save(65)[:200])
    aside = room.keeper.set_aside(read_settled(show), "it ends early", when=room.clock())
    one = version(room, "1")
    restored = restore_in_place(room.keeper, one, one.files, when=room.clock())
    assert [kept.number for kept in restored.replaced] == [aside.version.number]


def test_of_several_files_without_a_show_one_must_be_named(room: Room):
    kept = room.keep(room.save(b"a", "a.desk"), room.save(b"b", "b.desk"))
    with pytest.raises(SeveralFilesError) as caught:
        choose_file(kept.version, None)
    assert "--file" in caught.value.hint
    assert choose_file(kept.version, "b.desk").name == "b.desk"
