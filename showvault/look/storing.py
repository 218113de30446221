"""What one cue stores for a parameter, once its parts are put together.

- The cue's own levels are part 1; where two parts store one parameter, the highest part wins.
- A preset that holds nothing for the fixture counts as not stored, so a lower part shows through.
"""

from collections.abc import Iterator
from typing import NamedTuple

from msgspec import UnsetType

from showvault.show.addressing import place_order
from showvault.show.model import Cue, CueList, Part, Show, Value


class Stored(NamedTuple):
    """A value as it stands in a cue."""

    part: str
    """The part's number; the cue's own levels are "1"."""
    holder: Part
    value: Value


def parts_in_order(cue: Cue) -> Iterator[tuple[str, Part]]:
    """Yield the parts of a cue, the cue itself as part 1 first, the one that wins last."""
    yield "1", cue
    parts = cue.parts or {}
    for number in sorted(parts, key=place_order):
        yield number, parts[number]


def stored_values(cue: Cue, fixture: str, attribute: str) -> list[Stored]:
    """Return what a cue stores for one parameter, the value that wins first."""
    found = []
    for number, part in parts_in_order(cue):
        levels = part.levels
        if isinstance(levels, UnsetType) or fixture not in levels:
            continue
        value = levels[fixture].get(attribute)
        if value is not None:
            found.append(Stored(number, part, value))
    return found[::-1]


def list_of(show: Show, number: str) -> CueList | None:
    """Return a cue list of a show; None where there is none."""
    return (show.cue_lists or {}).get(number)


def is_tracking(cue_list: CueList) -> bool:
    """Tell whether a list tracks; a list that does not say so does (show format)."""
    return cue_list.tracking is not False
