import contextlib
import os
import shutil
import subprocess
import sys
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest

from showvault.files.lock import FileLock
from showvault.files.reading import read_settled
from showvault.flows import keep
from showvault.flows.describing import Describer
from showvault.flows.keep import TRIES, Keeper
from showvault.flows.outcomes import Kept, SetAside, Unchanged
from showvault.flows.stored import (
    NoShowError,
    bytes_of_file,
    parts_of_version,
    show_of_version,
)
from showvault.flows.summaries import describe_sides
from showvault.interchange.registry import choose_reader
from showvault.show.parts import ShowParts
from showvault.show.writing import write_show
from showvault.vault.opening import Vault, open_vault
from showvault.vault.publishing import StaleHeadError
from showvault.vault.reader import MissingObjectError
from showvault.vault.versions import list_versions
from tests.builders import a_cue, a_show_of_cues
from tests.flows.rooms import Room, a_save
from tests.vault.builders import git
from tests.vault.builders import keep as keep_version


def test_a_save_becomes_a_version_with_its_very_bytes(room: Room):
    data = a_save(50).replace(b'"fade_in": 3', b'"fade_in"  :3.0')
    kept = room.keep(room.save(data))
    assert isinstance(kept, Kept)
    assert kept.version.number == 1
    assert show_of_version(room.vault.store, kept.version) == data


def test_only_what_changed_is_written(room: Room):
    room.keep(room.save(a_save(50)))
    before = dict(room.vault.store.tree(room.vault.store.head()))
    room.keep(room.save(a_save(65)))
    after = room.vault.store.tree(room.vault.store.head())
    changed = {path for path in after if after[path] != before.get(path)}
    assert changed == {"version.json", "show/cue_lists/1/0/cue-1"}


def test_a_later_process_writes_only_what_changed_too(room: Room):
    room.keep(room.save(a_save(50)))
    before = dict(room.vault.store.tree(room.vault.store.head()))
    later = room.another_keeper()
    later.keep([read_settled(room.save(a_save(65)))], when=room.clock())
    after = room.vault.store.tree(room.vault.store.head())
    assert {path for path in after if after[path] != before.get(path)} == {
        "version.json",
        "show/cue_lists/1/0/cue-1",
    }


def test_the_summary_says_in_trade_words_what_changed(room: Room):
    room.keep(room.save(a_save(50)))
    kept = room.keep(room.save(a_save(65)))
    assert "cue 1" in kept.version.summary


def test_git_itself_understands_the_history(room: Room):
    room.keep(room.save(a_save(50)))
    room.keep(room.save(a_save(65)))
    history = room.vault.paths.history
    run = ["git", "-C", str(history), "-c", "safe.directory=*"]
    fsck = subprocess.run([*run, "fsck", "--strict"], capture_output=True, check=True)
    assert b"error" not in fsck.stderr
    log = subprocess.run([*run, "log", "--format=%an %s"], capture_output=True, check=True)
    assert log.stdout.decode().startswith("Ada ")
    assert len(log.stdout.splitlines()) == 2


def test_the_same_bytes_make_no_second_version(room: Room):
    room.keep(room.save(a_save(50)))
    assert isinstance(room.keep(room.save(a_save(50))), Unchanged)
    assert len(list_versions(room.vault.store)) == 1


def test_a_show_that_goes_back_to_earlier_bytes_is_a_new_version(room: Room):
    room.keep(room.save(a_save(50)))
    room.keep(room.save(a_save(65)))
    kept = room.keep(room.save(a_save(50)))
    assert isinstance(kept, Kept)
    assert show_of_version(room.vault.store, kept.version) == a_save(50)


def test_saves_under_new_names_are_one_history(room: Room):
    room.keep(room.save(a_save(50), "v12.json"))
    kept = room.keep(room.save(a_save(65), "v13.json"))
    assert kept.version.number == 2
    assert [file.name for file in kept.version.files] == ["v13.json"]
    assert "1 cue" in kept.version.summary or "cue 1" in kept.version.summary


def test_a_copy_under_another_name_is_no_new_version(room: Room):
    room.keep(room.save(a_save(50), "v12.json"))
    assert isinstance(room.keep(room.save(a_save(50), "v12 copy.json")), Unchanged)


