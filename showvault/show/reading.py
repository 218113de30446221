"""Whether bytes are whole, and whether they are understood: two facts, judged apart.

- Whole: the file is complete. A JSON document proves it by parsing to its end.
- Understood: it keeps the rules of the neutral show. What breaks them is told all at once, each
  fault with its place, the value found and what was expected.

A whole file that is not understood is still a good version.
"""

import json
import re
from dataclasses import dataclass
from typing import Any, Literal

import msgspec

from showvault.errors import ShowvaultError
from showvault.show.faults import Fault, find_faults_in
from showvault.show.formats import lift_to_this_version
from showvault.show.model import FORMAT_VERSION, Show
from showvault.show.trees import Doubled, Tree, parse_exactly

DEEPEST = 200
"""Levels of nesting that are always followed; a show has about ten, the parsers end far beyond."""

_SHOW = msgspec.json.Decoder(Show)
_ANYTHING = msgspec.json.Decoder(msgspec.Raw)
_BRACKETS = re.compile(rb'"(?:[^"\\]|\\.)*"|[\[{\]}]', re.DOTALL)
_CUT_OFF = re.compile(
    r"|-|-?I(n(f(i(n(it?)?)?)?)?)?|N(aN?)?|[.]|[.]?[0-9]*[eE][+-]?"
    r"|t(ru?)?|f(a(ls?)?)?|n(ul?)?|(\\u?|u)[0-9a-fA-F]{0,4}"
)
"""What is left to read where a number, a word or an escape stops in its middle."""


class NotUnderstoodError(ShowvaultError):
    """A show does not keep the rules of the neutral show."""

    def __init__(self, faults: list[Fault], name: str = "the show") -> None:
        first = faults[0]
        more = f" (and {len(faults) - 1} more)" if len(faults) > 1 else ""
        super().__init__(
            f"{name} is not understood: {first.text}{more}",
            hint="showvault check lists every fault with its place",
        )
        self.faults = faults


class NotWholeError(ShowvaultError):
    """The file stops before its end, or is no file of this kind at all."""

    def __init__(self, reason: str, name: str = "the file") -> None:
        super().__init__(
            f"{name} is not whole: {reason}",
            hint="save it again; the last good version is still there (showvault list)",
        )
        self.reason = reason


@dataclass(frozen=True)
class Wholeness:
    """Whether a file is complete: ``whole``, ``broken``, or ``unproven`` where nothing can tell."""

    state: Literal["whole", "broken", "unproven"]
    reason: str = ""


def judge_whole(data: bytes) -> Wholeness:
    """Tell whether the bytes are one complete JSON document."""
    if not data:
        return Wholeness("broken", "the file is empty")
    if not data.strip(b"\0"):
        return Wholeness("broken", f"the file is {len(data):,} NUL bytes")
    try:
        _ANYTHING.decode(data)
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError):
        return _judge_slowly(data)
    return Wholeness("whole")


def parse_tree(data: bytes) -> Tree:
    """Parse a document to plain values: exact decimals, doubled keys and NaN kept visible.

    Raises NotWholeError, or NotUnderstoodError where it is nested deeper than can be
    followed, which is beyond DEEPEST.
    """
    text, _ = _decode_text(data)
    _refuse_depth(data)
    try:
        return parse_exactly(text, _members)
    except json.JSONDecodeError as error:
        raise NotWholeError(_say_json_error(error, data)) from None
    except RecursionError:
        raise NotUnderstoodError([_too_deep()]) from None


def find_faults(data: bytes) -> list[Fault]:
    """Return every fault of a whole show; an empty list means that it is understood.

    Raises NotWholeError where the bytes stop before their end.
    """
    faults = []
    _, fault = _decode_text(data)
    if fault is not None:
        faults.append(fault)
    try:
        tree = parse_tree(data)
    except NotUnderstoodError as error:
        return [*faults, *error.faults]
    version_fault = _find_version_fault(tree)
    if version_fault is not None:
        return [*faults, version_fault]
    return [*faults, *find_faults_in(lift_to_this_version(tree), Show)]


def decode_show(data: bytes, name: str = "the show") -> Show:
    """Decode a show for what needs understanding: looks, merging, conversion.

    Raises NotWholeError or NotUnderstoodError, which carries every fault.
    """
    try:
        return _SHOW.decode(data)
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError) as error:
        refused = f"the show cannot be read: {error}"
    wholeness = judge_whole(data)
    if wholeness.state == "broken":
        raise NotWholeError(wholeness.reason, name)
    # A patient reader may find nothing wrong, in an older version, say.
    faults = find_faults(data) or [Fault("the show", "", "", "a neutral show", refused)]
    raise NotUnderstoodError(faults, name)


