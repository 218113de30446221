"""Edits spliced into the text of a show file: what does not change keeps its bytes.

The text is a skeleton (show.cutting). A member that stays keeps its spacing; what is new is written
in the style of the file: its indent, its spacing, its line ends; a numbered thing stands in the
order of the numbers around it.
"""

import re
from bisect import bisect
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, NamedTuple

import msgspec

from showvault.show.addressing import Thing, cue_order, place_order
from showvault.show.cutting import CutShow, join_parts, skeleton_as_json
from showvault.show.outlines import SECTIONS
from showvault.show.places import path_to
from showvault.show.trees import Tree, encode_tree, parse_part, same_tree

_SPACE = re.compile(rb"[ \t\r\n]*")
_SCALAR = re.compile(rb'"(?:[^"\\]|\\.)*"|\0[^\0]*\0|[^\s,:{}\[\]"\0]+', re.DOTALL)
_NESTING = re.compile(rb'"(?:[^"\\]|\\.)*"|[{}\[\]]', re.DOTALL)
_DEEPER = {b"{": 1, b"[": 1, b"}": -1, b"]": -1}


@dataclass(frozen=True)
class KeptPart:
    """A part of the file whose bytes stay, perhaps at another number."""

    name: str

    @property
    def marker(self) -> bytes:
        """The part in a skeleton."""
        return b"\0" + self.name.encode() + b"\0"


def splice_show(
    cut: CutShow, own: Tree, lists: Mapping[str, Tree], parts: Mapping[Thing, Tree | KeptPart]
) -> bytes:
    """Return the bytes of a show file that holds these things and nothing else.

    ``own`` are the show's own fields, ``lists`` the own fields of its cue lists by number.
    """
    wanted = {**own, **_empty_sections(cut.skeleton)}
    for number, fields in lists.items():
        wanted.setdefault("cue_lists", {})[number] = dict(fields)
    for thing, part in parts.items():
        *above, last = path_to(thing)
        holder = wanted
        for step in above:
            holder = holder.setdefault(step, {})
        holder[last] = part
    for cue_list in (wanted.get("cue_lists") or {}).values():
        cue_list.setdefault("cues", {})
    return join_parts(_Splicer(cut).spliced(wanted), cut.parts)


def _empty_sections(skeleton: bytes) -> dict[str, Tree]:
    """Return the sections that the file has, without their things: an empty one stays."""
    outline = parse_part(skeleton_as_json(skeleton))
    sections: dict[str, Tree] = {name: {} for name in (*SECTIONS, "cue_lists") if name in outline}
    if "presets" in outline:
        sections["presets"] = {group: {} for group in outline["presets"]}
    return sections


class _Member(NamedTuple):
    """A member of an object: the space before it, its text as offsets, the space behind it."""

    key: str
    lead: bytes
    start: int
    value: int
    end: int
    trail: bytes


class _Style(NamedTuple):
    """How a file is written; without an indent it is all on one line."""

    newline: bytes
    indent: bytes
    comma: bytes
    colon: bytes

    def lead(self, depth: int) -> bytes:
        """Return the space before what stands so deep, first in its object."""
        return self.newline + self.indent * depth if self.indent else b""

    def later_lead(self, depth: int) -> bytes:
        """Return the space before what stands so deep behind a comma."""
        return self.lead(depth) or self.comma

    def written(self, value: Tree, depth: int) -> bytes:
        """Return the text of a value whose key stands so deep."""
        match value:
            case dict() as members if members:
                texts = [
                    bytes(encode_tree(key)) + self.colon + self.written(member, depth + 1)
                    for key, member in members.items()
                ]
                return b"{" + self._enclosed(texts, depth) + b"}"
            case list() as items if items:
                texts = [self.written(item, depth + 1) for item in items]
                return b"[" + self._enclosed(texts, depth) + b"]"
            case _:
                return bytes(encode_tree(value))

    def _enclosed(self, texts: list[bytes], depth: int) -> bytes:
        between = b"," + self.later_lead(depth + 1)
        return self.lead(depth + 1) + between.join(texts) + self.lead(depth)


