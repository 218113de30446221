"""Things of a show as people say them: "cue 12.5", "list 2 cue 5", "preset color 1.3".

- A cue is one of list 1 unless a list is said.
- Numbers may be several and ranges: "12-20", "12 to 20", "101-108, 110".
- An attribute may follow: "cue 12 dimmer", "cues 12-20 pan".
- The words may come in capitals and in the plural; no quotation marks are needed.
- A place is also understood as the program itself prints it: "Color preset page 1 slot 3",
  "cue list 1", "fixture type wash", "the show".
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass, field, replace

from showvault.errors import ShowvaultError
from showvault.show.addressing import (
    KEY_PATTERNS,
    Kind,
    Thing,
    cue_order,
    place_order,
    shortest_cue_number,
    thing_order,
)
from showvault.show.attributes import FEATURE_GROUPS

EXAMPLES = "cue 12.5 · list 2 cue 5 · cues 12-20 · preset color 1.3 · fixtures 101-108 · universe 2"

_NOUNS: dict[str, Kind] = {
    "cue": "cue",
    "list": "cue_list",
    "preset": "preset",
    "fixture": "fixture",
    "channel": "fixture",
    "group": "group",
    "effect": "effect",
    "macro": "macro",
    "submaster": "submaster",
    "playback": "playback",
    "curve": "curve",
    "type": "fixture_type",
    "universe": "fixture",
    "patch": "fixture",
    "show": "show",
}
_SPOKEN_ATTRIBUTES = {
    "intensity": "Dimmer",
    "level": "Dimmer",
    "red": "ColorAdd_R",
    "green": "ColorAdd_G",
    "blue": "ColorAdd_B",
    "white": "ColorAdd_W",
    "amber": "ColorAdd_RY",
    "cyan": "ColorSub_C",
    "magenta": "ColorSub_M",
    "yellow": "ColorSub_Y",
}
_NUMBER = r"[0-9]{1,9}(?:\.[0-9]{1,9})?"
_AS_PRINTED = (
    (re.compile(r"^the\s+", re.IGNORECASE), ""),
    (re.compile(r"\bcue\s*list(?=s?\b)", re.IGNORECASE), "list"),
    (re.compile(r"\bpage\s+([0-9]+),?\s+slot\s+([0-9]+)\b", re.IGNORECASE), r"\1.\2"),
    (re.compile(r"\b(fixture\s+[0-9]+)\s+cell\s+([0-9]+)\b", re.IGNORECASE), r"\1.\2"),
    (
        re.compile(r"^(cues?\s+[0-9].*?)\s+(?:(?:of|in)\s+)?(list\s+[0-9]+)$", re.IGNORECASE),
        r"\2 \1",
    ),
)
"""How places are printed, and what that is in the words that are read."""

_FIXTURE_TYPE = re.compile(r"^(?:the\s+)?(?:fixture\s+)?type\s+", re.IGNORECASE)
_PART = re.compile(r"\bpart\s+[0-9]+$", re.IGNORECASE)
_SPAN = re.compile(rf"({_NUMBER})(?:\s*(?:-|–|to)\s*({_NUMBER}))?", re.IGNORECASE)
_TOKENS = re.compile(rf"{_NUMBER}|[^\W\d_][\w.]*|[-–,]", re.IGNORECASE)


class AskingError(ShowvaultError):
    """The words name no thing of a show."""

    exit_code = 2

    def __init__(self, words: str, problem: str = "") -> None:
        why = f": {problem}" if problem else ""
        super().__init__(f"{words!r} names nothing in a show{why}", hint=f"say it like: {EXAMPLES}")


@dataclass(frozen=True)
class Asked:
    """What somebody asked for; without spans, everything of the kind."""

    kind: Kind
    spans: tuple[tuple[str, str], ...] = ()
    """First and last number of each range, both included; one number is a range of its own."""
    list: str = ""
    """The cue list, for cues."""
    group: str = ""
    """The feature group, for presets; empty for all."""
    attribute: str = ""
    """The attribute alone, if one was said."""
    universe: int | None = None
    """The patch of this universe alone, for fixtures."""
    words: str = field(default="", compare=False)
    """What was said."""

    def includes(self, thing: Thing) -> bool:
        """Tell whether a thing is one of those asked for; a universe is not looked at."""
        if thing.kind != self.kind:
            return False
        group, _, place = thing.id.rpartition(" ")
        if self.kind == "preset" and self.group and group != self.group:
            return False
        if self.kind == "cue" and thing.list != self.list:
            return False
        if not self.spans:
            return True
        number = place if self.kind == "preset" else thing.id
        if self.kind == "fixture_type":
            return any(number == first for first, _ in self.spans)
        order = cue_order if self.kind == "cue" else place_order
        return any(order(first) <= order(number) <= order(last) for first, last in self.spans)

    def select(self, things: Iterable[Thing]) -> tuple[Thing, ...]:
        """Return those asked for, in the order of a show."""
        return tuple(sorted(filter(self.includes, things), key=thing_order))

    def single(self) -> Thing:
        """Return the one thing asked for. Raises AskingError where it is not one."""
        if self.kind == "show":
            return Thing("show", "")
        said = self.words or self.kind.replace("_", " ")
        if len(self.spans) != 1 or self.spans[0][0] != self.spans[0][1]:
            one = "name one type" if self.kind == "fixture_type" else "say one number"
            raise AskingError(said, one)
        number = self.spans[0][0]
        if self.kind == "preset":
            if not self.group:
                raise AskingError(said, f"say which: {', '.join(FEATURE_GROUPS)}")
            return Thing("preset", f"{self.group} {number}")
        return Thing(self.kind, number, self.list)


def read_asking(words: str) -> Asked:
    """Read what somebody asked for. Raises AskingError, which says how to say it."""
    said = words.strip()
    if _FIXTURE_TYPE.match(said):
        name = _FIXTURE_TYPE.sub("", said)
        return Asked("fixture_type", ((name, name),), words=words)
    for printed, read in _AS_PRINTED:
        said = printed.sub(read, said)
    if _PART.search(said):
        raise AskingError(words, "a part is told with its cue: leave the part out")
    tokens = _TOKENS.findall(said)
    if not tokens or "".join(tokens) != re.sub(r"\s", "", said):
        raise AskingError(words)
    return replace(_Reader(words, tokens).read(), words=words)


class _Reader:
    """Takes the words one by one."""

    def __init__(self, words: str, tokens: list[str]) -> None:
        self._words = words
        self._tokens = tokens
        self._kind: Kind | None = None
        self._spans: tuple[tuple[str, str], ...] = ()
        self._list = ""
        self._group = ""
        self._attribute = ""
        self._universe: int | None = None

    def read(self) -> Asked:
        while self._tokens:
            self._take_word()
        kind = self._kind or ("preset" if self._group and self._spans else None)
        if kind is None:
            raise AskingError(self._words)
        if kind == "cue":
            self._spans = tuple(
                (shortest_cue_number(first), shortest_cue_number(last))
                for first, last in self._spans
            )
        pattern = {"cue": "cue", "fixture": "fixture or cell"}.get(kind, "place")
        for number in (end for span in self._spans for end in span):
            if kind != "fixture_type" and not re.fullmatch(KEY_PATTERNS[pattern], number):
                raise AskingError(self._words, f"{number} cannot be the number of a {kind}")
        in_list = (self._list or "1") if kind == "cue" else ""
        return Asked(kind, self._spans, in_list, self._group, self._attribute, self._universe)

    def _take_word(self) -> None:
        word = self._tokens.pop(0)
        noun = _noun(word)
        group = next((name for name in FEATURE_GROUPS if name.lower() == word.lower()), "")
        if noun is not None and self._kind is None:
            self._take_noun(noun)
        elif noun == "cue" and self._kind == "cue_list" and len(self._spans) == 1:
            self._list = self._spans[0][0]
            self._kind, self._spans = "cue", self._take_spans()
        elif group and not self._group and self._kind in (None, "preset") and not self._spans:
            self._group = group
            if self._tokens and self._tokens[0][0].isdigit():
                self._spans = self._take_spans()
        elif word[0].isdigit() and self._kind == "preset" and not self._spans:
            self._tokens.insert(0, word)
            self._spans = self._take_spans()
        elif (
            self._kind in ("cue", "preset", "fixture") and word[0].isalpha() and not self._attribute
        ):
            self._attribute = _SPOKEN_ATTRIBUTES.get(word.lower(), word)
        else:
            raise AskingError(self._words, f"{word!r} is not understood there")

    def _take_noun(self, noun: str) -> None:
        self._kind = _NOUNS[noun]
        if noun == "universe":
            spans = self._take_spans()
            if len(spans) != 1 or not spans[0][0].isdigit():
                raise AskingError(self._words, "say one universe")
            self._universe = int(spans[0][0])
        elif self._tokens and self._tokens[0][0].isdigit():
            self._spans = self._take_spans()

    def _take_spans(self) -> tuple[tuple[str, str], ...]:
        taken: list[str] = []
        while self._tokens and (
            self._tokens[0][0].isdigit() or self._tokens[0] in "-–," or _is_to(self._tokens[0])
        ):
            taken.append(self._tokens.pop(0))
        spans = []
        for piece in " ".join(taken).split(","):
            match = _SPAN.fullmatch(piece.strip())
            if match is None:
                raise AskingError(self._words, "a number is missing or too many stand there")
            spans.append((match[1], match[2] or match[1]))
        return tuple(spans)


def _noun(word: str) -> str | None:
    lowered = word.lower()
    return next((n for n in (lowered, lowered.removesuffix("s")) if n in _NOUNS), None)


def _is_to(token: str) -> bool:
    return token.lower() == "to"
