"""What the observer saw: the closed set of it."""

from pathlib import Path

import msgspec


class Touched(msgspec.Struct, frozen=True):
    """Something may have happened to this file."""

    path: Path
    closed: bool = False
    """Its writer was done with it."""


class Vanished(msgspec.Struct, frozen=True):
    """The file is not there any more, in a folder that is."""

    path: Path


class Away(msgspec.Struct, frozen=True):
    """What is watched is out of sight."""

    path: Path
    reason: str


class Back(msgspec.Struct, frozen=True):
    """What is watched is in sight again."""

    path: Path


class Replaced(msgspec.Struct, frozen=True):
    """Another folder stands in place of the watched one."""

    path: Path


class Deaf(msgspec.Struct, frozen=True):
    """Notices are given up; from here on it polls."""

    reason: str


class Restarted(msgspec.Struct, frozen=True):
    """Notices had failed and come again."""

    what: str


Sighting = Touched | Vanished | Away | Back | Replaced | Deaf | Restarted
