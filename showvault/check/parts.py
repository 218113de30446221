"""Whether the parts of a cue keep out of each other's way."""

from collections.abc import Iterator

from showvault.check.contents import Contents
from showvault.check.finding import Finding, error
from showvault.look.storing import parts_in_order


def find_parameters_stored_twice(contents: Contents) -> Iterator[Finding]:
    """``stored-twice``: two parts of a cue store one parameter; the highest part wins.

    Each part has its own parameters (common practice, no source).
    """
    for number, cue_number, cue in contents.cues():
        if not cue.parts:
            continue
        path = ("cue_lists", number, "cues", cue_number)
        parts_of: dict[tuple[str, str], str] = {}
        for part, holder in parts_in_order(cue):
            where = path if holder is cue else (*path, "parts", part)
            for fixture, values in (holder.levels or {}).items():
                for attribute in values:
                    parameter = (fixture, attribute)
                    if parameter in parts_of:
                        yield error(
                            "stored-twice",
                            (*where, "levels", fixture, attribute),
                            f"stored in part {parts_of[parameter]} too; the highest part wins",
                        )
                    parts_of[parameter] = part
