"""How a cue's times, follows and links are said in ASCII cue data."""

from collections.abc import Mapping
from decimal import Decimal

from showvault.interchange.ascii_values import AsciiTime
from showvault.interchange.intensities import parts_of
from showvault.interchange.loss_book import LossBook
from showvault.show.trees import Tree


def written_time(
    fields: Mapping[str, Tree], fade: str, delay: str, where: str, book: LossBook
) -> AsciiTime | None:
    """Return a fade and its delay; the format has no delay without a fade."""
    if fade not in fields:
        if delay in fields:
            book.add("delays without a fade of their own", where)
        return None
    wait = Decimal(fields[delay]) if delay in fields else None
    return AsciiTime(Decimal(fields[fade]), wait)


def written_follow(cue: Mapping[str, Tree], words: str, book: LossBook) -> Decimal | None:
    """Return the seconds from the go to the next cue's go, where a cue is followed."""
    if "follow" not in cue:
        return None
    follow = cue["follow"]
    if "extra" in follow:
        book.add("extra of follows", words)
    if "seconds" not in follow:
        book.add("follows without a time", words)
        return None
    seconds = Decimal(follow["seconds"])
    if follow.get("from") == "end":
        book.add("follows that count from the end: now from the go, fades added", words)
        return seconds + _longest(cue)
    if "from" not in follow:
        book.add("follows that do not say what they count from: now from the go", words)
    return seconds


def written_link(list_key: str, cue: Mapping[str, Tree], words: str, book: LossBook) -> str | None:
    """Return the cue number that a cue links to inside its own list."""
    link = cue.get("link")
    if link is None:
        return None
    if "extra" in link:
        book.add("extra of links", words)
    if "cue" not in link or link.get("list", list_key) != list_key:
        book.add("links to another list", words)
        return None
    return str(link["cue"])


def _longest(cue: Mapping[str, Tree]) -> Decimal:
    """Return the seconds from the go to the end of the longest delay and fade of all parts."""
    ends = [Decimal(0)]
    for _, part in parts_of(cue):
        for fade, delay in (("fade_in", "delay_in"), ("fade_out", "delay_out")):
            ends.append(Decimal(part.get(fade, 0)) + Decimal(part.get(delay, 0)))
        for times in part.get("times", {}).values():
            ends.append(Decimal(times.get("fade", 0)) + Decimal(times.get("delay", 0)))
        for attributes in part.get("levels", {}).values():
            for value in attributes.values():
                if isinstance(value, dict):
                    ends.append(Decimal(value.get("fade", 0)) + Decimal(value.get("delay", 0)))
    return max(ends)
