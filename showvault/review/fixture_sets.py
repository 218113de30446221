"""Fixtures as a person calls them: a group by its name, the odd or even ones, ranges.

A name never covers a fixture that is not meant: a group is named where it is exactly these.
"""

from collections.abc import Collection, Mapping

from msgspec import UnsetType

from showvault.review.ranges import say_fixtures
from showvault.show.addressing import place_order
from showvault.show.model import Show

FEWEST_NAMED = 3
"""Two fixtures are said one by one."""

GroupNames = Mapping[frozenset[str], str]
"""The names of a show's groups by what is in them."""


def group_names(show: Show) -> GroupNames:
    """Return the names of the groups that have one; of two alike the lower number's."""
    names: dict[frozenset[str], str] = {}
    groups = show.groups or {}
    for place in sorted(groups, key=place_order):
        group = groups[place]
        if not isinstance(group.name, UnsetType) and group.name and group.fixtures:
            names.setdefault(frozenset(map(str, group.fixtures)), group.name)
    return names


def say_fixture_set(keys: Collection[str], names: GroupNames) -> str:
    """Say fixtures: "group “Front wash” (101–108)", "odd fixtures 101–111", "fixtures 1, 4"."""
    wanted = frozenset(keys)
    if len(wanted) < FEWEST_NAMED:
        return say_fixtures(wanted)
    if wanted in names:
        numbers = say_fixtures(wanted).partition(" ")[2]
        return f"group “{names[wanted]}” ({numbers})"
    every_second = _every_second(wanted)
    return every_second if every_second else say_fixtures(wanted)


def _every_second(keys: frozenset[str]) -> str:
    if not all(key.isdecimal() for key in keys):
        return ""
    numbers = sorted(map(int, keys))
    if numbers != list(range(numbers[0], numbers[-1] + 1, 2)):
        return ""
    word = "odd" if numbers[0] % 2 else "even"
    return f"{word} fixtures {numbers[0]}–{numbers[-1]}"
