"""Of files that were kept in one version, the show alone tells what changed."""

from showvault.files.reading import read_settled
from showvault.flows.outcomes import Kept
from tests.flows.rooms import Room, a_save


def test_a_file_beside_a_new_show_does_not_tell_what_the_show_changed(room: Room):
    room.keep(room.save(a_save(50)))
    files = [room.save(a_save(65)), room.save(b"closed", "evening.desk")]
    outcomes = room.keeper.keep([read_settled(path) for path in files], when=room.clock())
    kept = {one.path.name: one for one in outcomes if isinstance(one, Kept)}
    show, beside = kept["evening.json"], kept["evening.desk"]
    assert show.version == beside.version
    assert (show.is_the_show, beside.is_the_show) == (True, False)
    assert "50 → 65 %" in show.summary
    assert beside.summary == "evening.desk saved"


def test_a_version_of_a_file_beside_the_show_tells_of_that_file(room: Room):
    room.keep(room.save(a_save(50)))
    kept = room.keep(room.save(b"closed", "evening.desk"))
    assert isinstance(kept, Kept)
    assert (kept.is_the_show, kept.summary) == (False, "evening.desk saved")
