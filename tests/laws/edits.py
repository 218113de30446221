"""What a programmer does to fields: each edit changes the show and notes what it did."""

import copy
from collections.abc import Sequence

from msgspec import UNSET

from showvault.show.addressing import Thing
from showvault.show.places import path_to
from tests.laws.moves import WHOLE, a_number
from tests.laws.sessions import SHOW, Edit, Session, things_of, value_at

_CUE_FIELDS = {
    "label": "trimmed {}",
    "notes": "note {}",
    "scene": "{}",
    "script_page": "{}",
    "called_on": "line {}",
}


def set_level(session: Session) -> None:
    cue = session.free("cue")
    if cue:
        key = session.chance.choice(list(session.before["patch"]))
        session.change(cue, ("levels", key, "Dimmer"), a_number(session))


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
        session.change(cue, ("parts", "2", "levels", "3", "Dimmer"), a_number(session))


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
        session.change(cue, (name,), _CUE_FIELDS[name].format(a_number(session)))


def set_time(session: Session) -> None:
    cue = session.free("cue")
    if cue:
        name = session.chance.choice(["fade_in", "fade_out", "delay_in", "delay_out"])
        session.change(cue, (name,), a_number(session))


def set_class_time(session: Session) -> None:
    cue = session.free("cue")
    if cue and _had(session, cue, ("times", "Position")):
        session.change(cue, ("times", "Position", "fade"), a_number(session))


def set_follow(session: Session) -> None:
    cue = session.free("cue")
    if cue:
        session.change(cue, ("follow",), {"from": "go", "seconds": a_number(session)})


def set_link(session: Session) -> None:
    cue = session.free("cue")
    if cue:
        session.change(cue, ("link",), {"list": "9", "cue": str(a_number(session))})


def set_cue_effect(session: Session) -> None:
    cue = session.free("cue")
    if cue:
        session.change(cue, ("effects", "1.4"), {"state": "start", "rate": a_number(session)})


def set_preset_level(session: Session) -> None:
    preset = session.free("preset")
    if preset:
        session.change(preset, ("levels", "2", "ColorAdd_R"), a_number(session))


def set_preset_default(session: Session) -> None:
    preset = session.free("preset")
    if preset:
        session.change(preset, ("all", "ColorAdd_B"), a_number(session))


def set_a_name(session: Session) -> None:
    kind = session.chance.choice(
        ["preset", "group", "effect", "submaster", "cue_list", "fixture", "fixture_type", "curve"]
    )
    thing = session.free(kind)
    if thing:
        session.change(thing, ("name",), f"renamed {a_number(session)}")


def change_members(session: Session) -> None:
    group = session.free(session.chance.choice(["group", "effect"]))
    if group:
        members = list(session.at(group)["fixtures"])
        members[session.chance.randrange(len(members))] = session.chance.randrange(900, 999)
        session.change(group, ("fixtures",), members)


def set_effect_range(session: Session) -> None:
    effect = session.free("effect")
    if effect:
        session.change(effect, ("attributes", "Dimmer", "high"), a_number(session))


def change_steps(session: Session) -> None:
    macro = session.free("macro")
    if macro:
        session.change(macro, ("steps",), [*session.at(macro)["steps"], f"go {a_number(session)}"])


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


def exchange_all_types(session: Session) -> None:
    """A whole run of fixtures becomes another type in another mode."""
    for thing in things_of(session.before):
        if thing.kind == "fixture" and thing not in session.busy and int(thing.id) > 100:
            session.change(thing, ("type",), "spot")
            session.change(thing, ("mode",), "9 bit")


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
    channels[2]["default"] = a_number(session)
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


def _had(session: Session, thing: Thing, path: tuple[str, ...]) -> bool:
    return value_at(session.before, (*path_to(thing), *path)) is not UNSET


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
    exchange_all_types,
    change_channels,
    change_the_show,
)


def edited(session: Session, most: int = 30, whole: Sequence[Edit] = WHOLE) -> Session:
    """Carry out edits at random: fields first, then whole things."""
    for _ in range(session.chance.randrange(most)):
        session.chance.choice(SMALL)(session)
    for _ in range(session.chance.randrange(8)):
        session.chance.choice(whole)(session)
    return session
