"""Small shows for tests, as plain trees: a test names what it is about, the rest is ordinary.

The house of these shows is invented: dimmers 1 to 4 over the stage, wash lights 101 to 103.
"""

from typing import Any

from showvault.show.writing import write_show

Tree = Any


def a_channel(attribute: str = "Dimmer", *slots: int, **more: Tree) -> Tree:
    """A channel; without slots it takes the first one."""
    return {"attribute": attribute, "slots": list(slots or (1,)), **more}


def a_type(*channels: Tree, mode: str = "8 bit", cells: Tree = None, **more: Tree) -> Tree:
    """A fixture type with one mode; without channels it is a plain dimmer."""
    described: dict[str, Tree] = {"channels": list(channels) or [a_channel()]}
    if cells is not None:
        described["cells"] = {
            number: {"channels": of_cell} for number, of_cell in sorted(cells.items())
        }
    return {"modes": {mode: described}, **more}


def a_dimmer_type(**more: Tree) -> Tree:
    """A one-slot dimmer."""
    return a_type(a_channel("Dimmer", 1), name="Dimmer", **more)


def a_wash_type(**more: Tree) -> Tree:
    """A moving wash light of nine slots: 16-bit intensity, three emitters, 16-bit pan and tilt."""
    return a_type(
        a_channel("Dimmer", 1, 2, default=0, highlight=100),
        a_channel("ColorAdd_R", 3, default=100),
        a_channel("ColorAdd_G", 4, default=100),
        a_channel("ColorAdd_B", 5, default=100),
        a_channel("Pan", 6, 7, default=50, range=[-270, 270], unit="deg"),
        a_channel("Tilt", 8, 9, default=50, range=[-135, 135], unit="deg"),
        mode="16 bit",
        name="LED wash",
        **{"hazards": ["moving"], **more},
    )


def a_fixture(
    type: str = "dimmer",
    mode: str = "8 bit",
    universe: int | None = 1,
    address: int = 1,
    **more: Tree,
) -> Tree:
    """A patched fixture; universe None leaves it unpatched."""
    if universe is None:
        return {"type": type, "mode": mode, **more}
    where = {"universe": universe, "address": address}
    return {"type": type, "mode": mode, "addresses": [where], **more}


def a_cue(levels: Tree = None, **more: Tree) -> Tree:
    """A cue; ``levels`` as in the format: {"101": {"Dimmer": 65}}."""
    return {"fade_in": 3, **({} if levels is None else {"levels": levels}), **more}


def a_list(cues: Tree, **more: Tree) -> Tree:
    """A tracking cue list."""
    return {"name": "Main", "cues": cues, **more}


def a_show(**sections: Tree) -> Tree:
    """A show with these sections and nothing else."""
    return {"format": "neutral-show", "format_version": 1, **sections}


def a_rig(**sections: Tree) -> Tree:
    """A show with the patch of the invented house, and these sections."""
    dimmers = {str(n): a_fixture(address=n) for n in range(1, 5)}
    washes = {
        str(n): a_fixture("wash", "16 bit", universe=2, address=1 + 20 * (n - 101))
        for n in range(101, 104)
    }
    return a_show(
        **{
            "fixture_types": {"dimmer": a_dimmer_type(), "wash": a_wash_type()},
            "patch": {**dimmers, **washes},
            **sections,
        }
    )


def a_show_of_cues(cues: Tree, **sections: Tree) -> Tree:
    """The rig with one tracking list 1 of these cues."""
    return a_rig(**{"cue_lists": {"1": a_list(cues)}, **sections})


def a_full_show() -> Tree:
    """A small show with every kind of thing in it, sound enough to pass the check."""
    return a_rig(
        title="The Long Night",
        venue="the studio",
        capacity={"universes": 4, "pages": 10, "slots_per_page": 20, "playbacks_per_page": 10},
        curves={"2": {"name": "Preheat", "points": [[0, 4], [100, 100]]}},
        groups={"1.1": {"name": "Wash", "fixtures": [101, 102, 103]}},
        presets={
            "Color": {
                "1.3": {
                    "name": "Amber",
                    "types": {"wash": {"ColorAdd_R": 100, "ColorAdd_G": 60, "ColorAdd_B": 0}},
                }
            }
        },
        effects={
            "1.1": {
                "name": "Slow swell",
                "wave": "sine",
                "cycle_seconds": 4,
                "attributes": {"Dimmer": {"low": 20, "high": 80}},
                "fixtures": [101, 102],
            }
        },
        macros={"1.1": {"name": "House open", "steps": ["preset the house"]}},
        submasters={"1": {"name": "Lightning", "levels": {"4": {"Dimmer": 100}}}},
        cue_lists={
            "1": a_list(
                {
                    "1": a_cue({"1": {"Dimmer": 50}, "101": {"Dimmer": 65}}, label="House to half"),
                    "2": a_cue(
                        {"101": {"ColorAdd_R": {"preset": "Color 1.3"}}},
                        label="Storm breaks",
                        follow={"from": "end", "seconds": 2},
                        effects={"1.1": {"state": "start"}},
                    ),
                    "2.5": a_cue(
                        {"102": {"Dimmer": {"level": 40, "fade": 2}}},
                        parts={"2": {"fade_in": 12, "levels": {"2": {"Dimmer": 80}}}},
                    ),
                }
            )
        },
        playbacks={"1.1": {"cue_list": "1", "name": "Main"}},
    )


def as_bytes(tree: Tree) -> bytes:
    """The canonical bytes of a tree."""
    return write_show(tree)
