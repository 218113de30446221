"""Whether files of a kind prove that they are complete, as far as it is known by their suffix."""

from pathlib import Path

from showvault.watch.settling import Kind

AT_MOST = 256
"""Suffixes that are remembered."""


class KnownKinds:
    """What files of a suffix turned out to be; unknown ones pass for formats that prove themselves,
    because those are looked into first and made to rest longer if they do not."""

    def __init__(self) -> None:
        self._kinds: dict[str, Kind] = {}

    def kind_of(self, path: Path) -> Kind:
        """What is known of files like this one."""
        return self._kinds.get(path.suffix.lower(), "proving")

    def learn(self, path: Path, kind: Kind) -> None:
        """A file like this one was looked into."""
        if len(self._kinds) < AT_MOST or path.suffix.lower() in self._kinds:
            self._kinds[path.suffix.lower()] = kind
