"""Shows of an invented house, and sessions of edits on them whose every change is known.

A session edits a show the way a programmer does and notes what it did; what it noted is what a
comparison has to report, no more and no less. Everything follows from one seed.
"""

import copy
import random
from collections.abc import Callable
from dataclasses import dataclass, field
from decimal import Decimal

from msgspec import UNSET

from showvault.show.addressing import Thing
from showvault.show.places import path_to
from tests.builders import Tree, a_channel, a_dimmer_type, a_type, a_wash_type

Path = tuple[str, ...]
SHOW = Thing("show", "")
_WORDS = [
    *("alley", "attic", "balcony", "beacon", "bell", "bridge", "cellar", "chapel", "dawn", "duel"),
    *(
        "feast",
        "ferry",
        "fog",
        "forge",
        "garden",
        "gull",
        "harbour",
        "kitchen",
        "lantern",
        "letter",
    ),
    *("market", "mast", "mill", "orchard", "quay", "roof", "rope", "storm", "tide", "wharf"),
]


def a_house(chance: random.Random, cues: int = 24, dimmers: int = 12, washes: int = 10) -> Tree:
    """Return a show: dimmers, wash lights, presets, groups, three lists that use them."""
    show: Tree = {
        "format": "neutral-show",
        "format_version": 1,
        "title": "The Lamplighter",
        "venue": "Granary",
        "capacity": {"universes": 8, "pages": 30},
        "curves": {
            "2": {"name": "Preheat", "points": [[0, 4], [100, 100]]},
            "3": {"name": "Square", "points": [[0, 0], [50, 25], [100, 100]]},
        },
        "fixture_types": {
            "dimmer": a_dimmer_type(),
            "wash": a_wash_type(),
            "spot": a_type(a_channel("Dimmer", 1), a_channel("Pan", 2), a_channel("Tilt", 3)),
        },
        "extra": {"desk": {"saved_at": "2026-11-25T01:00", "counter": 7}},
        "files": {"show.bin": {"name": "show.bin", "size": 12, "sha256": "0" * 64}},
    }
    show["patch"] = _a_patch(chance, dimmers, washes)
    fixtures = list(show["patch"])
    show["groups"] = {
        f"1.{n}": {
            "name": f"{chance.choice(_WORDS)} {n}",
            "fixtures": [int(key) for key in chance.sample(fixtures, 6)],
        }
        for n in range(1, 7)
    }
    show["presets"] = {
        group: {f"1.{n}": _a_preset(chance, fixtures, n) for n in range(1, 9)}
        for group in ("Color", "Position")
    }
    show["effects"] = {
        f"1.{n}": {
            "name": f"{chance.choice(_WORDS)} swell {n}",
            "wave": "sine",
            "cycle_seconds": n,
            "attributes": {"Dimmer": {"low": 20, "high": 70 + n}},
            "fixtures": [int(key) for key in chance.sample(fixtures, 4)],
        }
        for n in range(1, 5)
    }
    show["macros"] = {
        f"1.{n}": {"name": f"{_WORDS[n]} macro", "steps": ["go list 1", f"wait {n}", "clear"]}
        for n in range(1, 5)
    }
    show["submasters"] = {
        str(n): {"name": f"{_WORDS[n]} hold", "mode": "add", "levels": _levels(chance, fixtures, 5)}
        for n in range(1, 4)
    }
    show["cue_lists"] = {
        number: {
            "name": name,
            "cues": {str(n): _a_cue(chance, fixtures, f"{name} {n}") for n in range(1, count + 1)},
        }
        for number, name, count in (("1", "Main", cues), ("2", "Pit", 8), ("5", "House", 5))
    }
    show["playbacks"] = {
        f"1.{n}": {
            "name": f"{_WORDS[n]} handle",
            "cue_list": number,
            "intensity": "highest",
            "priority": 50 + n,
        }
        for n, number in enumerate(show["cue_lists"], start=1)
    }
    return show


