"""The faults of the format in a whole show, found in a fraction of the time of a patient walk.

Each part is first held against its type and a few telltale signs at once; only what is not beyond
doubt is walked through. What comes out is what show.reading.find_faults says, in the order of a
show.
"""

from showvault.show.addressing import Thing, thing_order
from showvault.show.cutting import cut_into_parts
from showvault.show.faults import Fault
from showvault.show.places import split_path
from showvault.show.reading import find_faults
from showvault.show.understanding import (
    STRICTLY_READ_BYTES,
    find_faults_of_outline,
    find_faults_of_parts,
)

_SHOW = Thing("show", "")
_WHAT_IT_IS = ("", "/format", "/format_version")
"""Where a fault means that this may be no show at all, or one of another version."""


def find_faults_in_order(data: bytes) -> list[Fault]:
    """Return every fault of a whole show, in the order of a show.

    Raises NotWholeError where the bytes stop before their end.
    """
    return sorted(_find(data), key=lambda fault: thing_order(_thing_of(fault)))


def _find(data: bytes) -> list[Fault]:
    cut = cut_into_parts(data)
    if cut is None or not _is_utf_8(data):
        return find_faults(data)
    if any(len(part) > STRICTLY_READ_BYTES for part in cut.parts.values()):
        return find_faults(data)
    faults = find_faults_of_outline(cut.skeleton)
    if any(fault.pointer in _WHAT_IT_IS for fault in faults):
        return find_faults(data)
    for thing, name in cut.names.items():
        faults += find_faults_of_parts({thing: cut.parts[name]})
    return faults


def _is_utf_8(data: bytes) -> bool:
    try:
        return data.isascii() or data.decode() != ""
    except UnicodeDecodeError:
        return False


def _thing_of(fault: Fault) -> Thing:
    tokens = [token.replace("~1", "/").replace("~0", "~") for token in fault.pointer.split("/")[1:]]
    return split_path(tokens)[0] or _SHOW
