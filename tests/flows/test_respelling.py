"""An export that is the show, changed and written in its own format again."""

import pytest

from showvault.files.reading import read_settled
from showvault.flows.respelling import CannotRespellError, read_to_respell
from showvault.flows.rewriting import read_current, replace_current
from showvault.interchange.as_set import ReaderAsSet, choose_as_set
from showvault.interchange.ascii_cues import AsciiReader
from showvault.interchange.reader import ReadResult, WriteResult
from showvault.interchange.registry import choose_reader
from showvault.show.reading import NotWholeError
from tests.flows.rooms import Room

PLOT = b"! made by hand\r\nIDENT 3:0\r\nCUE 1\r\nTEXT Storm\r\nCHAN 1@50\r\nENDDATA\r\n"


def test_a_change_is_written_in_the_format_of_the_file_and_both_sides_are_versions(room: Room):
    path = room.save(PLOT, "night.asc")
    room.keep(path)
    current = read_current(room.keeper)
    changed = current.file.data.replace(b"50", b"65")
    written = replace_current(room.keeper, current, changed, "edited", when=room.clock())
    assert b"CHAN 1@65" in path.read_bytes() and path.read_bytes().startswith(b"IDENT 3:0")
    assert written.version is not None and written.version.summary == "edited"
    assert "its comments and layout are not kept" in written.version.note
    assert written.version.reader == "ascii/1"


def test_what_stood_there_unkept_is_a_version_with_its_very_bytes(room: Room):
    path = room.save(PLOT, "night.asc")
    room.keep(path)
    unkept = PLOT.replace(b"50", b"51")
    room.save(unkept, "night.asc")
    current = read_current(room.keeper)
    changed = current.file.data.replace(b"51", b"65")
    written = replace_current(room.keeper, current, changed, "edited", when=room.clock())
    assert written.replaced is not None and written.replaced.show_file is not None
    assert written.replaced.show_file.size == len(unkept)


def test_an_export_that_is_read_as_moves_is_written_as_moves(room: Room):
    room.keeper.choose_reader = choose_as_set(choose_reader, lambda: {"ascii": {"cues": "moves"}})
    path = room.save(PLOT.replace(b"ENDDATA", b"CUE 2\r\nCHAN 2@30\r\nENDDATA"), "night.asc")
    room.keep(path)
    current = read_current(room.keeper)
    changed = current.file.data.replace(b"30", b"35")
    replace_current(room.keeper, current, changed, "edited", when=room.clock())
    assert path.read_bytes().count(b"CHAN 1@50") == 1 and b"CHAN 2@35" in path.read_bytes()


@pytest.mark.parametrize(
    "change, why",
    [
        ((b'"Dimmer"', b'"Pan"'), "its format cannot hold the change"),
        ((b'"Storm"', b'"Sto!rm"'), "its format cannot hold the change"),
    ],
)
def test_a_change_that_the_format_cannot_hold_is_refused_and_nothing_is_written(
    room: Room, change, why
):
    path = room.save(PLOT, "night.asc")
    room.keep(path)
    current = read_current(room.keeper)
    with pytest.raises(CannotRespellError, match=why) as refused:
        changed = current.file.data.replace(*change)
        replace_current(room.keeper, current, changed, "edited", when=room.clock())
    assert path.read_bytes() == PLOT
    assert "restore the whole version" in refused.value.hint


def test_a_file_with_something_that_its_reader_did_not_carry_is_left_alone(room: Room):
    path = room.save(PLOT.replace(b"ENDDATA", b"DANCE 1\r\nENDDATA"), "night.asc")
    room.keep(path)
    with pytest.raises(CannotRespellError, match="unknown keyword"):
        read_current(room.keeper)


def test_half_a_file_is_left_alone(room: Room):
    file = read_settled(room.save(PLOT[:-9], "night.asc"))
    with pytest.raises(NotWholeError):
        read_to_respell(file, AsciiReader())


class ReadsOnly:
    """A reader that writes nothing, of files that hold no show."""

    name, version, role = "lines", "1", "source"
    extensions, options = (".asc",), {}

    def sniff(self, name, head):
        return True

    def judge(self, data):
        return AsciiReader().judge(data)

    def read(self, data, options):
        return ReadResult(None)


class WritesSomethingElse(ReadsOnly):
    def read(self, data, options):
        return AsciiReader().read(data, options)

    def write(self, show, options):
        written = AsciiReader().write(show, options)
        return WriteResult(written.data.replace(b"@50", b"@51"))


class HoldsNoShow(ReadsOnly):
    write = WritesSomethingElse.write


@pytest.mark.parametrize(
    "reader, why",
    [
        (ReadsOnly(), "nothing here writes lines files"),
        (ReaderAsSet(ReadsOnly(), {"a": "b"}), "nothing here writes lines files"),
        (HoldsNoShow(), "it holds no show"),
    ],
)
def test_a_format_that_is_not_written_is_left_alone(room: Room, reader, why):
    file = read_settled(room.save(PLOT, "night.asc"))
    with pytest.raises(CannotRespellError, match=why):
        read_to_respell(file, reader)


def test_a_writer_that_writes_something_else_is_found_out(room: Room):
    respelling = read_to_respell(read_settled(room.save(PLOT, "a.asc")), WritesSomethingElse())
    with pytest.raises(CannotRespellError, match="come back as something else"):
        respelling.spell(respelling.show)
