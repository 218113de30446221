"""What becomes a version, and what it holds: the flow from settled files to "kept".

- The show of a version is the newest readable show file; files saved under ever new names in one
  place are one show's history. Everything beside it is kept byte for byte in the same version.
- A file whose bytes are already the newest kept ones of its name makes no version.
- A show of a second, different production is kept as it is and pointed out; it is not the show.
- Describing comes when the bytes are in hand and before they are published, within a time limit;
  whatever fails there is a note.
"""

import hashlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import TypeVar

from showvault.files.reading import SettledFile
from showvault.flows.describing import Describer, ReadBlob
from showvault.flows.incoming import ChooseReader, IncomingFile, read_incoming
from showvault.flows.known import KnownVersions
from showvault.flows.stored import SHOW_FOLDER, SKELETON, parts_in_tree
from showvault.show.cutting import CutShow, skeleton_as_json
from showvault.show.faults import Fault
from showvault.show.parts import ShowParts, parts_of
from showvault.show.reading import Wholeness
from showvault.show.trees import parse_part
from showvault.show.understanding import find_faults_of_outline, find_faults_of_parts
from showvault.vault.housekeeping import housekeep
from showvault.vault.opening import Vault
from showvault.vault.publishing import PendingVersion, StaleHeadError, publish_version
from showvault.vault.store import blob_id
from showvault.vault.versions import Version, VersionFile

TRIES = 5
"""How often a save is worked out anew because somebody else published in between."""

ANOTHER_PRODUCTION = 0.1
"""Below this share of equal parts, a show with another title is another production."""

T = TypeVar("T")


@dataclass(frozen=True)
class Kept:
    """A version is safe."""

    version: Version
    path: Path
    sha256: str
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Unchanged:
    """These bytes are kept already."""

    version: Version
    path: Path


@dataclass(frozen=True)
class SetAside:
    """The bytes of a file that is not whole are safe, out of the good versions' way."""

    version: Version
    path: Path
    sha256: str
    reason: str


@dataclass(frozen=True)
class Saying:
    """What a person says of a version that is taken by hand."""

    note: str = ""
    summary: str = ""
    """In place of the description of what changed, if given."""


NOTHING_SAID = Saying()


