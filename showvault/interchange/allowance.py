"""What reading one file may cost altogether, however many parts it has and whatever they repeat.

A limit for each part is none: twenty thousand small archives inside one unpack to as many large
descriptions, and a name that is written once may be referred to a million times.
"""

from dataclasses import dataclass

from showvault.interchange.loss_book import LossBook
from showvault.interchange.reader import CannotReadError


class TooLargeError(CannotReadError):
    """A file holds more than any of its kind that somebody works with."""


LONGEST_NAME = 500
"""Characters of a name that other things refer to; a show writes it out wherever they do."""


def name_that_repeats(name: str, book: LossBook, what: str) -> str:
    """Return a name that may stand in a show any number of times; the end of an endless one is
    entered as lost."""
    if len(name) <= LONGEST_NAME:
        return name
    book.add(f"ends of names of more than {LONGEST_NAME} characters", what)
    return name[:LONGEST_NAME]


@dataclass
class Allowance:
    """What may still come out of a file."""

    bytes: int = 1024 * 1024 * 1024
    """Unpacked."""
    channels: int = 500_000
    """Channels and functions of fixture types, laid out; a large rig has some ten thousand."""

    def take_channels(self, count: int, where: str) -> None:
        """Take some channels. Raises TooLargeError where there are not so many left."""
        self.channels -= count
        if self.channels < 0:
            raise TooLargeError(f"{where}: there are more channels than any rig has")
