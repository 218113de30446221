"""Numbers as people say them: "101–108, 110", "cues 12–20"; used by every sentence.

Only numbers that follow one another without a gap are drawn together, so that a range never covers
a number that is not meant: cues are one range where no cue of the list lies between them.
"""

from collections.abc import Iterable, Iterator, Sequence

from showvault.show.addressing import Thing, cue_order, place_order, say_fixture, say_thing


def say_fixtures(keys: Iterable[str]) -> str:
    """Say fixtures and cells: "fixture 101", "fixtures 101–108, 110, 112 cell 2"."""
    ordered = sorted(set(keys), key=place_order)
    whole = [key for key in ordered if key.isdecimal()]
    cells = [say_fixture(key) for key in ordered if not key.isdecimal()]
    return _counted("fixture", len(ordered), ", ".join([*fold_numbers(whole), *cells]))


def say_cues(numbers: Iterable[str], among: Sequence[str] = ()) -> str:
    """Say cue numbers of one list: "cue 5", "cues 5–9, 12".

    ``among`` are all cues of the list: with them 9, 9.5, 10 is "9–10"; without, only whole numbers
    that follow one another are drawn together.
    """
    ordered = sorted(set(numbers), key=cue_order)
    folded = fold_among(ordered, sorted(among, key=cue_order)) if among else fold_numbers(ordered)
    return _counted("cue", len(ordered), ", ".join(folded))


def fold_numbers(ordered: Sequence[str]) -> list[str]:
    """Draw whole numbers that follow one another together; others stand alone."""
    runs: list[list[str]] = []
    for key in ordered:
        if runs and _next_to(runs[-1][-1], key):
            runs[-1].append(key)
        else:
            runs.append([key])
    return [piece for run in runs for piece in _said(run)]


def fold_among(ordered: Sequence[str], among: Sequence[str]) -> list[str]:
    """Draw keys together that are neighbours in ``among``."""
    rank = {key: number for number, key in enumerate(among)}
    runs: list[list[str]] = []
    for key in ordered:
        if runs and key in rank and rank.get(runs[-1][-1]) == rank[key] - 1:
            runs[-1].append(key)
        else:
            runs.append([key])
    return [piece for run in runs for piece in _said(run)]


def _next_to(one: str, other: str) -> bool:
    return one.isdecimal() and other.isdecimal() and int(other) == int(one) + 1


def _said(run: list[str]) -> list[str]:
    """Say a run: two neighbours read better one by one."""
    return [f"{run[0]}–{run[-1]}"] if len(run) > 2 else run


def _counted(noun: str, count: int, said: str) -> str:
    return f"{noun} {said}" if count == 1 else f"{noun}s {said}"


def say_things(things: Sequence[Thing]) -> Iterator[str]:
    """Yield things in words, those of one kind and list drawn together."""
    groups: dict[tuple[str, str, str], list[Thing]] = {}
    for thing in things:
        group = thing.id.partition(" ")[0] if thing.kind == "preset" else ""
        groups.setdefault((thing.kind, thing.list, group), []).append(thing)
    for (kind, number, _), members in groups.items():
        ids = sorted(
            {thing.id for thing in members}, key=cue_order if kind == "cue" else place_order
        )
        match kind:
            case "cue":
                yield f"list {number} {say_cues(ids)}"
            case "fixture":
                yield say_fixtures(ids)
            case "preset" | "show" | "fixture_type":
                yield ", ".join(say_thing(thing) for thing in dict.fromkeys(members))
            case _ if len(ids) == 1:
                yield say_thing(members[0])
            case _:
                yield f"{kind.replace('_', ' ')}s {', '.join(fold_numbers(ids))}"
