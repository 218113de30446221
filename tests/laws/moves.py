"""What a programmer does to whole things: comings, goings, copies, moves, exchanges.

Each edit changes the show and notes what it did; references are made to follow apart from the
program's own way of following them.
"""

import copy
from collections.abc import Callable
from decimal import Decimal

from msgspec import UNSET

from showvault.show.addressing import Thing
from showvault.show.places import path_to
from tests.builders import Tree
from tests.laws.sessions import Edit, Session, put, spelled, things_of, value_at

_MOVABLE = (
    "cue",
    "preset",
    "fixture",
    "group",
    "effect",
    "macro",
    "submaster",
    "playback",
    "curve",
    "fixture_type",
)


def a_number(session: Session) -> Decimal:
    """A number that no generated show holds."""
    return Decimal(session.chance.randrange(1, 1000)) / 1000 + 3


def add_a_cue(session: Session) -> None:
    number = f"{session.chance.randrange(1, 8)}.{session.chance.randrange(1, 10)}"
    thing = Thing("cue", number, "1")
    if thing in things_of(session.before) or value_at(session.show, path_to(thing)) is not UNSET:
        return
    level = a_number(session)
    cue = {"label": f"new {level}", "levels": {"7": {"Dimmer": level}, "8": {"Dimmer": 1}}}
    put(session.show, path_to(thing), cue)
    session.come.add(("added", thing, None))


def add_an_empty_cue(session: Session) -> None:
    """An empty cue equals any other empty cue by chance: it is new, not a copy."""
    thing = Thing("cue", "0.5", "2")
    put(session.show, path_to(thing), {})
    session.come.add(("added", thing, None))


def remove_a_thing(session: Session) -> None:
    kind = session.chance.choice(["cue", "cue", "cue", "preset", "group", "macro", "fixture"])
    thing = session.free(kind)
    if thing:
        put(session.show, path_to(thing), UNSET)
        session.busy.add(thing)
        session.gone.add(thing)


def copy_a_thing(session: Session) -> None:
    kind = session.chance.choice(["cue", "cue", "preset", "group", "effect", "submaster"])
    original = session.free(kind, untouched=True)
    if original is None:
        return
    thing = _free_place(session, original)
    session.busy.add(original)
    if kind == "cue" and original.list == "5":
        return
    put(session.show, path_to(thing), copy.deepcopy(session.at(original)))
    session.come.add(("copied", thing, original))


def move_a_thing(session: Session) -> None:
    kind = session.chance.choice([*_MOVABLE, "cue", "preset"])
    thing = session.free(kind, untouched=kind != "cue")
    if thing and len([1 for touched, _ in session.touched if touched == thing]) <= 1:
        _move(session, {thing: _free_place(session, thing)}, follow=True)


def move_a_preset_alone(session: Session) -> None:
    """A preset that moves without its references: they still name the old number."""
    preset = session.free("preset", untouched=True)
    if preset:
        _move(session, {preset: _free_place(session, preset)}, follow=False)
        session.stale.add(preset)


def renumber_a_run(session: Session) -> None:
    """A run of cues goes up by a hundred, or by one over its own numbers with a cue before it."""
    start = session.chance.randrange(1, 12)
    run = [Thing("cue", str(n), "1") for n in range(start, start + session.chance.randrange(3, 9))]
    changed = {thing for thing, _ in session.touched}
    if any(cue in session.busy or cue in changed for cue in run):
        return
    _move(session, {cue: Thing("cue", str(int(cue.id) + 100), "1") for cue in run}, follow=True)


def shift_the_rest(session: Session) -> None:
    """Every cue of list 2 goes up by one, over the numbers of the others."""
    cues = [thing for thing in things_of(session.before) if thing.list == "2"]
    changed = {thing for thing, _ in session.touched}
    if any(cue in session.busy or cue in changed for cue in cues):
        return
    if Thing("cue_list", "2") in session.busy or any(t.list == "2" for _, t, _ in session.come):
        return
    _move(session, {cue: Thing("cue", str(int(cue.id) + 1), "2") for cue in cues}, follow=True)


