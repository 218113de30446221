"""Whether cues come one after the other as meant: empty lists, follows to nowhere, loops.

Common practice, no source. A loop is often on purpose: a note.
"""

from collections.abc import Iterator

from msgspec import UnsetType

from showvault.check.contents import Contents
from showvault.check.finding import Finding, note, warning
from showvault.look.chains import CueOrder, CueRef, find_loops
from showvault.show.addressing import cue_order, place_order


def find_empty_lists(contents: Contents) -> Iterator[Finding]:
    """``empty-list``: a cue list without a cue."""
    unread = {thing.list for thing in contents.unread if thing.kind == "cue"}
    lists = contents.show.cue_lists or {}
    for number in sorted(lists, key=place_order):
        if not lists[number].cues and number not in unread:
            yield warning("empty-list", ("cue_lists", number), "it has no cue")


def find_follows_to_nowhere(contents: Contents) -> Iterator[Finding]:
    """``follow-to-nowhere``: the last cue of a list has a follow, and no link."""
    order = CueOrder(contents.show)
    unread = any(thing.kind == "cue" for thing in contents.unread)
    for number, cue_number, cue in contents.cues():
        if isinstance(cue.follow, UnsetType) or not isinstance(cue.link, UnsetType) or unread:
            continue
        if order.after(CueRef(number, cue_number)) is None:
            path = ("cue_lists", number, "cues", cue_number, "follow")
            yield warning("follow-to-nowhere", path, "there is no cue after it to follow")


def find_cues_in_a_loop(contents: Contents) -> Iterator[Finding]:
    """``loop``: follows that run round by themselves, and links that lead back in their list."""
    by_themselves: set[CueRef] = set()
    for loop in find_loops(contents.show):
        by_themselves.update(loop)
        first = loop[0]
        way = " → ".join(_say(ref, first.list) for ref in (*loop[:6], *loop[:1]))
        cut = f" ({len(loop)} cues in all)" if len(loop) > 6 else ""
        yield note(
            "loop",
            ("cue_lists", first.list, "cues", first.cue),
            f"runs round by itself: {way}{cut}",
        )
    for number, cue_number, cue in contents.cues():
        if isinstance(cue.link, UnsetType) or isinstance(cue.link.cue, UnsetType):
            continue
        within = isinstance(cue.link.list, UnsetType) or cue.link.list == number
        back = cue_order(cue.link.cue) <= cue_order(cue_number)
        if within and back and CueRef(number, cue_number) not in by_themselves:
            path = ("cue_lists", number, "cues", cue_number, "link")
            yield note("loop", path, f"leads back to cue {cue.link.cue}")


def _say(ref: CueRef, own: str) -> str:
    return f"cue {ref.cue}" if ref.list == own else f"list {ref.list} cue {ref.cue}"
