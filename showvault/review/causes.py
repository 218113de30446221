"""Because of what a picture differs: the closed set of causes, each naming its source.

A cause is an edit that can be undone: put it back, and the difference that it explains is gone.
"""

from dataclasses import dataclass
from typing import NamedTuple, TypeAlias

from showvault.show.addressing import Thing


class Reach(NamedTuple):
    """How far an edit changes a list: from the first cue to the last one, and where it stops."""

    first: str
    last: str
    stops_at: str | None
    """The next cue of the list, which is as it was; None where it runs to the end of the list."""


@dataclass(frozen=True)
class Edited:
    """A value that this very cue stores; for a list, its kind of tracking."""

    source: Thing


@dataclass(frozen=True)
class Tracks:
    """A value that an earlier cue stores."""

    source: Thing


@dataclass(frozen=True)
class ThroughPreset:
    """A preset that the stored value refers to."""

    source: Thing


@dataclass(frozen=True)
class CueRemoved:
    """A cue of the old show that stored a value is gone."""

    source: Thing


@dataclass(frozen=True)
class CueAdded:
    """A cue that the old show did not have stores a value."""

    source: Thing


@dataclass(frozen=True)
class CueMoved:
    """A cue that stores a value, or the cue itself, stands at another number."""

    source: Thing
    from_: Thing


@dataclass(frozen=True)
class TypeChanged:
    """The fixture, or its type, is another one or has other defaults."""

    source: Thing


Cause: TypeAlias = Edited | Tracks | ThroughPreset | CueRemoved | CueAdded | CueMoved | TypeChanged
