"""What a programmer does in a session: each edit changes the show and notes what it did."""

import copy
from collections.abc import Callable
from decimal import Decimal

from msgspec import UNSET

from showvault.show.addressing import Thing
from showvault.show.places import path_to
from tests.builders import Tree
from tests.laws.sessions import SHOW, Edit, Session, put, things_of, value_at

_CUE_FIELDS = {
    "label": "trimmed {}",
    "notes": "note {}",
    "scene": "{}",
    "script_page": "{}",
    "called_on": "line {}",
}

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


def _number(session: Session) -> Decimal:
    """A number that no generated show holds."""
    return Decimal(session.chance.randrange(1, 1000)) / 1000 + 3


def set_level(session: Session) -> None:
    cue = session.free("cue")
    if cue:
        key = session.chance.choice(list(session.before["patch"]))
        session.change(cue, ("levels", key, "Dimmer"), _number(session))


def refer_to_a_preset(session: Session) -> None:
    cue = session.free("cue")
    if cue:
        key = session.chance.choice(list(session.before["patch"]))
        session.change(cue, ("levels", key, "Tilt"), {"preset": "Position 9.9", "fade": 2})


def release(session: Session) -> None:
    cue = session.free("cue")
    if cue:
        key = session.chance.choice(list(session.at(cue)["levels"]) or ["1"])
        session.change(cue, ("levels", key, "Dimmer"), {"release": True})


def unstore(session: Session) -> None:
    cue = session.free("cue")
    if cue and session.at(cue)["levels"]:
        key = session.chance.choice(list(session.at(cue)["levels"]))
        session.change(cue, ("levels", key, "Dimmer"), UNSET)


def set_part_level(session: Session) -> None:
    cue = session.free("cue")
    if cue and "2" in session.at(cue).get("parts", {}) and _had(session, cue, ("parts", "2")):
        session.change(cue, ("parts", "2", "levels", "3", "Dimmer"), _number(session))


def add_or_remove_a_part(session: Session) -> None:
    cue = session.free("cue", untouched=True)
    if cue:
        there = "2" in session.at(cue).get("parts", {})
        session.change(cue, ("parts", "2"), UNSET if there else {"label": "late", "fade_in": 12})
        session.busy.add(cue)


def set_text(session: Session) -> None:
    cue = session.free("cue")
    if cue:
        name = session.chance.choice(list(_CUE_FIELDS))
        session.change(cue, (name,), _CUE_FIELDS[name].format(_number(session)))


def set_time(session: Session) -> None:
    cue = session.free("cue")
    if cue:
        name = session.chance.choice(["fade_in", "fade_out", "delay_in", "delay_out"])
        session.change(cue, (name,), _number(session))


def set_class_time(session: Session) -> None:
    cue = session.free("cue")
    if cue and _had(session, cue, ("times", "Position")):
        session.change(cue, ("times", "Position", "fade"), _number(session))


def set_follow(session: Session) -> None:
    cue = session.free("cue")
    if cue:
        session.change(cue, ("follow",), {"from": "go", "seconds": _number(session)})


def set_link(session: Session) -> None:
    cue = session.free("cue")
    if cue:
        session.change(cue, ("link",), {"list": "9", "cue": str(_number(session))})


def set_cue_effect(session: Session) -> None:
    cue = session.free("cue")
    if cue:
        session.change(cue, ("effects", "1.4"), {"state": "start", "rate": _number(session)})


def set_preset_level(session: Session) -> None:
    preset = session.free("preset")
    if preset:
        session.change(preset, ("levels", "2", "ColorAdd_R"), _number(session))


def set_preset_default(session: Session) -> None:
    preset = session.free("preset")
    if preset:
        session.change(preset, ("all", "ColorAdd_B"), _number(session))


def set_a_name(session: Session) -> None:
    kind = session.chance.choice(
        ["preset", "group", "effect", "submaster", "cue_list", "fixture", "fixture_type", "curve"]
    )
    thing = session.free(kind)
    if thing:
        session.change(thing, ("name",), f"renamed {_number(session)}")


