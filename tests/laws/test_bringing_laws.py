"""Laws of bringing back: undone, it gives the first bytes; nothing else changes."""

import os
import random
from pathlib import Path

from hypothesis import HealthCheck, Phase, assume, given, settings
from hypothesis import strategies as st

from showvault.compare.differ import compare_shows
from showvault.errors import ShowvaultError
from showvault.files.reading import FileIdentity, SettledFile
from showvault.flows.bring_back import BroughtBack, bring_back
from showvault.flows.rewriting import CurrentShow
from showvault.flows.undo import NothingToUndoError, choose_changes, undo
from showvault.merge.conflicts import leave_open
from showvault.show.addressing import Thing
from showvault.show.asking import read_asking
from showvault.show.cutting import cut_into_parts
from showvault.show.parts import parts_of_file
from showvault.show.places import path_to
from showvault.show.trees import parse_part
from showvault.show.writing import write_show
from tests.laws.edits import edited
from tests.laws.sessions import Session, a_house, spelled, things_of, value_at

CASES = int(os.environ.get("SHOWVAULT_MERGES", "100"))
by_seed = settings(
    max_examples=max(CASES // 3, 1),
    deadline=None,
    suppress_health_check=list(HealthCheck),
    database=None,
    phases=[Phase.generate],
)
WORDS = {"cue": "list {list} cue {id}", "preset": "preset {id}", "group": "group {id}"}


def current(data: bytes) -> CurrentShow:
    cut = cut_into_parts(data)
    assert cut is not None
    identity = FileIdentity(0, 0, len(data), 0, 0)
    return CurrentShow(SettledFile(Path("now.json"), data, identity), cut)


def bring_one(session: Session) -> tuple[Thing, BroughtBack]:
    """Bring one thing of the show before a session back into the show after it."""
    things = [thing for thing in things_of(session.before) if thing.kind in WORDS]
    thing = session.chance.choice(things)
    words = WORDS[thing.kind].format(list=thing.list, id=thing.id)
    try:
        back = bring_back(
            parts_of_file(write_show(session.before)),
            "version 1",
            current(write_show(session.show)),
            read_asking(words),
            words,
            needs="bring",
            neighbours="as they come",
        )
    except ShowvaultError:
        assume(False)
        raise
    return thing, back


@by_seed
@given(st.integers(0, 2**32 - 1))
def test_bringing_something_back_and_undoing_that_gives_the_first_bytes(seed: int):
    session = edited(Session(a_house(random.Random(seed)), random.Random(seed + 1)))
    now = write_show(session.show)
    _, back = bring_one(session)
    whole = compare_shows(parts_of_file(now), parts_of_file(back.data))
    try:
        chosen = choose_changes(whole, (), 2)
    except NothingToUndoError:
        assert back.data == now
        return
    undone = undo(back.data, chosen, current(back.data), leave_open)
    assert undone.conflicts == ()
    assert undone.data == now


@by_seed
@given(st.integers(0, 2**32 - 1))
def test_bringing_something_back_changes_what_was_asked_for_and_what_it_needs_alone(seed: int):
    session = edited(Session(a_house(random.Random(seed)), random.Random(seed + 1)))
    _, back = bring_one(session)
    before, after = parse_part(write_show(session.show)), parse_part(back.data)
    meant = {*back.brought.asked, *back.brought.along}
    for thing in {*things_of(before), *things_of(after)} - meant:
        if thing.kind != "cue_list":
            one, other = (value_at(show, path_to(thing)) for show in (before, after))
            assert spelled(one) == spelled(other), thing
