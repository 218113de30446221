"""The show of a version as it is read today: what was stored of it is a cache of its bytes.

A version names the reader that made its show. Where a newer reader is at hand, or one that is set
otherwise, the bytes that were kept are read again; the version itself stays as it is.
"""

from collections.abc import Callable
from dataclasses import dataclass

from showvault.errors import ShowvaultError
from showvault.flows.incoming import maker_of
from showvault.flows.stored import (
    bytes_of_file,
    parts_like_stored,
    parts_of_version,
    show_of_version,
)
from showvault.interchange.reader import Reader
from showvault.show.parts import ShowParts, cut_file
from showvault.show.writing import write_show
from showvault.vault.store import Store
from showvault.vault.versions import Version


@dataclass(frozen=True)
class ReadingAgain:
    """Reads versions as the readers of today do."""

    store: Store
    choose_reader: Callable[[str, bytes], Reader]
    tell: Callable[[str], None]
    """Hears one sentence for each version that is read again, or cannot be."""

    def show(self, version: Version) -> bytes:
        """Return the neutral show of a version; raises NoShowError where it has none."""
        again = self._read_again(version)
        return show_of_version(self.store, version) if again is None else again

    def parts(self, version: Version) -> ShowParts:
        """Return the things of a version's show; raises NoShowError where it has none."""
        again = self._read_again(version)
        if again is None:
            return parts_of_version(self.store, version)
        return parts_like_stored(cut_file(again, f"version {version.number}"))

    def _read_again(self, version: Version) -> bytes | None:
        """Return what today's reader makes of a version; None where the stored show is that."""
        file = version.show_file
        if file is None or file.role != "source" or not version.good:
            return None
        data = bytes_of_file(self.store, version, file)
        reader = self.choose_reader(file.name, data)
        maker = maker_of(reader)
        if maker == version.reader:
            return None
        number = version.number
        try:
            show = reader.read(data, {}).show
        except ShowvaultError as error:
            show, reason = None, str(error)
        else:
            reason = "it finds no show"
        if show is None:
            self.tell(f"version {number} is told as {version.reader} read it: {maker}: {reason}")
            return None
        self.tell(f"version {number} was read by {version.reader}; read again by {maker}")
        return write_show(show)