def test_an_old_copy_lying_about_does_not_become_the_show_again(room: Room):
    old = room.save(a_save(50), "v1.json")
    room.keep(old)
    room.keep(room.save(a_save(65), "v2.json"))
    stale = room.save(a_save(50), "copy of v1.json")
    os.utime(stale, (1, 1))
    later = room.another_keeper()
    assert isinstance(later.keep([read_settled(stale)], when=room.clock())[0], Unchanged)


def test_a_first_look_keeps_each_show_as_a_version_oldest_first(room: Room):
    newer = room.save(a_save(65), "a.json")
    older = room.save(a_save(50), "b.json")
    os.utime(older, (1, 1))
    files = [read_settled(newer), read_settled(older)]
    room.keeper.keep(files, when=room.clock())
    versions = list_versions(room.vault.store)
    assert [version.files[0].name for version in versions] == ["a.json", "b.json"]


def test_a_desks_own_file_is_kept_byte_for_byte_in_the_same_version(room: Room):
    show, closed = room.save(a_save(50)), room.save(b"\x00\x01closed", "evening.desk")
    kept = room.keep(show, closed)
    files = {file.name: file for file in kept.version.files}
    assert bytes_of_file(room.vault.store, kept.version, files["evening.desk"]) == b"\x00\x01closed"
    assert bytes_of_file(room.vault.store, kept.version, files["evening.json"]) == a_save(50)


def test_a_desk_file_alone_carries_the_show_along(room: Room):
    room.keep(room.save(a_save(50)))
    kept = room.keep(room.save(b"closed", "evening.desk"))
    assert kept.version.summary == "evening.desk saved"
    assert {file.name for file in kept.version.files} == {"evening.json", "evening.desk"}
    assert show_of_version(room.vault.store, kept.version) == a_save(50)


def test_a_file_that_left_the_folder_is_not_part_of_the_next_version(room: Room):
    closed = room.save(b"closed", "evening.desk")
    room.keep(room.save(a_save(50)), closed)
    closed.unlink()
    kept = room.keep(room.save(a_save(65)))
    assert [file.name for file in kept.version.files] == ["evening.json"]


def test_a_file_that_nobody_may_look_at_any_more_is_carried_along_and_stops_no_save(room: Room):
    (room.shows / "sub").mkdir()
    closed = room.save(b"closed", "sub/evening.desk")
    room.keep(room.save(a_save(50)), closed)
    closed.unlink()
    closed.parent.rmdir()
    closed.parent.symlink_to("sub")  # a link that leads to itself: nobody can look behind it
    kept = room.keep(room.save(a_save(65)))
    assert {file.name for file in kept.version.files} == {"evening.json", "evening.desk"}


def test_a_second_production_is_pointed_out_and_does_not_become_the_show(room: Room):
    room.keep(room.save(a_save(50, title="Evening")))
    other = (
        b'{"format": "neutral-show", "format_version": 1, "title": "Other", "macros": {"1": {}}}'
    )
    kept = room.keep(room.save(other, "other.json"))
    assert "another production" in kept.version.note
    assert show_of_version(room.vault.store, kept.version) == a_save(50)
    files = {file.name: file for file in kept.version.files}
    assert bytes_of_file(room.vault.store, kept.version, files["other.json"]) == other
    kept = room.keep(room.save(other.replace(b'"1"', b'"2"'), "other.json"))
    assert "another production" in kept.version.note
    assert show_of_version(room.vault.store, kept.version) == a_save(50)


PLOT = b"IDENT 3:0\r\nCUE 1\r\nCHAN 1@50\r\nENDDATA\r\n"


def test_an_export_in_another_format_does_not_take_the_place_of_the_show_beside_it(room: Room):
    show = room.save(a_save(50))
    room.keep(show)
    for level in (b"@50", b"@60"):
        plot = PLOT.replace(b"@50", level)
        kept = room.keep(room.save(plot, "export.asc"))
        assert kept.version.show_file is not None and kept.version.show_file.name == show.name
        assert "the show here is evening.json, in another format" in kept.version.note
        files = {file.name: file for file in kept.version.files}
        assert bytes_of_file(room.vault.store, kept.version, files["export.asc"]) == plot
    show.unlink()
    kept = room.keep(room.save(PLOT.replace(b"@50", b"@70"), "export.asc"))
    assert kept.version.show_file is not None and kept.version.show_file.name == "export.asc"


