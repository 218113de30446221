"""Two outside references agree with the comparison on which values differ.

- RFC 6902 (JSON Patch), computed by the library jsonpatch on the same pair of shows.
- deepdiff, on the same pair; it also tells what differs inside ``extra``.
- RFC 6901 (JSON Pointer): what is published suffices for a stranger to get the new show, with the
  library jsonpointer and nothing of this program.
"""

import copy
import json
import random
from decimal import Decimal

import jsonpatch
import msgspec
from deepdiff import DeepDiff
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from jsonpointer import JsonPointer

from showvault.compare.changes import Changed
from showvault.compare.json_form import comparison_as_json
from showvault.review.wording import say_change
from showvault.show.places import path_to
from showvault.show.trees import parse_part
from showvault.show.writing import write_show
from tests.builders import Tree, a_show
from tests.compare.pairs import comparison_of
from tests.laws.edits import SMALL, edited
from tests.laws.sessions import Session, a_house

seeds = st.integers(0, 2**32 - 1)
few = settings(
    max_examples=25, deadline=None, suppress_health_check=list(HealthCheck), database=None
)
fewer = settings(few, max_examples=6)


def fields_edited(seed: int) -> tuple[Tree, Tree]:
    """Return a small show before and after edits of fields, as exact trees."""
    chance = random.Random(seed)
    session = Session(a_house(chance, cues=6, dimmers=12, washes=5), chance)
    for _ in range(chance.randrange(1, 15)):
        chance.choice(SMALL)(session)
    return tuple(parse_part(write_show(show)) for show in (session.before, session.show))


def places_reported(before: Tree, after: Tree) -> set[tuple[str, ...]]:
    changes = comparison_of(before, after).changes
    assert all(isinstance(change, Changed) for change in changes)
    return {
        (*path_to(change.thing), *field.path)
        for change in changes
        for field in (change, *change.along)  # type: ignore[union-attr]
    }


def agree(ours: set[tuple[str, ...]], theirs: set[tuple[str, ...]]) -> bool:
    """Tell whether each place of one side is, holds or lies in a place of the other."""

    def touches(one: tuple[str, ...], other: tuple[str, ...]) -> bool:
        return all(step == there for step, there in zip(one, other, strict=False))

    return all(any(touches(one, other) for other in theirs) for one in ours) and all(
        any(touches(one, other) for one in ours) for other in theirs
    )


@few
@given(seeds)
def test_json_patch_agrees_on_which_values_differ(seed: int):
    before, after = fields_edited(seed)
    theirs: set[tuple[str, ...]] = set()
    for step in jsonpatch.make_patch(*(json.loads(write_show(show)) for show in (before, after))):
        theirs.add(tuple(JsonPointer(step["path"]).parts))
        if step["op"] == "move":  # its optimiser's word for a removal and an addition
            theirs.add(tuple(JsonPointer(step["from"]).parts))
    assert agree(places_reported(before, after), theirs)


@fewer
@given(seeds)
def test_deepdiff_agrees_on_which_values_differ(seed: int):
    before, after = fields_edited(seed)
    found = DeepDiff(before, after, view="tree", ignore_numeric_type_changes=True)
    theirs = {
        tuple(str(step) for step in difference.path(output_format="list"))
        for differences in found.values()
        for difference in differences
    }
    assert agree(places_reported(before, after), theirs)


values = st.recursive(
    # deepdiff takes True and 1 for equal, as Python does; JSON does not, so there are no booleans.
    st.one_of(st.none(), st.integers(-5, 5), st.sampled_from(["", "a", "b"])),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3), st.dictionaries(st.sampled_from("abc"), inner, max_size=3)
    ),
    max_leaves=8,
)


@settings(few, max_examples=150)
@given(values, values)
def test_deepdiff_agrees_on_whether_extra_differs(one: Tree, other: Tree):
    changes = comparison_of(a_show(extra={"x": one}), a_show(extra={"x": other})).changes
    assert bool(changes) == bool(DeepDiff(one, other))


@few
@given(seeds)
def test_a_stranger_gets_the_new_show_from_what_is_published(seed: int):
    chance = random.Random(seed)
    session = edited(Session(a_house(chance, cues=14), chance), most=12)
    form = comparison_as_json(comparison_of(session.before, session.show), say_change)
    text = msgspec.json.Encoder(decimal_format="number").encode(form["changes"])
    changes = json.loads(text, parse_float=Decimal)
    show = follow_the_recipe(parse_part(write_show(session.before)), changes)
    assert write_show(show) == write_show(session.show)


def follow_the_recipe(show: Tree, changes: list[Tree]) -> Tree:
    """Apply published changes as json_form says, knowing nothing but pointers and keys."""
    show = copy.deepcopy(show)
    of = {kind: [change for change in changes if change["change"] == kind] for kind in KINDS}
    leaving = [(change, change["pointer"]) for change in of["removed"]]
    leaving += [(change, old_pointer(change)) for change in of["moved"]]
    taken = {}
    for _, pointer in sorted(leaving, key=lambda each: -each[1].count("/")):
        taken[pointer] = take(show, pointer)
    arriving = [(change["pointer"], change["after"]) for change in of["added"] + of["copied"]]
    arriving += [(change["pointer"], taken[old_pointer(change)]) for change in of["moved"]]
    for pointer, value in sorted(arriving, key=lambda each: each[0].count("/")):
        put(show, pointer, value)
    followers = [follower for change in of["moved"] for follower in change["followed"]]
    renamed: dict[str, dict[str, str]] = {}
    for follower in followers:
        if "key_before" in follower:
            keys = renamed.setdefault(follower["pointer"], {})
            keys[follower["key_before"]] = follower["key_after"]
    for pointer, keys in renamed.items():
        holder = JsonPointer(pointer).resolve(show)
        put(show, pointer, {keys.get(key, key): value for key, value in holder.items()})
    changed = [field for change in of["changed"] for field in (change, *change.get("along", []))]
    for change in [follower for follower in followers if "after" in follower] + changed:
        if change["after"] is None:
            take(show, change["pointer"])
        else:
            put(show, change["pointer"], change["after"])
    return show


KINDS = ("added", "removed", "changed", "moved", "copied")


def old_pointer(change: Tree) -> str:
    """Return where a moved thing stood: its pointer with the old number, class or list."""
    steps = JsonPointer(change["pointer"]).parts
    match change["object"]:
        case "cue":
            steps[1], steps[3] = change["from_list"], change["from"]
        case "preset":
            steps[1:] = change["from"].split(" ")
        case _:
            steps[1] = change["from"]
    return JsonPointer.from_parts(steps).path


def take(show: Tree, pointer: str) -> Tree:
    *above, last = JsonPointer(pointer).parts
    return JsonPointer.from_parts(above).resolve(show).pop(last)


def put(show: Tree, pointer: str, value: Tree) -> None:
    *above, last = JsonPointer(pointer).parts
    for step in above:
        show = show.setdefault(step, {})
    show[last] = value
