"""What becomes a version, and what it holds: the flow from settled files to "kept".

- The show of a version is the newest readable show file; files saved under ever new names in one
  place are one show's history. Everything beside it is kept byte for byte in the same version.
- A file whose bytes are already the newest kept ones of its name makes no version.
- A show of a second, different production is kept as it is and pointed out; it is not the show.
- Describing comes when the bytes are in hand and before they are published, within a time limit;
  whatever fails there is a note.
"""

import hashlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import TypeVar

from showvault.files.reading import SettledFile, is_gone
from showvault.flows.aftercheck import check_kept
from showvault.flows.describing import Describer
from showvault.flows.formats_beside import say_another_format
from showvault.flows.incoming import ChooseReader, IncomingFile, name_of, read_incoming
from showvault.flows.known import KnownVersions
from showvault.flows.outcomes import Kept, Saying, SetAside, Unchanged
from showvault.flows.production import say_another_production
from showvault.flows.remaking import make_from_plain_files
from showvault.flows.stored import show_of_version
from showvault.flows.succession import HeldShow, Succession, after_held, after_stored, held_in
from showvault.flows.undisturbed import undisturbed
from showvault.flows.words import find_words
from showvault.show.reading import Wholeness
from showvault.show.recutting import Recut
from showvault.vault.checking import mend_vault
from showvault.vault.git import DamagedHistoryError
from showvault.vault.housekeeping import housekeep
from showvault.vault.opening import Vault
from showvault.vault.publishing import PendingVersion, StaleHeadError, publish_version
from showvault.vault.reader import MissingObjectError
from showvault.vault.versions import DamagedVersionError, Version, VersionFile

TRIES = 5
"""How often a save is worked out anew because somebody else published in between."""

NOTHING_SAID = Saying()

T = TypeVar("T")


@dataclass(frozen=True)
class _Held:
    """The show that was kept last, still in memory."""

    commit: str
    show: HeldShow


