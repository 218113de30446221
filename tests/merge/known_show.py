"""A show in which everything is known by who it is, whatever its number: for judging merges.

Nothing here uses the program's matching, comparing or merging. A thing keeps its name (``who``) for
ever; its fields lie flat, a path for each value; wherever it names another thing stands a ``Ref``.
Only ``written`` turns names into the numbers that a file has.
"""

import copy
import random
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from tests.builders import Tree, a_channel, a_dimmer_type, a_type, a_wash_type

Path = tuple["str | Ref", ...]
Name = tuple[str, str, str]
"""Kind, the list of a cue or the class of a preset, number."""

SECTIONS = {
    "fixture": "patch",
    "group": "groups",
    "effect": "effects",
    "submaster": "submasters",
    "playback": "playbacks",
}
CLASSES = {"Color": ("ColorAdd_R", "ColorAdd_G"), "Position": ("Pan", "Tilt")}
WORDS = (
    *("alley", "attic", "balcony", "beacon", "bell", "bridge", "cellar", "chapel", "dawn", "duel"),
    *("feast", "ferry", "forge", "garden", "gull", "harbour", "kitchen", "lantern", "letter"),
    *("market", "mast", "mill", "orchard", "quay", "roof", "rope", "storm", "tide", "wharf"),
)


@dataclass(frozen=True)
class Ref:
    """Another thing, whatever its number."""

    who: str


@dataclass
class Entry:
    """One thing: its number, and its values by path."""

    kind: str
    home: str
    """The list of a cue (by who it is), the class of a preset."""
    number: str
    fields: dict[Path, Tree] = field(default_factory=dict)

    @property
    def name(self) -> Name:
        return (self.kind, self.home, self.number)


KnownShow = dict[str, Entry]


def a_known_show(chance: random.Random, cues: int = 36) -> KnownShow:
    """A house of twelve dimmers and ten wash lights, with presets, groups and two lists."""
    show: KnownShow = {}
    for n in range(1, 13):
        show[f"bar {n}"] = _fixture(str(n), "dimmer", "8 bit", 1, n, f"Bar {n}")
    for n in range(1, 11):
        show[f"wash {n}"] = _fixture(str(100 + n), "wash", "16 bit", 2, 1 + 10 * n, f"Wash {n}")
    fixtures = [Ref(who) for who in show]
    washes = fixtures[12:]
    for n in range(1, 7):
        members = {("fixtures", one): True for one in chance.sample(fixtures, 6)}
        show[f"group {n}"] = Entry("group", "", str(n), {("name",): _words(chance, n), **members})
    for kind, attributes in (
        ("Color", ("ColorAdd_R", "ColorAdd_G")),
        ("Position", ("Pan", "Tilt")),
    ):
        for n in range(1, 9):
            held = {
                ("levels", one, attribute): _level(chance)
                for one in chance.sample(washes, 7)
                for attribute in attributes
            }
            name = {("name",): f"{_words(chance, n)} {kind}"}
            show[f"{kind} {n}"] = Entry("preset", kind, f"1.{n}", {**name, **held})
    for n in range(1, 4):
        members = {("fixtures", one): True for one in chance.sample(fixtures, 4)}
        swell = {("name",): f"swell {n}", ("wave",): "sine", ("cycle_seconds",): n}
        swell |= {("attributes", "Dimmer", "low"): 20, ("attributes", "Dimmer", "high"): 70 + n}
        show[f"effect {n}"] = Entry("effect", "", str(n), swell | members)
    for n in range(1, 4):
        stored = {("levels", one, "Dimmer"): _level(chance) for one in chance.sample(fixtures, 4)}
        show[f"sub {n}"] = Entry("submaster", "", str(n), {("name",): _words(chance, n), **stored})
    for number, name, count in (("1", "Main", cues), ("2", "Pit", 8)):
        show[f"list {number}"] = Entry("cue_list", "", number, {("name",): name})
        playback = {("name",): name, ("cue_list",): Ref(f"list {number}"), ("priority",): 50}
        show[f"playback {number}"] = Entry("playback", "", f"1.{number}", playback)
        for n in range(1, count + 1):
            show[f"{name} cue {n}"] = Entry(
                "cue", f"list {number}", str(n), _cue(chance, fixtures, f"{name} {n}", name, count)
            )
    return show


def _fixture(number: str, kind: str, mode: str, universe: int, address: int, name: str) -> Entry:
    values = {
        ("name",): name,
        ("type",): kind,
        ("mode",): mode,
        ("addresses",): [{"universe": universe, "address": address}],
        ("position",): "bridge",
        ("unit_number",): number,
    }
    return Entry("fixture", "", number, values)


