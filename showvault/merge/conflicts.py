"""What only a person can decide between two sides: a conflict is a value, in trade words.

Four things are a conflict and nothing else is: both sides set one value differently; one removed
what the other edited; both took one number for different things; both took one DMX address for
different fixtures.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Literal, TypeAlias

from msgspec import UNSET

from showvault.compare.changes import Changed, Path
from showvault.review.values import Scales, no_scales
from showvault.review.wording import say_what, say_where
from showvault.show.addressing import Thing, say_thing
from showvault.show.places import path_to, pointer_to, say_pointer
from showvault.show.trees import Tree

Choice = Literal["mine", "theirs", "base"]
"""Whose value stands; ``base`` is what was there before either side changed it."""

CHOICES: tuple[Choice, ...] = Choice.__args__  # type: ignore[attr-defined]


@dataclass(frozen=True)
class Conflict:
    """One decision that is left; values are plain trees, UNSET where a side does not have it."""

    place: str
    """In trade words."""
    pointer: str
    """As a JSON Pointer (RFC 6901) into the merged show."""
    base: Tree
    mine: Tree
    theirs: Tree
    text: str
    """The whole sentence, place included."""

    @property
    def path(self) -> Path:
        """Return what the pointer leads along."""
        tokens = self.pointer.split("/")[1:]
        return tuple(token.replace("~1", "/").replace("~0", "~") for token in tokens)

    def side(self, choice: Choice) -> Tree:
        """Return the value of one side."""
        match choice:
            case "mine":
                return self.mine
            case "theirs":
                return self.theirs
            case "base":
                return self.base

    def as_json(self) -> dict[str, Any]:
        """Return what programs are told of it; null where a side does not have the value."""
        sides = {choice: self.side(choice) for choice in CHOICES}
        return {
            "place": self.place,
            "pointer": self.pointer,
            **{name: None if value is UNSET else value for name, value in sides.items()},
            "text": self.text,
        }


Decide: TypeAlias = Callable[[Conflict], Choice | None]
"""Answers a conflict, or leaves it with None."""


def leave_open(conflict: Conflict) -> Choice | None:
    """Decide nothing."""
    return None


def always(choice: Choice) -> Decide:
    """Return the policy that takes one side in every conflict."""
    return lambda conflict: choice


class Decisions:
    """Asks for every conflict and remembers those that nobody decided.

    What is left open is provisionally as it is in mine.
    """

    def __init__(self, decide: Decide, scales: Scales = no_scales) -> None:
        self._decide = decide
        self.scales = scales
        """The units in which levels are said."""
        self.open: list[Conflict] = []
        self.made: list[tuple[Conflict, Choice]] = []

    def settle(self, conflict: Conflict) -> Choice:
        """Return whose value stands."""
        choice = self._decide(conflict)
        if choice is None:
            self.open.append(conflict)
            return "mine"
        self.made.append((conflict, choice))
        return choice


def conflict_of_value(
    thing: Thing, path: Path, base: Tree, mine: Tree, theirs: Tree, scales: Scales = no_scales
) -> Conflict:
    """Both sides set one field or one stored level differently, or one of them removed it."""
    tokens = (*path_to(thing), *path)
    where = say_where(Changed(thing, path, base, mine))
    ours, others = (say_what(Changed(thing, path, base, side), scales) for side in (mine, theirs))
    text = f"{where}: mine: {ours}; theirs: {others}"
    return Conflict(say_pointer(tokens), pointer_to(tokens), base, mine, theirs, text)


def conflict_of_removal(
    thing: Thing, base: Tree, edited: Tree, editor: Choice, edit: str
) -> Conflict:
    """One side removed a thing that the other edited; ``edit`` says what that one did."""
    mine, theirs = (edited, UNSET) if editor == "mine" else (UNSET, edited)
    remover = "theirs" if editor == "mine" else "mine"
    text = f"{say_thing(thing)}: {remover} removed it, {editor} {edit}"
    return Conflict(say_thing(thing), pointer_to(path_to(thing)), base, mine, theirs, text)


def conflict_of_numbers(
    thing: Thing, base: Tree, mine: Tree, theirs: Tree, who: tuple[str, str]
) -> Conflict:
    """Both sides took one number for different things; ``who`` says what each is and whence."""
    text = f"{say_thing(thing)} is taken twice: mine: {who[0]}; theirs: {who[1]}"
    return Conflict(say_thing(thing), pointer_to(path_to(thing)), base, mine, theirs, text)


def conflict_of_moves(thing: Thing, mine: Thing, theirs: Thing) -> Conflict:
    """Both sides gave one thing another number."""
    place, ours, others = (say_thing(one) for one in (thing, mine, theirs))
    text = f"{place} got two new numbers: mine: {ours}; theirs: {others}"
    return Conflict(place, pointer_to(path_to(thing)), place, ours, others, text)
