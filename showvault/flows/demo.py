"""What the demonstration saves: a short programming session on the sample musical.

Each save stands on the one before it, as at a desk; one stops in the middle of the file.
"""

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

from showvault.errors import ShowvaultError
from showvault.show.addressing import cue_order
from showvault.show.trees import Tree, parse_part
from showvault.show.writing import write_show

SHOW_FILE = "harvest_musical.json"
"""The name under which the session saves."""

_FRONT_WARM = ("1", "2", "3", "4", "5", "6")
_WASHES = tuple(str(number) for number in range(201, 213))


class NotTheDemoShowError(ShowvaultError):
    """The show lacks what the session works on."""

    def __init__(self, missing: str) -> None:
        super().__init__(
            f"the demonstration needs its own sample show: this one lacks {missing}",
            hint="install showvault again; the sample shows come with it",
        )
        self.missing = missing


@dataclass(frozen=True)
class DemoSave:
    """One save of the session: what was done, the bytes, and whether they are the whole file."""

    title: str
    data: bytes
    whole: bool


def demo_saves(evening: bytes) -> list[DemoSave]:
    """Return the saves of the session; the same show gives the same bytes.

    Raises NotTheDemoShowError for a show without the things that the session edits.
    """
    show = parse_part(evening)
    try:
        _trim_front_warm(show)
        trimmed = write_show(show)
        _warm_the_amber(show)
        warmed = write_show(show)
        _move_washes_to_universe_6(show)
        repatched = write_show(show)
        _insert_a_cue(show)
        inserted = write_show(show)
    except (KeyError, IndexError, TypeError) as error:
        raise NotTheDemoShowError(str(error)) from None
    return [
        DemoSave("front warm down 10 points in cues 6 to 9.5", trimmed, whole=True),
        DemoSave("Color preset page 1 slot 3, Harvest amber, made redder", warmed, whole=True),
        DemoSave("the washes to universe 6, but the save stops half-way", _half(repatched), False),
        DemoSave("the same save again, to its end", repatched, whole=True),
        DemoSave("cue 57.5 inserted", inserted, whole=True),
    ]


def play_session(folder: Path, evening: bytes, save: Callable[[Path, DemoSave], None]) -> None:
    """Hand every save to ``save``, in order, with the file of ``folder`` that it is meant for."""
    for demo_save in demo_saves(evening):
        save(folder / SHOW_FILE, demo_save)


def _half(data: bytes) -> bytes:
    return data[: len(data) * 3 // 5]


def _trim_front_warm(show: Tree) -> None:
    for number, cue in show["cue_lists"]["1"]["cues"].items():
        if not cue_order("6") <= cue_order(number) <= cue_order("9.5"):
            continue
        for fixture in _FRONT_WARM:
            stored = cue.get("levels", {}).get(fixture)
            if stored is not None:
                stored["Dimmer"] -= 10


def _warm_the_amber(show: Tree) -> None:
    types = show["presets"]["Color"]["1.3"]["types"]
    types["wash"]["ColorAdd_G"] = 52
    types["wash"]["ColorAdd_W"] = Decimal("27.5")
    types["spot"]["ColorSub_M"] = 28


def _move_washes_to_universe_6(show: Tree) -> None:
    for number in _WASHES:
        show["patch"][number]["addresses"][0]["universe"] = 6


def _insert_a_cue(show: Tree) -> None:
    cues = show["cue_lists"]["1"]["cues"]
    cues["57.5"] = {
        "label": "Ottoline lifts her hood",
        "scene": cues["57"]["scene"],
        "script_page": "33",
        "called_on": "visual: hood",
        "fade_in": 4,
        "levels": {"103": {"Dimmer": 35}, "203": {"Dimmer": 40}, "204": {"Dimmer": 40}},
    }