@dataclass
class Keeper:
    """Keeps what settled, in one vault, in one person's name."""

    vault: Vault
    who: str
    choose_reader: ChooseReader
    describer: Describer
    known: KnownVersions = field(init=False)
    _held: "_Held | None" = field(default=None, init=False)
    _checked: str = field(default="", init=False)
    _said: str = field(default="", init=False)
    _repairs: int = field(default=0, init=False)
    """How many of the vault's repairs were told; those of its opening are told by who opened it."""

    def __post_init__(self) -> None:
        self.known = KnownVersions(self.vault.store)
        self._repairs = len(self.vault.repairs)
        self.vault.rebuild = partial(make_from_plain_files, self.vault, self.choose_reader)

    def judge(self, path: Path, data: bytes) -> Wholeness:
        """Tell whether the file is complete, as far as its format can prove it."""
        return self.choose_reader(path.name, data).judge(data)

    def keep(
        self, files: Sequence[SettledFile], *, when: datetime, saying: Saying = NOTHING_SAID
    ) -> list[Kept | Unchanged]:
        """Keep whole files that settled together; what comes back as kept is safe.

        Several show files become a version each, those of one format oldest first; the others join
        the last version.
        Raises ShowvaultError where the disk or the vault refuses: nothing that was kept is lost.
        """
        last = self._held.show if self._held is not None else None
        with undisturbed():
            incoming = [read_incoming(file, self.choose_reader, last) for file in files]
            return self._keep_incoming(incoming, when, saying)

    def keep_beside(
        self, files: Sequence[SettledFile], *, when: datetime, saying: Saying = NOTHING_SAID
    ) -> list[Kept | Unchanged]:
        """Keep the bytes of files that are none of the show's, shows though they may be."""
        incoming = [read_incoming(file, self.choose_reader).as_opaque() for file in files]
        return self._keep_incoming(incoming, when, saying)

    def knows(self, path: Path) -> bool:
        """Tell whether a file of this path is one of the show's."""
        self.known.look_again()
        return self.known.has_name(name_of(path))

    def newest(self) -> Version | None:
        """Return the newest good version, whoever kept it."""
        self.known.look_again()
        return self.known.newest_good

    def _keep_incoming(
        self, incoming: Sequence[IncomingFile], when: datetime, saying: Saying
    ) -> list[Kept | Unchanged]:
        shows = sorted(
            (one for one in incoming if one.cut is not None),
            # Of several formats the one that holds most comes first: it is the show from then on.
            key=lambda one: (one.role != "show", one.file.identity.mtime_ns, one.path),
        )
        others = [one for one in incoming if one.cut is None]
        outcomes: list[Kept | Unchanged] = []
        for batch in (*([show] for show in shows[:-1]), [*shows[-1:], *others]):
            keep_it = partial(self._keep_batch, batch, when, saying)
            outcomes += self._until_not_stale(keep_it) if batch else []
        return outcomes

    def set_aside(self, file: SettledFile, reason: str, *, when: datetime) -> SetAside | Unchanged:
        """Keep the bytes of a file that is not whole; the last good version stays the newest."""
        return self._until_not_stale(lambda: self._set_aside(file, reason, when))

    def afterwards(self) -> list[str]:
        """Tidy the vault and check the show that was kept; return what is worth telling, once."""
        told = [str(repair) for repair in self.vault.repairs[self._repairs :]]
        told += housekeep(self.vault)
        self._repairs = len(self.vault.repairs)
        if self._held is not None and self._held.commit != self._checked:
            self._checked = self._held.commit
            said = check_kept(self._held.show.cut)
            if said and said != self._said:
                told.append(said)
            self._said = said
        return told

    def get_ready(self) -> None:
        """Do now what would hold up the next save; for who keeps more than one.

        Raises what reading the newest show does, if that is not in memory yet.
        """
        if self._held is None:
            self._held = self._read_newest_show()
        if self._held is not None:
            self._held.show.get_ready()

    def _read_newest_show(self) -> "_Held | None":
        self.known.look_again()
        version = self.known.newest_show
        if version is None:
            return None
        store = self.vault.store
        show = held_in(store.tree(version.commit), show_of_version(store, version))
        if show is None:
            return None
        self._checked = version.commit  # whoever kept it did
        return _Held(version.commit, show)

    def _until_not_stale(self, attempt: Callable[[], T]) -> T:
        mended = False
        for _ in range(TRIES - 1):
            try:
                return attempt()
            except StaleHeadError:
                self.known.forget()
            except (MissingObjectError, DamagedVersionError, DamagedHistoryError):
                if mended:
                    raise
                # The newest version is damaged; where it cannot be mended, an older one is next.
                mended = True
                mend_vault(self.vault)
                self.known.forget()
        return attempt()

    def _keep_batch(
        self, batch: Sequence[IncomingFile], when: datetime, saying: Saying
    ) -> list[Kept | Unchanged]:
        known = self.known
        known.look_again()
        fresh = [one for one in batch if not known.is_old_news(one)]
        if not fresh and known.newest is not None:
            newest = known.newest_good or known.newest
            for one in batch:
                known.note_name(one)
            return [Unchanged(newest, one.file.path) for one in batch]
        fresh = [self._unless_another_show(one) for one in fresh]
        if known.newest_show is not None:
            fresh = [one.after_reader(known.newest_show.reader) for one in fresh]
        show = next((one for one in fresh if one.cut is not None), None)
        following = None if show is None or show.recut is None else self._follow(show.recut)
        version = publish_version(self.vault, self._pending(fresh, show, following, when, saying))
        known.learn(version)
        if following is not None:
            self._held = _Held(version.commit, following.show)
        return [Kept(version, one.file.path, one.sha256, one.notes) for one in fresh]

    def _unless_another_show(self, one: IncomingFile) -> IncomingFile:
        newest = self.known.newest_show
        if one.cut is None or newest is None or self.known.was_the_show(one.path):
            return one
        store = self.vault.store
        said = say_another_production(one, store.tree(newest.commit), store)
        said = said or say_another_format(one, newest, self._still_there)
        return one.as_opaque(said) if said else one

    def _pending(
        self,
        fresh: Sequence[IncomingFile],
        show: IncomingFile | None,
        following: Succession | None,
        when: datetime,
        saying: Saying,
    ) -> PendingVersion:
        before = self.known.newest_show
        files = self._files(fresh, show)
        # A save of the show's own name that cannot be cut leaves no show in the version.
        described = any(file.makes_show for file in files)
        sound = described and before is not None and before.understood
        return PendingVersion(
            parent=self.known.head,
            changed=following.changed if following else {},
            removed=following.removed if following else (),
            differences=following.differences if following else {},
            files=files,
            fresh={one.path: one.file.data for one in fresh},
            time=when,
            who=self.who,
            good=True,
            reader=show.reader if show else before.reader if before else "",
            words=lambda: find_words(
                fresh,
                following,
                saying,
                sound=sound,
                describer=self.describer,
                read_blob=self.vault.store.read_blob,
            ),
        )

    def _follow(self, recut: Recut) -> Succession:
        """Hold a show against the last one, in memory if that is still the last."""
        newest = self.known.newest_show
        if self._held is not None and newest is not None and self._held.commit == newest.commit:
            return after_held(self._held.show, recut)
        return after_stored(self.vault.store.tree(self.known.head), recut.cut)

    def _files(
        self, fresh: Sequence[IncomingFile], show: IncomingFile | None
    ) -> tuple[VersionFile, ...]:
        """Return the files of the version: the fresh ones, and what was there and still is."""
        mine = {one.path: one.as_version_file() for one in fresh}
        before = self.known.newest_good.files if self.known.newest_good else ()
        carried = [
            file
            for file in before
            if file.path not in mine
            and (show is None if file.makes_show else self._still_there(file))
        ]
        return (*mine.values(), *carried)

    def _still_there(self, file: VersionFile) -> bool:
        """Tell whether a file lies in a watched place yet; one kept before a restore does not."""
        path = Path(file.path)
        watched = map(Path, self.vault.description.watched)
        return any(map(path.is_relative_to, watched)) and not is_gone(path)

    def _set_aside(self, file: SettledFile, reason: str, when: datetime) -> SetAside | Unchanged:
        self.known.look_again()
        sha256 = hashlib.sha256(file.data).hexdigest()
        path = file.path
        before = self.known.find_set_aside(name_of(path), sha256)
        if before is not None:
            return Unchanged(before, path)
        aside = VersionFile(
            path=name_of(path),
            name=name_of(path.name),
            size=len(file.data),
            sha256=sha256,
            role="set_aside",
            saved_ns=file.identity.mtime_ns,
        )
        summary = f"set aside: {aside.name} is not whole: {reason}"
        version = publish_version(
            self.vault,
            PendingVersion(
                parent=self.known.head,
                changed={},
                removed=(),
                files=(aside,),
                fresh={aside.path: file.data},
                time=when,
                who=self.who,
                summary=summary,
                good=False,
                understood=False,
                reason=reason,
                message=summary,
            ),
        )
        self.known.learn(version)
        return SetAside(version, path, sha256, reason)
