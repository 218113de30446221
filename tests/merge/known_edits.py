"""What people do to a show on a night, each edit as it is meant: known by who each thing is."""

from decimal import Decimal

from tests.builders import Tree
from tests.merge.known_show import WORDS, Entry, Path, Ref, cues_of, refs_in
from tests.merge.people import Edit, Person


def set_level(person: Person) -> None:
    cue = person.pick("cue")
    if cue:
        light = person.light()
        held = [path for path in person.show[cue].fields if path[-2:] == (light, "Dimmer")]
        person.put(cue, held[0] if held else ("levels", light, "Dimmer"), person.number())


def take_out_a_level(person: Person) -> None:
    cue = person.pick("cue")
    if cue:
        lights = {Ref(who) for who in person.fixtures}
        held = [
            path for path in person.show[cue].fields if path[0] == "levels" and path[1] in lights
        ]
        if held:
            del person.show[cue].fields[person.chance.choice(held)]


def refer_to_a_preset(person: Person) -> None:
    cue, kind = person.pick("cue"), person.chance.choice(["Color", "Position"])
    presets = [who for who, one in person.show.items() if one.kind == "preset" and one.home == kind]
    washes = person.wash_lights()
    if cue and washes:
        light, attribute = (
            Ref(person.chance.choice(washes)),
            "Tilt" if kind == "Position" else "ColorAdd_G",
        )
        value = {"preset": Ref(person.chance.choice(presets)), "fade": person.number()}
        person.put(cue, ("levels", light, attribute), value)


def set_a_text(person: Person) -> None:
    cue = person.pick("cue")
    if cue:
        name = person.chance.choice(["label", "notes", "scene", "called_on"])
        person.put(cue, (name,), f"{person.chance.choice(WORDS)} {person.number()}")


def set_a_time(person: Person) -> None:
    cue = person.pick("cue")
    if cue:
        name = person.chance.choice(["fade_in", "fade_out", "delay_in"])
        person.put(cue, (name,), person.number())


def set_a_follow(person: Person) -> None:
    cue = person.pick("cue")
    if cue:
        person.put(cue, ("follow",), {"from": "go", "seconds": person.number()})


def link_a_cue(person: Person) -> None:
    cue = person.pick("cue")
    if cue:
        target = person.chance.choice(cues_of(person.show, person.show[cue].home))
        person.put(cue, ("link",), {"cue": Ref(target)})


def set_a_preset_level(person: Person) -> None:
    preset = person.pick("preset")
    washes = person.wash_lights()
    if preset and washes:
        attribute = "ColorAdd_R" if person.show[preset].home == "Color" else "Pan"
        light = Ref(person.chance.choice(washes))
        person.put(preset, ("levels", light, attribute), person.number())


def rename(person: Person) -> None:
    who = person.pick(person.chance.choice(["preset", "group", "fixture"]))
    if who:
        person.put(who, ("name",), f"{person.chance.choice(WORDS)} {person.number()}")


def change_a_group(person: Person) -> None:
    group = person.pick("group")
    if group:
        member = ("fixtures", person.light())
        fields = person.show[group].fields
        if member not in fields:
            fields[member] = True
        elif sum(path[0] == "fixtures" for path in fields) > 2:
            del fields[member]


def add_a_cue(person: Person) -> None:
    """A cue between two that are there, at a point number."""
    cue = person.pick("cue")
    if not cue:
        return
    home = person.show[cue].home
    cues = cues_of(person.show, home)
    at = cues.index(cue)
    low = Decimal(person.show[cue].number)
    high = Decimal(person.show[cues[at + 1]].number) if cues[at + 1 :] else low + 1
    number = (low + high) / 2
    if number != round(number, 3):
        return
    light = person.light()
    values: dict[Path, Tree] = {
        ("label",): f"{person.name} {person.chance.choice(WORDS)} {person.number()}",
        ("fade_in",): person.number(),
        ("levels", light, "Dimmer"): person.number(),
        ("levels", person.light(), "Dimmer"): person.number(),
    }
    person.make(Entry("cue", home, f"{number.normalize():f}", values))


def remove_a_cue(person: Person) -> None:
    """A cue goes that nothing leads to."""
    cue = person.pick("cue")
    linked = {who for entry in person.show.values() for who in refs_in(entry)}
    if cue and cue not in linked:
        del person.show[cue]


def record_a_preset(person: Person) -> None:
    """A new preset at the next free slot of this person's page, put to use in a cue."""
    kind = person.chance.choice(["Color", "Position"])
    number = person.chance.randrange(10, 500)
    attribute = "ColorAdd_R" if kind == "Color" else "Pan"
    washes = person.wash_lights()
    if not washes or not person.is_free("preset", kind, f"2.{number}"):
        return
    light = Ref(person.chance.choice(washes))
    values = {
        ("name",): f"{person.name} {person.number()}",
        ("levels", light, attribute): person.number(),
    }
    preset = person.make(Entry("preset", kind, f"2.{number}", values))
    cue = person.pick("cue")
    if cue:
        person.put(cue, ("levels", light, attribute), {"preset": Ref(preset)})


