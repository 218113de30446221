"""Versions that somebody else kept in the same vault while this watcher ran: by hand, by a restore.

Without them the watcher would name an older version as the last one.
"""

from collections.abc import Callable, Iterator
from datetime import datetime

from showvault.vault.versions import Version
from showvault.watch.events import Kept, KeptElsewhere, Note, SetAside, WatchEvent


class OthersVersions:
    """Finds, of all versions, those that this watcher has not told of itself.

    ``newest`` returns the newest good version of the vault; it has to be cheap where nothing is
    new.
    """

    def __init__(self, newest: Callable[[], Version | None]) -> None:
        self._newest = newest
        self._told: int | None = None
        self._failure = ""

    def heed(self, event: WatchEvent) -> None:
        """Take note of a version that this watcher tells of."""
        match event:
            case Kept(number=number) | SetAside(number=number):
                self._told = max(self._told or 0, number)

    def look(self, moment: datetime) -> Iterator[WatchEvent]:
        """Tell of a version that is newer than all that were told; the first look only learns."""
        try:
            newest = self._newest()
        except Exception as error:  # the next save says what is wrong with the vault
            text = f"the vault could not be looked at: {error}"
            if text != self._failure:
                self._failure = text
                yield Note(time=moment, text=text)
            return
        self._failure = ""
        number = newest.number if newest is not None else 0
        told, self._told = self._told, max(self._told or 0, number)
        if newest is not None and told is not None and number > told:
            yield KeptElsewhere(
                time=moment,
                number=number,
                summary=newest.summary,
                of_the_show=newest.renews_show,
            )
