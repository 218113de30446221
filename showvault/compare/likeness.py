"""How much two things resemble each other, and whether a thing can be told from others at all.

- What counts is what somebody put in: not empty texts, "no", default-like times and block flags of
  cues, nor ``extra``, which many things share without being alike.
- Likeness is the share of equal values among those of the bigger thing, each with its path.
- A thing tells itself apart by three values; a name, a label or a note counts twice. A bare
  blackout or an empty cue does not: an equal one elsewhere is equal by chance.

Common practice, no source; the thresholds were chosen on generated sessions.
"""

from collections import Counter
from collections.abc import Hashable
from typing import TypeAlias

from showvault.compare.changes import Path
from showvault.compare.fields import leaves_of
from showvault.compare.renames import Renames
from showvault.show.addressing import Kind
from showvault.show.trees import Tree

Traits: TypeAlias = Counter[tuple[Path, str, Tree]]

NEARLY = 0.75
"""From this likeness on, a removed and an added thing may be one that moved and changed."""

NEARLY_BY_NAME = 0.4
"""The same where both have one name, and nothing else that is gone or new has it."""

UNLIKE = 0.5
"""Below this likeness, what stands at a number is no longer the thing that stood there."""

UNLIKE_UNLESS_NAMED = 0.75
"""The same where another name stands there: groups share members, macros share steps."""

SHARED_AT_LEAST = 3
"""So many equal values at least make two things nearly the same."""

BESIDE_NAME_AT_LEAST = 2
"""The same where both have one name: the name, and something else."""

TELLING = 3

_NO_TRAITS: dict[Kind, frozenset[str]] = {
    "cue": frozenset({"fade_in", "fade_out", "delay_in", "delay_out", "times", "block", "extra"})
}
_LINKS = frozenset({"link", "also_go"})
_NAMES = frozenset({"name", "label", "notes"})


def traits_of(kind: Kind, tree: Tree) -> Traits:
    """Return the values of a thing that it can be told by."""
    if not isinstance(tree, dict):
        return Counter()
    without = _NO_TRAITS.get(kind, frozenset({"extra"}))
    told = {field: value for field, value in tree.items() if field not in without}
    return Counter(
        (path, _type(value), value)
        for path, value in leaves_of(told)
        if value != "" and value is not False
    )


def name_of(tree: Tree) -> str:
    """Return the name or the label that somebody gave a thing; empty without one."""
    return str(tree.get("name") or tree.get("label") or "") if isinstance(tree, dict) else ""


def content_of(kind: Kind, tree: Tree, blurred: Renames) -> Hashable:
    """Return what a thing holds, for telling whether it stands elsewhere under another spelling.

    Moved things that it names count as the same by their old and by their new number; links are
    left out, as the cues they lead to may be moving too.
    """
    if not isinstance(tree, dict):
        return repr(tree)
    without = _LINKS if kind == "cue" else frozenset()
    told = {field: value for field, value in tree.items() if field not in without}
    leaves = Counter((path, _type(value), value) for path, value in leaves_of(told))
    return frozenset(renamed_traits(blurred, leaves).items())


def renamed_traits(renames: Renames, traits: Traits) -> Traits:
    """Return the values of a thing with what they name called by other names."""
    if not renames:
        return traits
    renamed: Traits = Counter()
    for (path, kind, value), count in traits.items():
        renamed[renames.new_path(path), kind, renames.new_value(path, value)] += count
    return renamed


def _type(value: Tree) -> str:
    return type(value).__name__ if isinstance(value, bool) else ""


def likeness(one: Traits, other: Traits) -> float:
    """Return the likeness of two things, 0 to 1; two without any traits are not alike."""
    bigger = max(one.total(), other.total())
    return shared(one, other) / bigger if bigger else 0.0


def shared(one: Traits, other: Traits) -> int:
    """Return how many values two things have in common."""
    if len(one) > len(other):
        one, other = other, one
    return sum(min(count, other[trait]) for trait, count in one.items() if trait in other)


def tells_itself_apart(traits: Traits) -> bool:
    """Tell whether an equal thing elsewhere is the same one rather than equal by chance."""
    names = sum(1 for path, _, _ in traits if len(path) == 1 and path[0] in _NAMES)
    return traits.total() + names >= TELLING