def test_a_show_converted_from_an_export_does_not_take_the_place_of_the_export(room: Room):
    room.keep(room.save(PLOT, "export.asc"))
    room.keep(room.save(a_save(50), "converted.json"))
    kept = room.keep(room.save(PLOT.replace(b"@50", b"@60"), "export.asc"))
    assert kept.version.show_file is not None and kept.version.show_file.name == "export.asc"
    assert "intensity 50 → 60 %" in kept.version.summary


def test_of_several_formats_there_at_the_beginning_the_one_that_holds_most_is_the_show(room: Room):
    kept = room.keep(room.save(PLOT, "export.asc"), room.save(a_save(50)))
    assert kept.version.show_file is not None and kept.version.show_file.name == "evening.json"


def test_a_whole_file_that_is_not_understood_is_a_good_version_with_a_note(room: Room):
    strange = a_save(50).replace(b'"fade_in": 3', b'"fade_inn": 3', 1)
    kept = room.keep(room.save(strange))
    assert kept.version.good
    assert not kept.version.understood
    assert "fade_inn" in kept.version.note
    assert show_of_version(room.vault.store, kept.version) == strange


def test_a_save_whose_parts_cannot_be_told_apart_is_not_understood_whatever_came_before(room: Room):
    room.keep(room.save(a_save(50)))
    kept = room.keep(room.save(a_save(50).decode().encode("utf-16")))
    assert kept.version.good
    assert not kept.version.understood
    assert "UTF-16" in kept.version.note


def test_a_save_whose_parts_cannot_be_told_apart_is_not_described_as_the_show_before(room: Room):
    room.keep(room.save(a_save(50)))
    kept = room.keep(room.save(a_save(60).decode().encode("utf-16")))
    with pytest.raises(NoShowError, match="holds no show to describe"):
        show_of_version(room.vault.store, kept.version)
    with pytest.raises(NoShowError):
        parts_of_version(room.vault.store, kept.version)
    after = room.keep(room.save(a_save(65)))
    assert show_of_version(room.vault.store, after.version) == a_save(65)
    assert "50 → 65 %" in after.version.summary


def test_a_mended_show_is_understood_again(room: Room):
    room.keep(room.save(a_save(50).replace(b'"fade_in": 3', b'"fade_inn": 3', 1)))
    assert room.keep(room.save(a_save(50))).version.understood


@pytest.mark.parametrize(
    "change",
    [
        (b'"fade_in": 3', b'"fade_in": 3, "fade_in": 4'),
        (b'"Dimmer": 50', b'"Dimmer": 50.1234567'),
        (b'"fade_in": 3', b'"fade_in": 3.1234'),
        (b'"Dimmer": 50', b'"Dimmer": {"level": 1, "release": true}'),
        (b'"Dimmer": 50', b'"Dimmer": {"fade": 1}'),
        (b'"Dimmer": 50', b'"Dimmer": 1e-9'),
        (b'"Dimmer": 50', b'"Dimmer": 101'),
    ],
)
def test_what_types_cannot_tell_is_found_in_the_changed_parts(
    room: Room, change: tuple[bytes, bytes]
):
    room.keep(room.save(a_save(50)))
    kept = room.keep(room.save(a_save(50).replace(*change, 1)))
    assert kept.version.good
    assert not kept.version.understood


def test_a_file_that_is_not_whole_is_set_aside_and_the_last_good_one_stays(room: Room):
    room.keep(room.save(a_save(50)))
    half = a_save(65)[:300]
    file = read_settled(room.save(half))
    assert room.keeper.judge(file.path, file.data).state == "broken"
    aside = room.keeper.set_aside(file, "it ends in the middle", when=room.clock())
    assert isinstance(aside, SetAside)
    assert not aside.version.good
    assert bytes_of_file(room.vault.store, aside.version, aside.version.files[0]) == half
    assert isinstance(room.keep(room.save(a_save(50))), Unchanged)