def _a_patch(chance: random.Random, dimmers: int, washes: int) -> Tree:
    patch: Tree = {}
    for n in range(1, dimmers + 1):
        patch[str(n)] = {
            "type": "dimmer",
            "mode": "8 bit",
            "name": f"Bar {n}",
            "addresses": [{"universe": 1, "address": n}],
            "position": "bar one",
            "unit_number": str(n),
        }
    for n in range(1, washes + 1):
        patch[str(100 + n)] = {
            "type": "wash",
            "mode": "16 bit",
            "name": f"Wash {n}",
            "addresses": [{"universe": 2, "address": 1 + 10 * n}],
            "position": chance.choice(["bridge", "floor"]),
            "unit_number": str(n),
        }
    return patch


def _a_preset(chance: random.Random, fixtures: list[str], n: int) -> Tree:
    return {
        "name": f"{chance.choice(_WORDS)} {n}",
        "all": {"ColorAdd_B": chance.randrange(100)},
        "types": {"wash": {"ColorAdd_G": chance.randrange(100)}},
        "levels": {
            key: {"ColorAdd_R": _level(chance), "Pan": _level(chance)}
            for key in chance.sample(fixtures, 5)
        },
    }


def _a_cue(chance: random.Random, fixtures: list[str], label: str) -> Tree:
    cue: Tree = {
        "label": f"{label} {chance.choice(_WORDS)}",
        "fade_in": chance.randrange(1, 9),
        "levels": _levels(chance, fixtures, chance.randrange(10, 16)),
    }
    if chance.random() < 0.3:
        cue["times"] = {"Position": {"fade": chance.randrange(1, 9), "delay": 1}}
    if chance.random() < 0.3:
        cue["parts"] = {"2": {"label": "cyc", "levels": _levels(chance, fixtures, 3)}}
    if chance.random() < 0.3:
        cue["effects"] = {"1.1": {"state": "start", "rate": 1}}
    if chance.random() < 0.3:
        cue["link"] = {"cue": "4"}
    if chance.random() < 0.2:
        cue["also_go"] = [{"list": "2", "cue": "5"}]
    return cue


def _levels(chance: random.Random, fixtures: list[str], count: int) -> Tree:
    return {key: {"Dimmer": _value(chance)} for key in chance.sample(fixtures, count)}


def _value(chance: random.Random) -> Tree:
    match chance.randrange(5):
        case 0:
            name = f"{chance.choice(['Color', 'Position'])} 1.{chance.randrange(1, 9)}"
            return {"preset": name, "fade": chance.randrange(1, 5)}
        case 1:
            return {"level": _level(chance), "delay": 1}
        case _:
            return _level(chance)


def _level(chance: random.Random) -> Decimal:
    return Decimal(chance.randrange(0, 1_000_001)) / 10_000