def _find_version_fault(tree: Tree) -> Fault | None:
    if not isinstance(tree, dict) or tree.get("format") != "neutral-show":
        return None
    version = tree.get("format_version")
    if isinstance(version, int) and version > FORMAT_VERSION:
        return Fault(
            "the show",
            "/format_version",
            str(version),
            f"at most {FORMAT_VERSION}",
            f"the show is written in format version {version}; this release reads up to "
            f"{FORMAT_VERSION}: a newer showvault is needed to understand it",
        )
    return None


def _judge_slowly(data: bytes) -> Wholeness:
    """Tell a broken file from a complete one that a strict parser refuses for another reason."""
    try:
        parse_tree(data)
    except NotWholeError as error:
        return Wholeness("broken", error.reason)
    except NotUnderstoodError as error:
        if _balanced(data):
            return Wholeness("unproven", error.faults[0].text)
        return Wholeness("broken", "it ends in the middle: brackets are left open")
    return Wholeness("whole")


def _decode_text(data: bytes) -> tuple[str, Fault | None]:
    """Return the text, and what is wrong with how it is encoded."""
    if data[:3] == b"\xef\xbb\xbf":
        return data[3:].decode("utf-8", "surrogateescape"), _encoding(
            "a byte order mark",
            "the file begins with a byte order mark, which JSON has no place for",
        )
    if data[:4] in (b"\xff\xfe\0\0", b"\0\0\xfe\xff"):
        return data.decode("utf-32", "replace"), _encoding(
            "UTF-32", "the file is encoded in UTF-32, not UTF-8"
        )
    if data[:2] in (b"\xff\xfe", b"\xfe\xff") or data[:4].count(0) >= 2 or data[1:2] == b"\0":
        for encoding in ("utf-32", "utf-16") if data[:4].count(0) == 3 else ("utf-16",):
            name = encoding if data[:1] in (b"\xff", b"\xfe") else _unmarked(data, encoding)
            try:
                text = data.decode(name)
            except UnicodeDecodeError:
                continue
            return text, _encoding(
                name.upper(), f"the file is encoded in {name.upper()}, not UTF-8"
            )
    try:
        return data.decode("utf-8"), None
    except UnicodeDecodeError as error:
        where = f"byte {error.start:,}"
        return data.decode("utf-8", "surrogateescape"), _encoding(
            f"0x{data[error.start]:02X} at {where}", f"the text is not UTF-8 at {where}"
        )


def _unmarked(data: bytes, encoding: str) -> str:
    return f"{encoding}-{'be' if data[:1] == bytes(1) else 'le'}"


def _encoding(found: str, text: str) -> Fault:
    return Fault("the file", "", found, "UTF-8 without a byte order mark", text)


def _refuse_depth(data: bytes) -> None:
    """Refuse what is nested too deep, before a parser that recurses meets it."""
    if data.count(b"[") + data.count(b"{") <= DEEPEST:
        return
    try:
        _ANYTHING.decode(data)
    except RecursionError:
        raise NotUnderstoodError([_too_deep()]) from None
    except (msgspec.DecodeError, UnicodeDecodeError):
        if _deepest(data) > DEEPEST:
            raise NotUnderstoodError([_too_deep()]) from None


def _too_deep() -> Fault:
    return Fault(
        "the file",
        "",
        "more levels than can be followed",
        f"at most {DEEPEST} levels",
        f"the file is nested too many levels deep to be followed: {DEEPEST} always are",
    )


def _depths(data: bytes) -> tuple[int, int]:
    depth = deepest = 0
    for match in _BRACKETS.finditer(data):
        token = match.group()
        if token in (b"[", b"{"):
            depth += 1
            deepest = max(deepest, depth)
        elif token in (b"]", b"}"):
            depth -= 1
    return depth, deepest


def _deepest(data: bytes) -> int:
    return _depths(data)[1]


def _balanced(data: bytes) -> bool:
    return _depths(data)[0] == 0 and data.rstrip()[-1:] in (b"]", b"}")


def _members(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    members = dict(pairs)
    if len(members) == len(pairs):
        return members
    seen: set[str] = set()
    twice = []
    for key, _ in pairs:
        if key in seen:
            twice.append(key)
        seen.add(key)
    return Doubled(members, twice)


def _say_json_error(error: json.JSONDecodeError, data: bytes) -> str:
    rest = error.doc[error.pos : error.pos + 20].rstrip()
    if "Unterminated" in error.msg or _CUT_OFF.fullmatch(rest):
        return f"it ends in the middle, after {len(data):,} bytes"
    return f"it is not JSON at line {error.lineno}, column {error.colno}"