def test_the_same_broken_bytes_are_set_aside_once(room: Room):
    file = read_settled(room.save(b'{"format": "neutral-show"'))
    room.keeper.set_aside(file, "cut", when=room.clock())
    assert isinstance(room.keeper.set_aside(file, "cut", when=room.clock()), Unchanged)


def test_broken_bytes_that_come_back_are_found_in_the_version_that_holds_them(room: Room):
    half = b'{"format": "neutral-show"'
    first = room.keeper.set_aside(read_settled(room.save(half)), "cut", when=room.clock())
    room.keep(room.save(a_save(50)))
    again = room.keeper.set_aside(read_settled(room.save(half)), "cut", when=room.clock())
    assert isinstance(again, Unchanged)
    assert again.version.number == first.version.number


def test_a_description_that_fails_does_not_stop_the_version(room: Room):
    def fail(before: ShowParts | None, after: ShowParts) -> str:
        raise RuntimeError("no words")

    keeper = room.another_keeper(fail)
    kept = keeper.keep([read_settled(room.save(a_save(50)))], when=room.clock())[0]
    assert "could not be described (RuntimeError)" in kept.version.summary
    assert show_of_version(room.vault.store, kept.version) == a_save(50)


def test_a_description_that_never_ends_does_not_stop_the_version(room: Room):
    never = threading.Event()

    def hang(before: ShowParts | None, after: ShowParts) -> str:
        never.wait()
        return "too late"

    keeper = room.another_keeper(hang, seconds=0.05)
    kept = keeper.keep([read_settled(room.save(a_save(50)))], when=room.clock())[0]
    never.set()
    assert "could not be described within 0.05 s" in kept.version.summary


def test_two_keepers_of_one_vault_keep_both_saves(room: Room):
    other = room.another_keeper()
    room.keep(room.save(a_save(50)))
    other.keep([read_settled(room.save(a_save(65)))], when=room.clock())
    kept = room.keep(room.save(a_save(70)))
    assert kept.version.number == 3
    assert [version.number for version in list_versions(room.vault.store)] == [3, 2, 1]


class OvertakenVault(Vault):
    """A vault in which somebody else keeps a version each time before we may write."""

    overtakes = 0

    @contextlib.contextmanager
    def writing(self, what: str) -> Iterator[FileLock]:
        if self.overtakes:
            self.overtakes -= 1
            with open_vault(self.folder, clock=self.clock) as theirs:
                keep_version(theirs, {}, data=b"%d" % self.overtakes, path="/b/desk", role="opaque")
        with super().writing(what) as lock:
            yield lock


def overtaken(room: Room, times: int) -> Keeper:
    mine = room.vault
    vault = OvertakenVault(mine.folder, mine.description, mine.store, mine.clock, mine.disk)
    vault.overtakes = times
    return Keeper(vault, "Ada", choose_reader, Describer(describe_sides))


def test_a_save_that_others_overtake_is_worked_out_anew_until_it_is_kept(room: Room):
    file = read_settled(room.save(a_save(50)))
    (kept,) = overtaken(room, TRIES - 1).keep([file], when=room.clock())
    assert isinstance(kept, Kept)
    assert kept.version.number == TRIES
    assert show_of_version(room.vault.store, kept.version) == a_save(50)


def test_a_save_that_others_overtake_for_ever_is_told_and_can_be_kept_later(room: Room):
    file = read_settled(room.save(a_save(50)))
    with pytest.raises(StaleHeadError) as caught:
        overtaken(room, TRIES).keep([file], when=room.clock())
    assert caught.value.exit_code == 5
    assert len(list_versions(room.vault.store)) == TRIES
    assert isinstance(room.keep(file.path), Kept)