def move_to_another_list(session: Session) -> None:
    cue = session.free("cue", untouched=True)
    if cue and cue.list == "1" and "link" not in session.at(cue):
        target = Thing("cue", f"{900 + int(cue.id)}", "2")
        if Thing("cue_list", "2") not in session.busy:
            session.busy.add(Thing("cue_list", "2"))
            _move(session, {cue: target}, follow=True)


def add_a_list(session: Session) -> None:
    thing = Thing("cue_list", "77")
    if value_at(session.show, path_to(thing)) is UNSET:
        cues = {"1": {"label": "walk in", "levels": {"1": {"Dimmer": 3}}}, "2": {"label": "out"}}
        put(session.show, path_to(thing), {"name": "Walk", "cues": cues})
        session.come.add(("added", thing, None))


def move_a_list(session: Session) -> None:
    thing = Thing("cue_list", "5")
    inside = [cue for cue in things_of(session.before) if cue.list == "5"]
    if thing in session.busy or any(cue in session.busy for cue in inside):
        return
    if any(touched in (thing, *inside) for touched, _ in session.touched):
        return
    _move(session, {thing: Thing("cue_list", "6")}, follow=True)


def exchange_two_things(session: Session) -> None:
    """Two things take each other's number, and all that names them follows."""
    kind = session.chance.choice(["cue", "cue", "preset", "group", "macro", "submaster"])
    one, other = (session.free(kind, untouched=True) for _ in range(2))
    if one and other and one != other and one.list == other.list:
        _move(session, {one: other, other: one}, follow=True)


def move_over_another(session: Session) -> None:
    """A thing takes the number of another, which is gone."""
    kind = session.chance.choice(["cue", "preset", "group", "macro"])
    one, other = (session.free(kind, untouched=True) for _ in range(2))
    if not (one and other and one != other and one.list == other.list):
        return
    session.gone.add(other)
    session.busy.add(other)
    _move(session, {one: other}, follow=True)


def renumber_unevenly(session: Session) -> None:
    """A run of cues goes to free numbers, in its order, by steps of any size."""
    start = session.chance.randrange(1, 12)
    run = [Thing("cue", str(n), "1") for n in range(start, start + session.chance.randrange(3, 9))]
    if _any_in_hand(session, run):
        return
    numbers = sorted(session.chance.sample(range(200, 290), len(run)))
    halves = [f"{number}.5" if number % 3 == 0 else str(number) for number in numbers]
    moves = {cue: Thing("cue", half, "1") for cue, half in zip(run, halves, strict=True)}
    if not any(value_at(session.show, path_to(target)) is not UNSET for target in moves.values()):
        _move(session, moves, follow=True)


def renumber_and_readdress(session: Session) -> None:
    fixture = session.free("fixture", untouched=True)
    if fixture:
        address = {"universe": 6, "address": session.chance.randrange(1, 500)}
        session.change(fixture, ("addresses",), [address])
        _move(session, {fixture: _free_place(session, fixture)}, follow=True)


def move_a_group_and_change_it(session: Session) -> None:
    group = session.free("group", untouched=True)
    if group:
        members = [*session.at(group)["fixtures"][:-1], 950]
        session.change(group, ("fixtures",), members)
        _move(session, {group: _free_place(session, group)}, follow=True)


def move_a_cue_and_edit_it(session: Session) -> None:
    cue = session.free("cue", untouched=True)
    if cue:
        for key in session.chance.sample(_fixtures_at_home(session), 2):
            session.change(cue, ("levels", key, "Zoom"), a_number(session))
        session.change(cue, ("label",), f"elsewhere {a_number(session)}")
        _move(session, {cue: _free_place(session, cue)}, follow=True)


def copy_a_cue_and_edit_the_original(session: Session) -> None:
    cue = session.free("cue", untouched=True)
    if cue and cue.list == "1":
        copied = _free_place(session, cue)
        put(session.show, path_to(copied), copy.deepcopy(session.at(cue)))
        session.come.add(("copied", copied, cue))
        session.change(cue, ("notes",), f"rewritten {a_number(session)}")
        key = session.chance.choice(_fixtures_at_home(session))
        session.change(cue, ("levels", key, "Dimmer"), a_number(session))
        session.busy.add(cue)


