"""What the vault holds already, so that the same bytes are not kept twice."""

from dataclasses import dataclass, field

from showvault.flows.incoming import IncomingFile
from showvault.vault.store import Store
from showvault.vault.versions import Version, list_versions


@dataclass
class KnownVersions:
    """The newest versions of a vault, and the newest bytes of each file."""

    store: Store
    head: str | None = None
    newest: Version | None = None
    newest_good: Version | None = None
    newest_show: Version | None = None
    _last: dict[str, tuple[int, str]] = field(default_factory=dict)
    """Size and SHA-256 of the newest bytes of each path."""
    _aside: dict[tuple[str, str], Version] = field(default_factory=dict)
    _ever: set[str] = field(default_factory=set)
    _shows: set[str] = field(default_factory=set)

    def look_again(self) -> None:
        """Learn what the vault holds, where somebody published since the last look."""
        head = self.store.head()
        if head == self.head and head is not None:
            return
        self.newest = self.newest_good = self.newest_show = None
        self._last, self._aside, self._ever, self._shows = {}, {}, set(), set()
        for version in reversed(list_versions(self.store)):
            self.learn(version)
        self.head = head

    def forget(self) -> None:
        """Make the next look a whole one."""
        self.head = None

    def learn(self, version: Version) -> None:
        """Take note of a version, newer than all before."""
        self.head = version.commit
        self.newest = version
        if version.good:
            self.newest_good = version
            if version.show_file is not None:
                self.newest_show = version
                self._shows.add(version.show_file.path)
        for file in version.files:
            if version.good:
                self._last[file.path] = (file.size, file.sha256)
            else:
                self._aside[file.path, file.sha256] = version
            self._ever.add(file.sha256)

    def has_name(self, path: str) -> bool:
        """Tell whether a file of this path was ever part of a good version."""
        return path in self._last

    def was_the_show(self, path: str) -> bool:
        """Tell whether a file of this path was the show of a good version, and not beside it."""
        return path in self._shows

    def note_name(self, one: IncomingFile) -> None:
        """Remember another name for bytes that are kept."""
        self._last[one.path] = (len(one.file.data), one.sha256)

    def find_set_aside(self, path: str, sha256: str) -> Version | None:
        """Return the version in which these bytes of this file were set aside, if there is one."""
        return self._aside.get((path, sha256))

    def is_old_news(self, one: IncomingFile) -> bool:
        """Tell whether these bytes are kept already and nobody went back to them.

        A file under a new name with the bytes of an older version is a step back when it is newer
        than the newest version, and an old file lying about when it is not.
        """
        if one.path in self._last:
            size, sha256 = self._last[one.path]
            return size == len(one.file.data) and sha256 == one.sha256
        if one.sha256 not in self._ever:
            return False
        newest = self.newest_show
        shown = newest.show_file if newest is not None else None
        if newest is None or shown is None or shown.sha256 == one.sha256:
            return True
        return one.file.identity.mtime_ns < newest.moment.timestamp() * 1e9