@pytest.mark.skipif(sys.platform == "win32", reason="the stand-in is a shell script")
def test_damage_that_mending_does_not_reach_is_told_and_costs_nothing(room: Room, tmp_path: Path):
    """A git that finds everything whole and still gives no folder of a version back."""
    first = room.keep(room.save(a_save(50)))
    stand_in = tmp_path / "bin" / "git"
    stand_in.parent.mkdir()
    stand_in.write_text(
        f'#!/bin/sh\ncase "$*" in *"--batch") {shutil.which("git")} "$@" '
        '| LC_ALL=C sed -u "s/ tree / tray /";;\n'
        f'*) exec {shutil.which("git")} "$@";; esac\n'
    )
    stand_in.chmod(0o700)
    environ = {**os.environ, "PATH": f"{stand_in.parent}{os.pathsep}{os.environ['PATH']}"}
    file = read_settled(room.save(a_save(65)))
    with open_vault(room.vault.folder, clock=room.clock, environ=environ) as vault:
        keeper = Keeper(vault, "Ada", choose_reader, Describer(describe_sides))
        with pytest.raises(MissingObjectError) as caught:
            keeper.keep([file], when=room.clock())
        assert caught.value.exit_code == 7
    assert [version.number for version in list_versions(room.vault.store)] == [1]
    assert show_of_version(room.vault.store, first.version) == a_save(50)
    assert isinstance(room.keep(file.path), Kept)


def a_save_with_a_preset_at(place: str) -> bytes:
    """A show in which many cues use one preset."""
    cues = {
        str(number): a_cue({"1": {"Dimmer": number, "Pan": {"preset": f"Position {place}"}}})
        for number in range(1, 120)
    }
    preset = {"name": "Dusk", "levels": {"1": {"Pan": 40}}}
    return write_show(a_show_of_cues(cues, presets={"Position": {place: preset}}))


@pytest.mark.parametrize("ready", [False, True])
def test_a_preset_that_moves_and_moves_on_is_kept_as_what_differs_and_comes_back(
    room: Room, ready: bool
):
    """So many cues use it that the vault reads them itself; git reads the very same."""
    places = ["1.1", "9.1", "9.2", "1.1", "9.1", "12.30", "1.1", "9.2"]
    saved = [a_save_with_a_preset_at(place) for place in places]
    kept = []
    for data in saved:
        if ready:
            room.keeper.get_ready()
        kept.append(room.keep(room.save(data)))
    store = room.vault.store
    for data, one in zip(saved, kept, strict=True):
        assert show_of_version(store, one.version) == data
        tree = store.tree(one.version.commit)
        for oid in [oid for path, oid in tree.items() if "/cue-" in path][::50]:
            assert git(store.history, "cat-file", "blob", oid) == store.read_blob(oid)
    assert git(store.history, "fsck", "--strict", "--no-dangling") == b""
    chains = [
        git(store.history, "verify-pack", "-v", str(pack)).count(b"\n") > 2 * 119
        for pack in sorted(store.packs.glob("*.idx"))
    ]
    assert sum(chains) >= 4


def test_a_keeper_that_got_ready_keeps_the_first_save_as_any_other(room: Room):
    """The last show is read when nobody waits: only what changed is looked at then."""
    places = ["1.1", "9.1", "9.2"]
    room.keep(room.save(a_save_with_a_preset_at(places[0])))
    room.keeper = room.another_keeper()
    room.keeper.get_ready()
    for number, place in enumerate(places[1:], 2):
        kept = room.keep(room.save(a_save_with_a_preset_at(place)))
        assert kept.version.summary == (
            f"Position preset page {places[number - 2].replace('.', ' slot ')} became "
            f"page {place.replace('.', ' slot ')}; followed in list 1 cues 1–119"
        )
        assert show_of_version(room.vault.store, kept.version) == a_save_with_a_preset_at(place)
    assert git(room.vault.store.history, "fsck", "--strict", "--no-dangling") == b""


def test_getting_ready_of_an_empty_vault_or_one_without_a_show_is_nothing(room: Room):
    room.keeper.get_ready()
    room.keep(room.save(b"desk", "evening.desk"))
    room.keeper = room.another_keeper()
    room.keeper.get_ready()
    kept = room.keep(room.save(a_save(50)))
    assert show_of_version(room.vault.store, kept.version) == a_save(50)


def test_a_newest_show_that_is_not_what_its_tree_says_is_not_gone_by(
    room: Room, monkeypatch: pytest.MonkeyPatch
):
    room.keep(room.save(a_save(50)))
    room.keeper = room.another_keeper()
    with monkeypatch.context() as damaged:
        damaged.setattr(keep, "show_of_version", lambda *of: a_save(99))
        room.keeper.get_ready()
    kept = room.keep(room.save(a_save(99)))
    assert "50 → 99" in kept.version.summary
    assert show_of_version(room.vault.store, kept.version) == a_save(99)