def insert_a_preset(session: Session) -> None:
    """A new preset stands in the middle of a page, and those behind it go up by one."""
    behind = [Thing("preset", f"Position 1.{slot}") for slot in range(4, 9)]
    if _any_in_hand(session, behind):
        return
    ups = {
        preset: Thing("preset", f"Position 1.{slot + 1}") for slot, preset in enumerate(behind, 4)
    }
    _move(session, ups, follow=True)
    levels = {"9": {"Pan": a_number(session)}, "10": {"Pan": a_number(session)}}
    put(session.show, path_to(behind[0]), {"name": "brand new", "levels": levels})
    session.come.add(("added", behind[0], None))


def exchange_two_lists(session: Session) -> None:
    pit, house = Thing("cue_list", "2"), Thing("cue_list", "5")
    if not _lists_in_hand(session, pit, house):
        _move(session, {pit: house, house: pit}, follow=True)


def give_a_list_the_number_of_another(session: Session) -> None:
    pit, house = Thing("cue_list", "2"), Thing("cue_list", "5")
    if not _lists_in_hand(session, pit, house):
        session.gone.add(pit)
        session.busy |= {pit, *_cues_of(session, pit)}
        _move(session, {house: pit}, follow=True)


def split_a_list(session: Session) -> None:
    """The last cues of the main list go to a list of their own."""
    cues = [Thing("cue", str(n), "1") for n in range(20, 25)]
    act = Thing("cue_list", "78")
    if _any_in_hand(session, cues) or value_at(session.show, path_to(act)) is not UNSET:
        return
    if any("link" in session.at(cue) for cue in cues):
        return
    put(session.show, path_to(act), {"name": "Act two", "cues": {}})
    session.come.add(("added", act, None))
    session.busy.add(act)
    _move(session, {cue: Thing("cue", cue.id, "78") for cue in cues}, follow=True)


def renumber_a_fixture_and_patch_another(session: Session) -> None:
    """Another fixture hangs at the number of one that was renumbered, and a cue stores it."""
    fixture, cue = session.free("fixture", untouched=True), session.free("cue", untouched=True)
    if fixture is None or cue is None or not _fixtures_at_home(session):
        return
    _move(session, {fixture: _free_place(session, fixture)}, follow=True)
    stranger = {"type": "fog", "mode": "one", "name": "Hazer", "position": "deck", "notes": "hired"}
    put(session.show, path_to(fixture), stranger)
    session.come.add(("added", fixture, None))
    level = a_number(session)
    put(session.at(cue), ("levels", fixture.id, "Fog1"), level)
    session.busy.add(cue)
    session.extra.add(("changed", cue, ("levels", fixture.id, "Fog1"), "UNSET", spelled(level)))


def _fixtures_at_home(session: Session) -> list[str]:
    """Return the numbers that still mean the fixture of the old show."""
    gone = {thing.id for thing in (*session.moved, *session.gone) if thing.kind == "fixture"}
    return [number for number in session.before["patch"] if number not in gone]


def _any_in_hand(session: Session, things: list[Thing]) -> bool:
    """Tell whether something was done to any of some things already."""
    changed = {thing for thing, _ in session.touched}
    return any(thing in session.busy or thing in changed for thing in things)


def _cues_of(session: Session, cue_list: Thing) -> list[Thing]:
    return [thing for thing in things_of(session.before) if thing.list == cue_list.id]


def _lists_in_hand(session: Session, *lists: Thing) -> bool:
    numbers = {cue_list.id for cue_list in lists}
    come = any(thing.list in numbers for _, thing, _ in session.come)
    arrived = any(thing.list in numbers for thing in session.moved.values())
    inside = [cue for cue_list in lists for cue in _cues_of(session, cue_list)]
    return come or arrived or _any_in_hand(session, [*lists, *inside])


def _free_place(session: Session, thing: Thing) -> Thing:
    number = session.chance.randrange(300, 9000)
    match thing.kind:
        case "preset":
            return Thing("preset", f"{thing.id.partition(' ')[0]} 4.{number}")
        case "cue":
            return Thing("cue", f"{number}.5", thing.list)
        case "fixture" | "curve" | "submaster":
            return Thing(thing.kind, str(number))
        case "fixture_type":
            return Thing("fixture_type", f"{thing.id} {number}")
        case kind:
            return Thing(kind, f"4.{number}")