def change_members(session: Session) -> None:
    group = session.free(session.chance.choice(["group", "effect"]))
    if group:
        members = list(session.at(group)["fixtures"])
        members[session.chance.randrange(len(members))] = session.chance.randrange(900, 999)
        session.change(group, ("fixtures",), members)


def set_effect_range(session: Session) -> None:
    effect = session.free("effect")
    if effect:
        session.change(effect, ("attributes", "Dimmer", "high"), _number(session))


def change_steps(session: Session) -> None:
    macro = session.free("macro")
    if macro:
        session.change(macro, ("steps",), [*session.at(macro)["steps"], f"go {_number(session)}"])


def set_priority(session: Session) -> None:
    playback = session.free("playback")
    if playback:
        session.change(playback, ("priority",), session.chance.randrange(100, 200))


def readdress(session: Session) -> None:
    fixture = session.free("fixture")
    if fixture:
        address = {"universe": 7, "address": session.chance.randrange(1, 500)}
        session.change(fixture, ("addresses",), [address])


def repatch_a_universe(session: Session) -> None:
    for thing in things_of(session.before):
        if thing.kind == "fixture" and thing not in session.busy:
            addresses = copy.deepcopy(session.at(thing)["addresses"])
            if addresses and addresses[0]["universe"] == 2:
                addresses[0]["universe"] = 4
                session.change(thing, ("addresses",), addresses)


def exchange_type(session: Session) -> None:
    fixture = session.free("fixture")
    if fixture:
        if session.chance.random() < 0.7:
            session.change(fixture, ("type",), "spot")
        if session.chance.random() < 0.7:
            session.change(fixture, ("mode",), f"{session.chance.randrange(9, 12)} bit")


def change_channels(session: Session) -> None:
    channels = copy.deepcopy(
        session.at(Thing("fixture_type", "wash"))["modes"]["16 bit"]["channels"]
    )
    channels[2]["default"] = _number(session)
    session.change(Thing("fixture_type", "wash"), ("modes", "16 bit", "channels"), channels)


def change_the_show(session: Session) -> None:
    number = session.chance.randrange(20, 90)
    path, value = session.chance.choice(
        [
            (("title",), f"title {number}"),
            (("capacity", "universes"), number),
            (("capacity", "playbacks_per_page"), number),
            (("extra", "desk", "counter"), number),
            (("extra", "desk", "who"), f"desk {number}"),
            (("files", "show.bin", "size"), number),
        ]
    )
    session.change(SHOW, path, value)


def add_a_cue(session: Session) -> None:
    number = f"{session.chance.randrange(1, 8)}.{session.chance.randrange(1, 10)}"
    thing = Thing("cue", number, "1")
    if thing in things_of(session.before) or value_at(session.show, path_to(thing)) is not UNSET:
        return
    level = _number(session)
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


def _had(session: Session, thing: Thing, path: tuple[str, ...]) -> bool:
    return value_at(session.before, (*path_to(thing), *path)) is not UNSET


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
        for address in patched["addresses"]:
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


SMALL: tuple[Edit, ...] = (
    set_level,
    refer_to_a_preset,
    release,
    unstore,
    set_part_level,
    add_or_remove_a_part,
    set_text,
    set_time,
    set_class_time,
    set_follow,
    set_link,
    set_cue_effect,
    set_preset_level,
    set_preset_default,
    set_a_name,
    change_members,
    set_effect_range,
    change_steps,
    set_priority,
    readdress,
    repatch_a_universe,
    exchange_type,
    change_channels,
    change_the_show,
)
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


def edited(session: Session, most: int = 30) -> Session:
    """Carry out edits at random: fields first, then whole things."""
    for _ in range(session.chance.randrange(most)):
        session.chance.choice(SMALL)(session)
    for _ in range(session.chance.randrange(8)):
        session.chance.choice(WHOLE)(session)
    return session
