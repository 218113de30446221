"""Versions whose show another reader would make otherwise today."""

from dataclasses import dataclass, field

import pytest

from showvault.errors import ShowvaultError
from showvault.files.reading import read_settled
from showvault.flows.rereading import ReadingAgain
from showvault.flows.stored import NoShowError
from showvault.interchange.as_set import choose_as_set
from showvault.interchange.reader import ReadResult
from showvault.interchange.registry import choose_reader
from showvault.show.trees import parse_part
from tests.flows.rooms import ReaderOfExports, Room, a_save

PLOT = b"IDENT 3:0\r\nCUE 1\r\nCHAN 1@50\r\nENDDATA\r\n"
MOVES = choose_as_set(choose_reader, lambda: {"ascii": {"cues": "moves"}})


@dataclass
class Told:
    sentences: list[str] = field(default_factory=list)

    def __call__(self, sentence):
        self.sentences.append(sentence)


def keep_plot(room):
    return room.keep(room.save(PLOT, "night.asc")).version


def tracking(show):
    return parse_part(show)["cue_lists"]["1"]["tracking"]


def test_a_version_of_todays_reader_is_not_read_again(room: Room):
    told = Told()
    version = keep_plot(room)
    again = ReadingAgain(room.vault.store, choose_reader, told)
    assert tracking(again.show(version)) is False
    assert len(again.parts(version).parts) == 3
    assert told.sentences == []


def test_a_version_of_a_reader_that_is_set_otherwise_is_read_again_and_that_is_told(room: Room):
    told = Told()
    version = keep_plot(room)
    again = ReadingAgain(room.vault.store, MOVES, told)
    assert tracking(again.show(version)) is True
    assert told.sentences == ["version 1 was read by ascii/1; read again by ascii/1 cues=moves"]
    assert version.reader == "ascii/1"


def test_the_parts_of_what_is_read_again_compare_with_stored_ones(room: Room):
    """Equal parts have equal keys: a comparison looks only at what the reader makes otherwise."""
    version = keep_plot(room)
    stored = ReadingAgain(room.vault.store, choose_reader, Told()).parts(version)
    again = ReadingAgain(room.vault.store, MOVES, Told()).parts(version)
    same = {thing for thing, part in again.parts.items() if part.key == stored.parts[thing].key}
    assert {thing.kind for thing in again.parts} - {thing.kind for thing in same} <= {"cue_list"}
    assert any(thing.kind == "cue" for thing in same)


class NoLonger(ReaderOfExports):
    """A newer reader that no longer takes the file."""

    name, version = "ascii", "9"

    def read(self, data, options):
        raise ShowvaultError("no longer")


class NoShow(NoLonger):
    def read(self, data, options):
        return ReadResult(None)


@pytest.mark.parametrize("reader, reason", [(NoLonger(), "no longer"), (NoShow(), "no show")])
def test_what_cannot_be_read_again_is_told_as_it_was_read_then(room: Room, reader, reason):
    told = Told()
    version = keep_plot(room)
    again = ReadingAgain(room.vault.store, lambda name, head: reader, told)
    assert tracking(again.show(version)) is False
    assert "as ascii/1 read it" in told.sentences[0] and reason in told.sentences[0]


def test_a_neutral_show_is_nobodys_reading(room: Room):
    version = room.keep(room.save(a_save())).version
    again = ReadingAgain(room.vault.store, lambda name, head: NoLonger(), Told())
    assert again.show(version) == a_save()


def test_a_version_without_a_show_still_says_so(room: Room):
    aside = room.keeper.set_aside

    version = aside(
        read_settled(room.save(PLOT[:-9], "night.asc")), "cut", when=room.clock()
    ).version
    with pytest.raises(NoShowError):
        ReadingAgain(room.vault.store, MOVES, Told()).show(version)


def test_the_first_version_of_another_reader_says_that_the_reader_may_be_why(room: Room):
    keep_plot(room)
    room.keeper.choose_reader = MOVES
    kept = room.keep(room.save(PLOT.replace(b"50", b"60"), "night.asc"))
    assert kept.version.reader == "ascii/1 cues=moves"
    assert any("the version before by ascii/1" in note for note in kept.version.note.split("\n"))
    again = room.keep(room.save(PLOT.replace(b"50", b"70"), "night.asc"))
    assert "the version before" not in again.version.note


def test_what_a_source_does_not_carry_is_in_the_note_of_its_version(room: Room):
    data = PLOT.replace(b"CHAN 1@50", b"CHAN 1@50 2@999\r\nDANCE 1")
    version = room.keep(room.save(data, "night.asc")).version
    assert "not carried into the show: 1 × bad level (first: line 3: 2@999)" in version.note
    assert "unknown keyword" in version.note


def test_a_note_names_five_kinds_of_loss_and_counts_the_others(room: Room):
    odd = ["CHAN 2@999", "UP x", "DANCE 1", "TEXT y", "CUE 9 9 9", "PART 0", "LINK", "FOLLOWON z"]
    data = PLOT.replace(b"ENDDATA", "\r\n".join([*odd, "ENDDATA"]).encode())
    note = room.keep(room.save(data, "night.asc")).version.note
    assert note.count("not carried into the show:") == 5
    assert "more kinds: showvault convert tells them all" in note
