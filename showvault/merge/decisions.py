"""Who wins where, as a file says it: places or pointers, each with mine, theirs or base."""

from collections.abc import Mapping

from showvault.errors import ShowvaultError
from showvault.merge.conflicts import Choice, Conflict, Decide


class DecisionsError(ShowvaultError):
    """A file of decisions does not say who wins where."""

    exit_code = 3

    def __init__(self, problem: str) -> None:
        super().__init__(
            f"the decisions cannot be used: {problem}",
            hint='write {"list 1 cue 12, fixture 101 Dimmer": "mine"}: a place or a pointer as '
            "merge names it, and mine, theirs or base",
        )


def decisions_from(record: object) -> Mapping[str, Choice]:
    """Read who wins where: places or pointers with a choice, or conflicts with ``take`` added.

    Raises DecisionsError where the record says something else.
    """
    entries: dict[str, object] = {}
    if isinstance(record, dict) and isinstance(record.get("conflicts"), list):
        for conflict in record["conflicts"]:
            if isinstance(conflict, dict) and "take" in conflict:
                entries[str(conflict.get("pointer") or conflict.get("place"))] = conflict["take"]
    elif isinstance(record, dict):
        entries = record
    else:
        raise DecisionsError("it is no object")
    choices: dict[str, Choice] = {}
    for place, choice in entries.items():
        match choice:
            case "mine" | "theirs" | "base":
                choices[place] = choice
            case _:
                raise DecisionsError(f"{place}: {choice!r} is none of mine, theirs, base")
    return choices


def by_record(choices: Mapping[str, Choice], otherwise: Decide) -> Decide:
    """Return what decides by place or pointer, and otherwise as ``otherwise`` does."""

    def decide(conflict: Conflict) -> Choice | None:
        chosen = choices.get(conflict.pointer) or choices.get(conflict.place)
        return chosen or otherwise(conflict)

    return decide


def by_sentence(answers: Mapping[str, Choice], otherwise: Decide) -> Decide:
    """Return what decides the very conflicts that were asked for, and otherwise as before.

    A fixture that overlaps two others is asked for twice at one place; the sentences differ.
    """
    return lambda conflict: answers.get(conflict.text) or otherwise(conflict)