def _cue(
    chance: random.Random, fixtures: list[Ref], label: str, list_name: str, count: int
) -> dict[Path, Tree]:
    cue: dict[Path, Tree] = {
        ("label",): f"{label} {_words(chance)}",
        ("fade_in",): chance.randrange(1, 9),
    }
    for one in chance.sample(fixtures, chance.randrange(8, 14)):
        cue["levels", one, "Dimmer"] = _level(chance)
        if one in fixtures[12:]:
            cue["levels", one, "ColorAdd_R"] = {"preset": Ref(f"Color {chance.randrange(1, 9)}")}
            if chance.random() < 0.5:
                cue["levels", one, "Pan"] = {"preset": Ref(f"Position {chance.randrange(1, 9)}")}
    if chance.random() < 0.3:
        cue["times", "Position", "fade"] = chance.randrange(1, 9)
    if chance.random() < 0.3:
        cue["parts", "2", "label"] = "cyc"
        for one in chance.sample(fixtures, 3):
            if ("levels", one, "Dimmer") not in cue:
                cue["parts", "2", "levels", one, "Dimmer"] = _level(chance)
    if chance.random() < 0.2:
        cue["effects", Ref("effect 1")] = {"state": "start", "rate": 1}
    if chance.random() < 0.2:
        cue["link",] = {"cue": Ref(f"{list_name} cue {chance.randrange(1, count + 1)}")}
    return cue


def _words(chance: random.Random, n: int = 0) -> str:
    return " ".join([*chance.sample(WORDS, 2), *([str(n)] if n else [])])


def _level(chance: random.Random) -> Decimal:
    return Decimal(chance.randrange(0, 1001)) / 10


def written(show: KnownShow, *, missing: Mapping[str, Entry]) -> Tree:
    """Return the show as a plain tree; ``missing`` says what things were called that are out."""
    numbers = {who: entry.number for who, entry in (*missing.items(), *show.items())}
    homes = {who: entry.home for who, entry in (*missing.items(), *show.items())}
    tree: Tree = {
        "format": "neutral-show",
        "format_version": 1,
        "title": "The Lamplighter",
        "capacity": {"universes": 8, "pages": 30},
        "fixture_types": {
            "dimmer": a_dimmer_type(),
            "wash": a_wash_type(),
            "spot": a_type(a_channel("Dimmer", 1), a_channel("Pan", 2), a_channel("Tilt", 3)),
        },
        **{name: {} for name in (*SECTIONS.values(), "presets", "cue_lists")},
    }
    for entry in show.values():
        if entry.kind == "cue_list":
            tree["cue_lists"][entry.number] = {**_body(entry, numbers, homes), "cues": {}}
    for entry in show.values():
        match entry.kind:
            case "cue_list":
                continue
            case "cue":
                holder = tree["cue_lists"][numbers[entry.home]]["cues"]
            case "preset":
                holder = tree["presets"].setdefault(entry.home, {})
            case kind:
                holder = tree[SECTIONS[kind]]
        holder[entry.number] = _body(entry, numbers, homes)
    return tree


def _body(entry: Entry, numbers: Mapping[str, str], homes: Mapping[str, str]) -> Tree:
    def said(value: Tree, name: str = "") -> Tree:
        match value:
            case Ref(who) if name == "preset":
                return f"{homes[who]} {numbers[who]}"
            case Ref(who):
                return numbers[who]
            case dict():
                return {key: said(inner, key) for key, inner in value.items()}
            case list():
                return [said(inner) for inner in value]
            case _:
                return copy.copy(value)

    body: Tree = {}
    for path, value in entry.fields.items():
        if path[0] == "fixtures":
            body.setdefault("fixtures", []).append(int(said(path[1])))
            continue
        holder = body
        for step in path[:-1]:
            holder = holder.setdefault(said(step), {})
        holder[said(path[-1])] = said(value)
    return body


def cues_of(show: KnownShow, home: str) -> list[str]:
    """Return who stands in a list, in the order of its numbers."""
    cues = [who for who, entry in show.items() if entry.kind == "cue" and entry.home == home]
    return sorted(cues, key=lambda who: Decimal(show[who].number))


def refs_in(entry: Entry) -> Iterator[str]:
    """Yield everything that a thing names."""
    for path, value in entry.fields.items():
        yield from (step.who for step in path if isinstance(step, Ref))
        held = value.values() if isinstance(value, dict) else (value,)
        yield from (inner.who for inner in held if isinstance(inner, Ref))
