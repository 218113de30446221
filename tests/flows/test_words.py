"""What is said of a version; whatever fails in finding it is a note."""

from showvault.flows.describing import Describer
from showvault.flows.outcomes import Saying
from showvault.flows.succession import HeldShow, Succession
from showvault.flows.words import find_words
from showvault.show.cutting import CutShow, cut_into_parts
from showvault.show.parts import parts_of
from showvault.vault.publishing import Words
from tests.flows.rooms import a_save


def words_for(now: CutShow, last: CutShow | None) -> Words:
    changed = {f"show/{name}": data for name, data in now.parts.items()}
    before = None if last is None else HeldShow(last)
    following = Succession(HeldShow(now), changed, (), lambda read: (None, parts_of(now)), before)
    return find_words(
        [],
        following,
        Saying(),
        sound=True,
        describer=Describer(lambda before, after: "cue 1 changed"),
        read_blob=lambda blob: b"",
    )


def cut(data: bytes) -> CutShow:
    found = cut_into_parts(data)
    assert found is not None
    return found


def test_a_sound_show_is_understood_and_needs_no_note():
    words = words_for(cut(a_save(50)), cut(a_save(65)))
    assert (words.summary, words.note, words.understood) == ("cue 1 changed", "", True)


def test_where_judging_the_show_fails_the_version_gets_a_note_and_all_its_words():
    """The show before is not what it says it is: one of its parts is nowhere."""
    before = cut(a_save(65))
    words = words_for(cut(a_save(50)), CutShow(before.skeleton, {}, before.names))
    assert words.summary == "cue 1 changed"
    assert not words.understood
    assert words.note.startswith("not understood: the show could not be judged: ")


def test_many_faults_are_told_in_few_lines():
    data = a_save(50)
    for number in range(2, 12):
        data = data.replace(b'"fade_in": 3', b'"fade_in": -%d' % number, 1)
    words = words_for(cut(data), cut(a_save(50)))
    lines = words.note.splitlines()
    assert len(lines) == 6
    assert lines[0].startswith("not understood: list 1 cue ")
    assert lines[-1] == "… and 5 more"