@dataclass
class Keeper:
    """Keeps what settled, in one vault, in one person's name."""

    vault: Vault
    who: str
    choose_reader: ChooseReader
    describer: Describer
    known: KnownVersions = field(init=False)

    def __post_init__(self) -> None:
        self.known = KnownVersions(self.vault.store)

    def judge(self, path: Path, data: bytes) -> Wholeness:
        """Tell whether the file is complete, as far as its format can prove it."""
        return self.choose_reader(path.name, data).judge(data)

    def keep(
        self, files: Sequence[SettledFile], *, when: datetime, saying: Saying = NOTHING_SAID
    ) -> list[Kept | Unchanged]:
        """Keep whole files that settled together; what comes back as kept is safe.

        Several show files become a version each, oldest first; the others join the last version.
        Raises ShowvaultError where the disk or the vault refuses: nothing that was kept is lost.
        """
        return self._keep_incoming(
            [read_incoming(file, self.choose_reader) for file in files], when, saying
        )

    def keep_beside(
        self, files: Sequence[SettledFile], *, when: datetime, saying: Saying = NOTHING_SAID
    ) -> list[Kept | Unchanged]:
        """Keep the bytes of files that are none of the show's, shows though they may be."""
        incoming = [read_incoming(file, self.choose_reader).as_opaque() for file in files]
        return self._keep_incoming(incoming, when, saying)

    def knows(self, path: Path) -> bool:
        """Tell whether a file of this path is one of the show's."""
        self.known.look_again()
        return self.known.has_name(str(path))

    def _keep_incoming(
        self, incoming: Sequence[IncomingFile], when: datetime, saying: Saying
    ) -> list[Kept | Unchanged]:
        shows = sorted(
            (one for one in incoming if one.cut is not None),
            key=lambda one: (one.file.identity.mtime_ns, one.path),
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
        """Turn the ring and tidy the store; return what is worth telling."""
        return housekeep(self.vault)

    def _until_not_stale(self, attempt: Callable[[], T]) -> T:
        for _ in range(TRIES - 1):
            try:
                return attempt()
            except StaleHeadError:
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
        fresh = [self._unless_another_production(one) for one in fresh]
        version = publish_version(self.vault, self._pending(fresh, when, saying))
        known.learn(version)
        return [Kept(version, one.file.path, one.sha256, one.notes) for one in fresh]

    def _unless_another_production(self, one: IncomingFile) -> IncomingFile:
        newest = self.known.newest_show
        if one.cut is None or newest is None or self.known.has_name(one.path):
            return one
        tree = self.vault.store.tree(newest.commit)
        ours = _title(self.vault.store.read_blob(tree[SKELETON]))
        theirs = _title(one.cut.skeleton)
        parts = one.cut.parts
        equal = sum(tree.get(SHOW_FOLDER + name) == blob_id(data) for name, data in parts.items())
        if not ours or not theirs or ours == theirs or equal >= ANOTHER_PRODUCTION * len(parts):
            return one
        return one.as_opaque(
            f"{one.file.path.name} is another production ({theirs!r}, not {ours!r}): its bytes are "
            "kept here, but only a vault of its own will describe it"
        )

    def _pending(
        self, fresh: Sequence[IncomingFile], when: datetime, saying: Saying
    ) -> PendingVersion:
        known = self.known
        tree = self.vault.store.tree(known.head)
        show = next((one for one in fresh if one.cut is not None), None)
        before = known.newest_show
        changed: dict[str, bytes] = {}
        removed: tuple[str, ...] = ()
        faults: list[Fault] = []
        if show is not None and show.cut is not None:
            changed, removed = _what_to_write(show.cut, tree)
            faults = _faults(show.cut, changed, everything=before is None or not before.understood)
        understood = not faults if show is not None else before is not None and before.understood
        message = saying.summary or self._describe(fresh, show, tree)
        summary = message.partition("\n")[0]
        notes = [note for one in fresh for note in one.notes]
        return PendingVersion(
            parent=known.head,
            changed=changed,
            removed=removed,
            files=self._files(fresh, show),
            fresh={one.path: one.file.data for one in fresh},
            time=when,
            who=self.who,
            summary=summary,
            message=message,
            note="\n".join(filter(None, (saying.note, *notes, *_fault_notes(faults)))),
            good=True,
            understood=understood,
            reader=show.reader if show else before.reader if before else "",
        )

    def _describe(
        self, fresh: Sequence[IncomingFile], show: IncomingFile | None, tree: Mapping[str, str]
    ) -> str:
        if show is None or show.cut is None:
            return _say_files([one.file.path.name for one in fresh])
        cut = show.cut

        def sides(read: ReadBlob) -> tuple[ShowParts | None, ShowParts]:
            before = parts_in_tree(tree, read) if SKELETON in tree else None
            return before, parts_of(cut, blob_id)

        return self.describer.describe(sides, self.vault.store.read_blob)

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
            and (show is None if file.role in ("show", "source") else Path(file.path).exists())
        ]
        return (*mine.values(), *carried)

    def _set_aside(self, file: SettledFile, reason: str, when: datetime) -> SetAside | Unchanged:
        self.known.look_again()
        sha256 = hashlib.sha256(file.data).hexdigest()
        path = file.path
        if self.known.newest is not None and self.known.is_set_aside(str(path), sha256):
            return Unchanged(self.known.newest, path)
        aside = VersionFile(
            path=str(path), name=path.name, size=len(file.data), sha256=sha256, role="set_aside"
        )
        summary = f"set aside: {path.name} is not whole: {reason}"
        version = publish_version(
            self.vault,
            PendingVersion(
                parent=self.known.head,
                changed={},
                removed=(),
                files=(aside,),
                fresh={str(path): file.data},
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


def _what_to_write(
    cut: CutShow, tree: Mapping[str, str]
) -> tuple[dict[str, bytes], tuple[str, ...]]:
    """Return the parts that differ from those of the last version, and those that are gone."""
    wanted = {SHOW_FOLDER + name: data for name, data in cut.parts.items()}
    wanted[SKELETON] = cut.skeleton
    changed = {name: data for name, data in wanted.items() if tree.get(name) != blob_id(data)}
    gone = (name for name in tree if name.startswith(SHOW_FOLDER) and name not in wanted)
    return changed, tuple(gone)


def _faults(cut: CutShow, changed: Mapping[str, bytes], *, everything: bool) -> list[Fault]:
    """Ask the changed parts, or all of them; whatever fails in asking stops nothing."""
    asked = {
        thing: cut.parts[name]
        for thing, name in cut.names.items()
        if everything or SHOW_FOLDER + name in changed
    }
    try:
        return find_faults_of_outline(cut.skeleton) + find_faults_of_parts(asked)
    except Exception as error:
        return [Fault("the show", "", "", "", f"the show could not be judged: {error}")]


def _title(skeleton: bytes) -> str:
    outline = parse_part(skeleton_as_json(skeleton))
    title = outline.get("title") if isinstance(outline, dict) else None
    return title if isinstance(title, str) else ""


def _fault_notes(faults: Sequence[Fault]) -> list[str]:
    shown = [f"not understood: {fault.text}" for fault in faults[:5]]
    return [*shown, f"… and {len(faults) - 5} more"] if len(faults) > 5 else shown


def _say_files(names: Sequence[str]) -> str:
    shown = ", ".join(sorted(names)[:3])
    more = f" and {len(names) - 3} more" if len(names) > 3 else ""
    return f"{shown}{more} saved"