class _Splicer:
    """Writes one text anew, with as much of it as stays."""

    def __init__(self, cut: CutShow) -> None:
        self._text = cut.skeleton
        start = self._after_space(0)
        first = next(iter(self._members(start)), None)
        second = next(iter(list(self._members(start))[1:]), None)
        self._outer = _style(self._text, first, second)
        on_one_line = not any(b"\n" in part for part in cut.parts.values())
        self._inner = self._outer._replace(indent=b"") if on_one_line else self._outer
        self._texts = {KeptPart(name).marker: part for name, part in cut.parts.items()}

    def spliced(self, wanted: dict[str, Tree]) -> bytes:
        """Return the skeleton of the wanted show."""
        start = self._after_space(0)
        end = self._end_of(start)
        return self._text[:start] + self._object(start, wanted, ()) + self._text[end:]

    def _object(self, start: int, wanted: dict[str, Tree], path: tuple[str, ...]) -> bytes:
        members = list(self._members(start))
        depth = len(path) + 1
        chunks = [
            (member.key, member.lead, self._member(member, wanted[member.key], path), member.trail)
            for member in members
            if member.key in wanted
        ]
        known = {member.key for member in members}
        new = [
            key for key in wanted if key not in known and not _is_nothing(wanted[key], (*path, key))
        ]
        if len(chunks) == len(members) and not new:
            end = self._end_of(start) - 1
            inside = b",".join(lead + text + trail for _, lead, text, trail in chunks)
            return b"{" + (inside if members else self._text[start + 1 : end]) + b"}"
        if not chunks and not new:
            return b"{}"
        first = members[0].lead if members else self._outer.lead(depth)
        later = members[1].lead if len(members) > 1 else first or self._outer.comma
        texts = [
            (key, lead if place else later, text)
            for place, (key, lead, text, _) in enumerate(chunks)
        ]
        for key in new:
            text = encode_tree(key) + self._outer.colon + self._new_value(wanted[key], (*path, key))
            texts.insert(_place_for(key, [named for named, *_ in texts], path), (key, later, text))
        inside = b",".join(
            (lead if place else first) + text for place, (_, lead, text) in enumerate(texts)
        )
        return (
            b"{" + inside + (members[-1].trail if members else self._outer.lead(depth - 1)) + b"}"
        )

    def _member(self, member: _Member, wanted: Tree, path: tuple[str, ...]) -> bytes:
        text = self._text
        return text[member.start : member.value] + self._value(member, wanted, (*path, member.key))

    def _value(self, member: _Member, wanted: Tree, path: tuple[str, ...]) -> bytes:
        old = self._text[member.value : member.end]
        if isinstance(wanted, KeptPart):
            return wanted.marker
        if old[:1] == b"{" and isinstance(wanted, dict):
            return self._object(member.value, wanted, path)
        if same_tree(parse_part(self._texts.get(old, old)), wanted):
            return old
        return self._new_value(wanted, path)

    def _new_value(self, wanted: Tree, path: tuple[str, ...]) -> bytes:
        """Write what is new; a section or a list may hold parts that only moved."""
        match wanted:
            case KeptPart():
                return wanted.marker
            case dict() as members if _holds_parts(path):
                depth, outer = len(path), self._outer
                texts = [
                    encode_tree(key) + outer.colon + self._new_value(member, (*path, key))
                    for key, member in members.items()
                    if not _is_nothing(member, (*path, key))
                ]
                between = b"," + outer.later_lead(depth + 1)
                inside = between.join(texts)
                return (
                    b"{" + outer.lead(depth + 1) + inside + outer.lead(depth) + b"}"
                    if texts
                    else b"{}"
                )
            case _:
                return self._inner.written(wanted, len(path))

    def _members(self, start: int) -> Iterator[_Member]:
        """Yield the members of the object that begins at an offset."""
        at = self._after_space(start + 1)
        lead_from = start + 1
        while self._text[at : at + 1] != b"}":
            key_end = self._end_of(at)
            value = self._after_space(self._after_space(key_end) + 1)
            end = self._end_of(value)
            behind = self._after_space(end)
            key = msgspec.json.decode(self._text[at:key_end])
            yield _Member(key, self._text[lead_from:at], at, value, end, self._text[end:behind])
            lead_from = behind + 1
            at = behind
            if self._text[behind : behind + 1] == b",":
                at = self._after_space(behind + 1)

    def _after_space(self, at: int) -> int:
        match = _SPACE.match(self._text, at)
        return match.end() if match else at

    def _end_of(self, start: int) -> int:
        """Return where the value that begins at an offset ends."""
        if self._text[start : start + 1] not in (b"{", b"["):
            match = _SCALAR.match(self._text, start)
            return match.end() if match else len(self._text)
        tokens = _NESTING.finditer(self._text, start)
        token, depth = next(tokens), 1
        while depth:  # the text is whole: what opens is closed
            token = next(tokens)
            depth += _DEEPER.get(token.group(), 0)
        return token.end()


def _style(text: bytes, first: _Member | None, second: _Member | None) -> _Style:
    if first is None:
        return _Style(b"\n", b"  ", b" ", b": ")
    newline = b"\r\n" if b"\r\n" in first.lead else b"\n"
    indent = first.lead.rpartition(b"\n")[2] if b"\n" in first.lead else b""
    comma = second.lead if second is not None and not indent else b" "
    key = text[first.start : first.value]
    return _Style(newline, indent, comma, key[key.rindex(b'"') + 1 :])


def _order_in(path: tuple[str, ...]) -> Callable[[str], Any] | None:
    """Return the order of an object's members; None where they are no numbered things."""
    match path:
        case ("cue_lists", _, "cues"):
            return cue_order
        case ("presets", _) | ("cue_lists",):
            return place_order
        case (section,) if section in SECTIONS:
            return place_order
        case _:
            return None


def _place_for(key: str, keys: list[str], path: tuple[str, ...]) -> int:
    order = _order_in(path)
    if order is None:
        return len(keys)
    orders = [order(named) for named in keys]
    if orders != sorted(orders):
        return len(keys)
    return bisect(orders, order(key))


def _holds_parts(path: tuple[str, ...]) -> bool:
    match path:
        case ("presets",) | ("cue_lists",) | ("cue_lists", _):
            return True
        case _:
            return _order_in(path) is not None


def _is_nothing(value: Tree, path: tuple[str, ...]) -> bool:
    """Tell whether a new section, or the cues of a new list, would be empty."""
    return value == {} and (_order_in(path) is not None or path in (("presets",), ("cue_lists",)))