def _move(session: Session, moves: dict[Thing, Thing], follow: bool) -> None:
    taken = {}
    for thing in moves:
        taken[thing] = session.at(thing)
        put(session.show, path_to(thing), UNSET)
    for thing, target in moves.items():
        put(session.show, path_to(target), taken[thing])
    session.moved |= moves
    session.busy |= moves.keys()
    if follow:
        _rename_references(session, moves)


def _rename_references(session: Session, moves: dict[Thing, Thing]) -> None:
    """Make every reference of the show name the new numbers: written apart from the program's."""
    names = _Names(moves)
    show = session.show
    for number, cue_list in show["cue_lists"].items():
        for cue in cue_list["cues"].values():
            names.in_cue(cue, number)
    for submaster in show["submasters"].values():
        names.in_stored(submaster)
    for preset in [preset for presets in show["presets"].values() for preset in presets.values()]:
        names.in_keys(preset, "levels", names.fixture)
        names.in_keys(preset, "types", lambda key: names.of("fixture_type", key))
    for holder in [*show["groups"].values(), *show["effects"].values()]:
        holder["fixtures"] = [int(names.fixture(str(member))) for member in holder["fixtures"]]
    for playback in show["playbacks"].values():
        playback["cue_list"] = names.of("cue_list", playback["cue_list"])
    for patched in show["patch"].values():
        patched["type"] = names.of("fixture_type", patched["type"])
        for address in patched.get("addresses", []):
            if "curve" in address:
                address["curve"] = names.of("curve", address["curve"])


class _Names:
    """What things are called after a move."""

    def __init__(self, moves: dict[Thing, Thing]) -> None:
        self._moves = moves

    def of(self, kind: str, key: str) -> str:
        return self._moves.get(Thing(kind, key), Thing(kind, key)).id

    def fixture(self, key: str) -> str:
        number, dot, cell = key.partition(".")
        return self.of("fixture", number) + dot + cell

    def in_keys(self, holder: Tree, field: str, rename: Callable[[str], str]) -> None:
        if field in holder:
            holder[field] = {rename(key): value for key, value in holder[field].items()}

    def in_cue(self, cue: Tree, number: str) -> None:
        for part in [cue, *cue.get("parts", {}).values()]:
            self.in_stored(part)
        for link in [*cue.get("also_go", []), *([cue["link"]] if "link" in cue else [])]:
            self.in_link(link, number)

    def in_stored(self, holder: Tree) -> None:
        self.in_keys(holder, "levels", self.fixture)
        self.in_keys(holder, "effects", lambda key: self.of("effect", key))
        for values in holder.get("levels", {}).values():
            for value in values.values():
                if isinstance(value, dict) and "preset" in value:
                    value["preset"] = self.of("preset", value["preset"])

    def in_link(self, link: Tree, own: str) -> None:
        there = Thing("cue", link.get("cue", ""), link.get("list", own))
        if there in self._moves:
            arrived = self._moves[there]
            link["cue"] = arrived.id
            if arrived.list != own or "list" in link:
                link["list"] = arrived.list
        elif "list" in link:
            link["list"] = self.of("cue_list", link["list"])


WHOLE: tuple[Edit, ...] = (
    add_a_cue,
    add_an_empty_cue,
    remove_a_thing,
    copy_a_thing,
    move_a_thing,
    move_a_preset_alone,
    renumber_a_run,
    shift_the_rest,
    move_to_another_list,
    add_a_list,
    move_a_list,
)
HARDER: tuple[Edit, ...] = (
    exchange_two_things,
    move_over_another,
    renumber_unevenly,
    renumber_and_readdress,
    move_a_group_and_change_it,
    move_a_cue_and_edit_it,
    copy_a_cue_and_edit_the_original,
    insert_a_preset,
    exchange_two_lists,
    give_a_list_the_number_of_another,
    split_a_list,
    renumber_a_fixture_and_patch_another,
)