@dataclass
class Session:
    """A show while it is edited, and what was done to it."""

    before: Tree
    chance: random.Random
    show: Tree = field(init=False)
    touched: set[tuple[Thing, Path]] = field(default_factory=set)
    """Fields that were changed, named as in the old show."""
    come: set[tuple[str, Thing, Thing | None]] = field(default_factory=set)
    """("added", thing, None), ("copied", thing, original)."""
    gone: set[Thing] = field(default_factory=set)
    moved: dict[Thing, Thing] = field(default_factory=dict)
    extra: set[tuple[object, ...]] = field(default_factory=set)
    """What is to be reported besides, for things that the old show does not have."""
    stale: set[Thing] = field(default_factory=set)
    """Moved things whose references were left behind on purpose."""
    busy: set[Thing] = field(default_factory=set)
    """Things that a further edit keeps its hands off."""

    def __post_init__(self) -> None:
        self.show = copy.deepcopy(self.before)

    def free(self, kind: str, untouched: bool = False) -> Thing | None:
        """Return a thing of a kind that nothing whole was done to yet."""
        changed = {thing for thing, _ in self.touched}
        choices = [
            thing
            for thing in things_of(self.before)
            if thing.kind == kind
            and thing not in self.busy
            and Thing("cue_list", thing.list) not in self.busy
            and not (untouched and thing in changed)
        ]
        return self.chance.choice(choices) if choices else None

    def at(self, thing: Thing) -> Tree:
        """Return a thing of the show as it stands now."""
        return value_at(self.show, path_to(thing))

    def change(self, thing: Thing, path: Path, value: Tree) -> None:
        """Change one field and note it; nothing is noted where it already had the value."""
        if value_at(self.at(thing), path) == value:
            return
        put(self.at(thing), path, value)
        self.touched.add((thing, path))

    def new_name(self, thing: Thing) -> Thing:
        if thing in self.moved:
            return self.moved[thing]
        own_list = Thing("cue_list", thing.list)
        if thing.kind == "cue" and own_list in self.moved:
            return Thing("cue", thing.id, self.moved[own_list].id)
        return thing

    def new_path(self, path: Path) -> Path:
        if path[:1] == ("effects",):
            return ("effects", self.new_name(Thing("effect", path[1])).id, *path[2:])
        if "levels" not in path[:-1]:
            return path
        at = path.index("levels") + 1
        number, dot, cell = path[at].partition(".")
        renamed = self.new_name(Thing("fixture", number)).id + dot + cell
        return (*path[:at], renamed, *path[at + 1 :])

    def expected(self) -> set[tuple[object, ...]]:
        """Return what a comparison of before and after has to report."""
        reported: set[tuple[object, ...]] = {("removed", thing) for thing in self.gone} | self.extra
        reported |= {entry if entry[2] else entry[:2] for entry in self.come}
        reported |= {("moved", thing, from_) for from_, thing in self.moved.items()}
        for thing, path in self.touched:
            if thing in self.gone:
                continue
            new_thing, new_path = self.new_name(thing), self.new_path(path)
            before = value_at(self.before, (*path_to(thing), *path))
            after = value_at(self.show, (*path_to(new_thing), *new_path))
            stored = value_at(self.at(new_thing), new_path[:-1])
            if after is UNSET and (stored is UNSET or stored == {}):
                new_path = path  # a fixture that is no longer stored at all has no new number here
            if before != after:
                reported.add(("changed", new_thing, new_path, spelled(before), spelled(after)))
        return drawn_together(reported)


def drawn_together(reported: set[tuple[object, ...]]) -> set[tuple[object, ...]]:
    """Return what is reported with a fixture's type and mode, exchanged together, as one change."""
    by_place = {entry[1:3]: entry for entry in reported if entry[0] == "changed"}
    for (thing, path), entry in by_place.items():
        mode = by_place.get((thing, ("mode",)))
        if path == ("type",) and mode is not None:
            reported = reported - {entry, mode} | {(*entry, *mode[2:])}
    return reported


def things_of(show: Tree) -> list[Thing]:
    """Return every numbered thing of a show."""
    sections = {
        "curves": "curve",
        "fixture_types": "fixture_type",
        "patch": "fixture",
        "groups": "group",
        "effects": "effect",
        "macros": "macro",
        "submasters": "submaster",
        "playbacks": "playback",
    }
    things = [Thing(kind, key) for name, kind in sections.items() for key in show.get(name, {})]
    for group, presets in show.get("presets", {}).items():
        things += [Thing("preset", f"{group} {key}") for key in presets]
    for number, cue_list in show.get("cue_lists", {}).items():
        things.append(Thing("cue_list", number))
        things += [Thing("cue", key, number) for key in cue_list.get("cues", {})]
    return things


def value_at(tree: Tree, path: Path) -> Tree:
    for step in path:
        if not isinstance(tree, dict) or step not in tree:
            return UNSET
        tree = tree[step]
    return tree


def spelled(value: Tree) -> str:
    """Spell a value so that equal ones are spelled alike: 3, 3.0 and Decimal("3.00") are one."""
    match value:
        case dict():
            return "{" + ", ".join(f"{key}: {spelled(value[key])}" for key in sorted(value)) + "}"
        case list():
            return "[" + ", ".join(map(spelled, value)) + "]"
        case int() | float() | Decimal() if not isinstance(value, bool):
            return f"{Decimal(str(value)).normalize():f}"
        case _:
            return repr(value)


def put(tree: Tree, path: Path, value: Tree) -> None:
    for step in path[:-1]:
        tree = tree.setdefault(step, {})
    if value is UNSET:
        tree.pop(path[-1], None)
    else:
        tree[path[-1]] = value


Edit = Callable[[Session], None]
