"""Whether fixtures move where it can be seen.

Common practice, no source. A live move is often meant: a note.
"""

from collections.abc import Iterator, Mapping, Sequence

from showvault.check.contents import Contents
from showvault.check.finding import Finding, name_fixtures, note
from showvault.look.moves import Move, find_moves
from showvault.show.addressing import place_order
from showvault.show.attributes import feature_group

NAMED_AT_MOST = 12

_SAID: Mapping[str, str] = {"Position": "position", "Color": "colour", "Gobo": "gobo"}


def find_live_moves(contents: Contents) -> Iterator[Finding]:
    """``live-move`` (note): a position or a gobo changes in the light; one a cue.

    Colours that change in the light, as they mostly should, are one note a list.
    """
    lists = contents.show.cue_lists or {}
    for number in sorted(lists, key=place_order):
        if not lists[number].cues:
            continue
        live: dict[str, list[Move]] = {}
        for move in find_moves(contents.show, number, set(contents.show.patch or {})):
            if move.seen == "live":
                live.setdefault(move.cue, []).append(move)
        colours = [cue for cue, moves in live.items() if _groups(moves) == {"Color"}]
        for cue, moves in live.items():
            if cue not in colours:
                yield note("live-move", ("cue_lists", number, "cues", cue), _say_moves(moves))
        if colours:
            yield note("live-move", ("cue_lists", number), _say_colours(colours))


def _say_moves(moves: Sequence[Move]) -> str:
    fixtures = {move.fixture for move in moves}
    groups = _groups(moves)
    what = " and ".join(words for group, words in _SAID.items() if group in groups)
    verb = "changes" if len(fixtures) == 1 else "change"
    return f"{name_fixtures(fixtures)} {verb} {what} in the light"


def _groups(moves: Sequence[Move]) -> set[str]:
    return {feature_group(attribute) for move in moves for attribute in move.attributes}


def _say_colours(cues: Sequence[str]) -> str:
    shown = ", ".join(cues[:NAMED_AT_MOST])
    more = f" and {len(cues) - NAMED_AT_MOST} more" if len(cues) > NAMED_AT_MOST else ""
    noun = "cue" if len(cues) == 1 else "cues"
    return f"colours change in the light in {noun} {shown}{more}"
