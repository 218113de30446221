"""Somebody at work on a show of their own copy, at random but following from a seed."""

import copy
import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from tests.builders import Tree
from tests.merge.known_show import Entry, KnownShow, Path, Ref


@dataclass
class Person:
    """Somebody at work: the show as they leave it."""

    name: str
    before: KnownShow
    chance: random.Random
    field_of_work: Sequence[str]
    fixtures: Sequence[str]
    """The lights this person programs in cues and presets."""
    show: KnownShow = field(init=False)
    made: int = 0

    def __post_init__(self) -> None:
        self.show = copy.deepcopy(self.before)

    def pick(self, kind: str) -> str | None:
        """Return one of this person's own things of a kind that is still there."""
        own = [
            who for who in self.field_of_work if who in self.show and self.show[who].kind == kind
        ]
        return self.chance.choice(own) if own else None

    def light(self) -> Ref:
        """Return one of this person's lights."""
        return Ref(self.chance.choice([who for who in self.fixtures if who in self.show]))

    def wash_lights(self) -> list[str]:
        """Return this person's lights that have colours and move."""
        return [who for who in self.fixtures if who.startswith("wash") and who in self.show]

    def number(self) -> Decimal:
        """Return a value that nobody else comes upon."""
        return Decimal(self.chance.randrange(1, 99_999)) / 1000

    def put(self, who: str, path: Path, value: Tree) -> None:
        """Set one value."""
        self.show[who].fields[path] = value

    def make(self, entry: Entry) -> str:
        """Put something new into the show and return who it is."""
        self.made += 1
        who = f"{self.name}'s new {entry.kind} {self.made}"
        self.show[who] = entry
        return who

    def is_free(self, kind: str, home: str, number: str) -> bool:
        """Tell whether nothing has a number."""
        return all(entry.name != (kind, home, number) for entry in self.show.values())


Edit = Callable[[Person], object]


def at_work(person: Person, edits: Sequence[Edit], most: int) -> Person:
    """Let a person carry out some edits, at least a quarter of the most."""
    for _ in range(person.chance.randrange(most // 4, most) + 1):
        person.chance.choice(edits)(person)
    return person
