"""What is said of a version: what changed, whether it is understood, and notes.

Whatever fails in here is a note; the version is kept all the same.
"""

from collections.abc import Iterable, Sequence

from showvault.flows.describing import Describer, ReadBlob
from showvault.flows.incoming import IncomingFile, name_of
from showvault.flows.outcomes import Saying
from showvault.flows.stored import SHOW_FOLDER, SKELETON
from showvault.flows.succession import Succession
from showvault.show.addressing import Thing
from showvault.show.faults import Fault
from showvault.show.understanding import find_faults_of_outline, find_faults_of_parts
from showvault.vault.publishing import Words

FAULTS_NAMED = 5


def find_words(
    fresh: Sequence[IncomingFile],
    following: Succession | None,
    saying: Saying,
    *,
    sound: bool,
    describer: Describer,
    read_blob: ReadBlob,
) -> Words:
    """Say what changed, and whether it is understood.

    ``following`` is the new show, if one was saved; ``sound`` tells whether the one before it was
    understood, so that only what changed is asked.
    """
    faults = [] if following is None else _faults(following, everything=not sound)
    if saying.summary:
        message = saying.summary
    elif following is None:
        message = _say_files([name_of(one.file.path.name) for one in fresh])
    else:
        message = describer.describe(following.sides, read_blob)
    notes = [note for one in fresh for note in one.notes]
    return Words(
        summary=message.partition("\n")[0],
        message=message,
        note="\n".join(filter(None, (saying.note, *notes, *_fault_notes(faults)))),
        understood=sound if following is None else not faults,
        digests={one.path: one.sha256 for one in fresh if one.role == "show"},
    )


def _faults(following: Succession, *, everything: bool) -> list[Fault]:
    """Ask the changed parts, or all of them; whatever fails in asking stops nothing."""
    cut = following.show.cut
    asked = {
        thing: cut.parts[name]
        for thing, name in cut.names.items()
        if everything or SHOW_FOLDER + name in following.changed
    }
    try:
        if everything:
            return find_faults_of_outline(cut.skeleton) + find_faults_of_parts(asked)
        before, outline = _before(following, asked), []
        if SKELETON in following.changed:
            last = following.last.cut.skeleton if following.last else b""
            outline = find_faults_of_outline(cut.skeleton, last)
        return outline + find_faults_of_parts(asked, before, following.renamed)
    except Exception as error:
        return [Fault("the show", "", "", "", f"the show could not be judged: {error}")]


def _before(following: Succession, asked: Iterable[Thing]) -> dict[Thing, bytes]:
    """What was written of the things that are asked for, where that is still in memory."""
    if following.last is None:
        return {}
    last = following.last.cut
    return {thing: last.parts[last.names[thing]] for thing in asked if thing in last.names}


def _fault_notes(faults: Sequence[Fault]) -> list[str]:
    notes = [f"not understood: {fault.text}" for fault in faults[:FAULTS_NAMED]]
    if len(faults) > FAULTS_NAMED:
        notes.append(f"… and {len(faults) - FAULTS_NAMED} more")
    return notes


def _say_files(names: Sequence[str]) -> str:
    shown = ", ".join(sorted(names)[:3])
    more = f" and {len(names) - 3} more" if len(names) > 3 else ""
    return f"{shown}{more} saved"