def renumber_from_here(person: Person) -> None:
    """Every cue from one on gets a new number, with room between them."""
    cue = person.pick("cue")
    if not cue:
        return
    home = person.show[cue].home
    cues = cues_of(person.show, home)
    rest = cues[cues.index(cue) :]
    first = Decimal(person.show[cue].number).to_integral_value() + person.chance.randrange(20, 60)
    step = person.chance.choice([1, 2, 5, 10])
    for n, who in enumerate(rest):
        person.show[who].number = str(first + n * step)


def insert_and_push(person: Person) -> None:
    """A cue takes a whole number; that and every later one up to the next gap moves up by one."""
    cue = person.pick("cue")
    if not cue or "." in person.show[cue].number:
        return
    home, number = person.show[cue].home, int(person.show[cue].number)
    by_number = {person.show[who].number: who for who in cues_of(person.show, home)}
    last = number
    while str(last + 1) in by_number:
        last += 1
    for n in range(last, number - 1, -1):
        person.show[by_number[str(n)]].number = str(n + 1)
    values: dict[Path, Tree] = {
        ("label",): f"{person.name} {person.chance.choice(WORDS)} {person.number()}",
        ("levels", person.light(), "Dimmer"): person.number(),
    }
    person.make(Entry("cue", home, str(number), values))


def move_a_preset(person: Person) -> None:
    """A preset goes to another page; sometimes a new one is recorded where it was."""
    preset = person.pick("preset")
    if not preset:
        return
    entry = person.show[preset]
    old, new = entry.number, f"3.{person.chance.randrange(1, 900)}"
    if not person.is_free("preset", entry.home, new):
        return
    entry.number = new
    if person.chance.random() < 0.5:
        attribute = "ColorAdd_B" if entry.home == "Color" else "Tilt"
        values = {
            ("name",): f"{person.name} {person.number()}",
            ("levels", person.light(), attribute): person.number(),
        }
        person.make(Entry("preset", entry.home, old, values))


def exchange_two_presets(person: Person) -> None:
    one, other = person.pick("preset"), person.pick("preset")
    if one and other and one != other:
        first, second = person.show[one], person.show[other]
        if first.home == second.home:
            first.number, second.number = second.number, first.number


def readdress(person: Person) -> None:
    fixture = person.pick("fixture")
    if fixture:
        address = {
            "universe": person.chance.randrange(3, 8),
            "address": person.chance.randrange(1, 500),
        }
        person.put(fixture, ("addresses",), [address])


def repatch_a_universe(person: Person) -> None:
    universe = person.chance.choice([1, 2])
    for who in person.field_of_work:
        if who in person.show and person.show[who].kind == "fixture":
            (start,) = person.show[who].fields["addresses",]
            if start["universe"] == universe:
                person.put(who, ("addresses",), [{**start, "universe": universe + 4}])


def renumber_a_fixture(person: Person) -> None:
    fixture = person.pick("fixture")
    number = str(person.chance.randrange(200, 900))
    if fixture and person.is_free("fixture", "", number):
        person.show[fixture].number = number


def exchange_a_type(person: Person) -> None:
    fixture = person.pick("fixture")
    if fixture:
        person.put(fixture, ("type",), "spot")
        person.put(fixture, ("mode",), "8 bit")


def write_paperwork(person: Person) -> None:
    fixture = person.pick("fixture")
    if fixture:
        name = person.chance.choice(["position", "unit_number", "purpose", "circuit", "color"])
        person.put(fixture, (name,), f"{person.chance.choice(WORDS)} {person.number()}")


PROGRAMMING: tuple[Edit, ...] = (
    *[set_level] * 8,
    *[take_out_a_level, refer_to_a_preset, set_a_text, set_a_time, set_a_preset_level] * 2,
    *[set_a_follow, link_a_cue, rename, change_a_group],
)
LIGHTING: tuple[Edit, ...] = (
    *[set_level] * 6,
    *[take_out_a_level, refer_to_a_preset, set_a_preset_level],
)
COMING_AND_GOING: tuple[Edit, ...] = (add_a_cue, add_a_cue, remove_a_cue, record_a_preset)
RENUMBERING: tuple[Edit, ...] = (
    renumber_from_here,
    insert_and_push,
    move_a_preset,
    exchange_two_presets,
)
PATCHING: tuple[Edit, ...] = (
    *[readdress, write_paperwork] * 3,
    repatch_a_universe,
    renumber_a_fixture,
    exchange_a_type,
    change_a_group,
)
