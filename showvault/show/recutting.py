"""Cutting a show that is much like one that was cut before: equal bytes are passed over, not read.

The old file is laid along the new one. Where each text between its parts is found again and each
part is the same, or else one JSON value of its own, the new file has the same outline: JSON values
end where they end, so nothing else can stand there. Where something came, went or moved, the parts
found before and behind it are put aside, and only what is left is read. Anything else is cut anew.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import NamedTuple, TypeAlias

import msgspec

from showvault.show.addressing import Thing
from showvault.show.cutting import CutShow, cut_into_parts
from showvault.show.referring import References, Referring
from showvault.show.renaming import NO_TEXTS, Renaming, Replaced, Texts

TRIES = 16
"""How many ends are tried for a changed part before it counts as not found."""

LOOKED_FOR = 4
"""How many parts are looked for behind a place where the files differ."""

RESUMED = 16
"""How often the files may part and meet again."""

_VALUE = msgspec.json.Decoder(msgspec.Raw)
_SPACE = b" \t\r\n"
_CLOSED = (b"{", b"[", b'"')
"""A value that begins so ends where it says; a number goes on for as long as digits follow."""

_GROWN = 4
_LEEWAY = 65_536
"""A changed part is not looked for beyond so many times its size, and so many bytes more."""

_NEAR = 1_000_000
"""Bytes that are searched for where the files are alike again."""

_TELLING = 16
"""Bytes; so long a text between two parts is hardly found anywhere else."""

_BEGINNING = 64
_NEXT_MEMBER = re.compile(rb'[ \t\r\n]*,[ \t\r\n]*"[^"\\]*"[ \t\r\n]*:[ \t\r\n]*')
"""Between two members of one object."""

_PUT_ASIDE = b'"put aside '

Bytes: TypeAlias = bytes | memoryview


class Found(NamedTuple):
    """Where a part stands in the new file, and whether its bytes are the old ones."""

    start: int
    end: int
    part: Bytes
    """The part as it is now: the old one itself where the bytes are the same."""
    same: bool
    renamed: Texts = NO_TEXTS
    """What of the part became something else, where these references are all that did."""
    replaced: Replaced | None = None
    """What of its bytes became others, where that is one text."""


@dataclass(frozen=True)
class Recut:
    """A show cut like ``last``; equal parts are those of ``last`` themselves."""

    cut: CutShow
    last: CutShow | None = None
    renamed: Mapping[str, Texts] = field(default_factory=dict)
    """Parts of ``last`` in which nothing but these references became others."""
    replaced: Mapping[str, Replaced] = field(default_factory=dict)
    """Parts of ``last`` in which nothing but these bytes became others."""


def cut_like(
    data: bytes, last: CutShow | None, references: References | None = None
) -> Recut | None:
    """Cut a file like ``last`` if it can be, else anew; None where it cannot be cut at all.

    The cut is the one that `cut_into_parts` gives. ``references`` are what was noted of ``last``.
    """
    again = None if last is None else _cut_along(data, last, references or References())
    if again is not None:
        return again
    cut = cut_into_parts(data)
    return None if cut is None else Recut(cut)


def _cut_along(data: bytes, last: CutShow, references: References) -> Recut | None:
    pieces = last.skeleton.split(b"\0")
    names = [name.decode() for name in pieces[1::2]]
    held = [last.parts[name] for name in names]
    noted = [*map(references.of, names, held)]
    walk = _Walk(data, pieces[::2], held, noted)
    is_like = walk.go_along()
    if not is_like:
        walk.resume()
    renamed = {names[index]: found.renamed for index, found in walk.found.items() if found.renamed}
    replaced = {names[index]: one.replaced for index, one in walk.found.items() if one.replaced}
    if is_like:
        parts = {names[index]: bytes(found.part) for index, found in walk.found.items()}
        return Recut(replace(last, parts=parts), last, renamed, replaced)
    cut = _cut_what_is_left(data, walk.found, pieces, names, last) if walk.found else None
    return None if cut is None else Recut(cut, last, renamed, replaced)


def lay_along(data: bytes, texts: Sequence[Bytes], parts: Sequence[Bytes]) -> list[Found] | None:
    """Return where the parts of an older file stand in this one; None where it is another one.

    ``texts`` stand before each of the old parts and after the last one.
    """
    walk = _Walk(data, texts, parts, [None] * len(parts))
    return [*walk.found.values()] if walk.go_along() else None


class _Walk:
    """Goes along the old file and the new one together, and notes the parts found in both."""

    def __init__(
        self,
        data: bytes,
        texts: Sequence[Bytes],
        parts: Sequence[Bytes],
        noted: Sequence[Referring | None],
    ) -> None:
        """Take what `lay_along` takes, and what was noted of each of the old parts."""
        self._data, self._texts, self._parts, self._noted = data, texts, parts, noted
        self._renaming = Renaming()
        self.found: dict[int, Found] = {}
        """By the place of the old part; in the order of both files."""

    def _reached(self) -> tuple[int, int]:
        """Return which old part is the first behind all that were found, and where they end."""
        if not self.found:
            return 0, 0
        last = next(reversed(self.found))
        return last + 1, self.found[last].end

    def go_along(self) -> bool:
        """Go on as far as the files are alike; tell whether that is to the end of both."""
        self._go_on(0, 0)
        (_, end), last = self._reached(), self._texts[-1]
        to_the_end = len(self._data) == end + len(last) and self._data.startswith(last, end)
        return to_the_end and len(self.found) == len(self._parts)

    def resume(self) -> None:
        """Go on behind each place where the files differ, as often as it is likely to pay."""
        for _ in range(RESUMED):
            reached, end = self._reached()
            for index in range(reached, min(reached + LOOKED_FOR, len(self._parts))):
                at = self._look_for(index, end)
                if at >= 0:
                    self._go_on(index, at)
                if index in self.found:
                    break
            else:
                return

    def _go_on(self, index: int, at: int) -> None:
        """Go on where the text before an old part is, as far as the files are alike."""
        data, texts, parts, found = self._data, self._texts, self._parts, self.found
        if not data.startswith(texts[index], at):
            return
        start = at + len(texts[index])
        for place in range(index, len(parts)):
            part, following = parts[place], texts[place + 1]
            end = start + len(part)
            same = data.startswith(part, start)
            if same and data.startswith(following, end):
                found[place] = Found(start, end, part, same)
                start = end + len(following)
                continue
            changed = self._find_changed(place, start, same=same)
            if changed is None:
                return
            found[place] = changed
            end = changed.end
            if not data.startswith(following, end):
                return
            start = end + len(following)

    def _look_for(self, index: int, end: int) -> int:
        """Return where an old part may begin behind ``end``, with the text before it; else -1."""
        text = bytes(self._texts[index])
        beginning = text + self._parts[index][:_BEGINNING]
        at = self._data.find(beginning, end, end + _NEAR)
        if at < 0 and len(text) >= _TELLING:
            at = self._data.find(text, end, end + _NEAR)
        return at

    def _find_changed(self, index: int, start: int, *, same: bool) -> Found | None:
        """Find a part that is another one, or the same one with something else behind it."""
        data, part, following = self._data, self._parts[index], self._texts[index + 1]
        was = bytes(part)
        if same and was.startswith(_CLOSED):
            return Found(start, start + len(was), part, same=True)
        for now, texts, replaced in self._renaming.replace(was, self._noted[index]):
            if data.startswith(now, start):  # it has keys, so it ends with its last bracket
                return Found(start, start + len(now), now, False, texts, replaced)
        last = index == len(self._parts) - 1
        value = _value_before(data, start, following, len(was), is_last=last)
        if value is None:
            return None
        texts = self._renaming.learn(was, value)
        return Found(start, start + len(value), value, same=False, renamed=texts)


def _value_before(
    data: bytes, start: int, following: Bytes, was: int, *, is_last: bool
) -> bytes | None:
    """Return the JSON value that begins at ``start`` and that a known text follows."""
    end, most = start, start + _GROWN * was + _LEEWAY
    for _ in range(TRIES):
        end = len(data) - len(following) if is_last else data.find(following, end + 1, most)
        if end <= start or not data.startswith(following, end):
            return None
        value = data[start:end]
        if value[-1] not in _SPACE and value[0] not in _SPACE and _is_one_value(value):
            return value
        if is_last:
            return None
    return None


def _is_one_value(value: bytes) -> bool:
    try:
        _VALUE.decode(value)
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError):
        return False
    return b"\0" not in value


def _cut_what_is_left(
    data: bytes,
    found: Mapping[int, Found],
    skeleton: Sequence[bytes],
    names: Sequence[str],
    last: CutShow,
) -> CutShow | None:
    """Cut a file with what was found put aside: each run of parts is one JSON value, and small.

    ``found`` are parts of the last cut by their places in it, ``names`` all of its part names, and
    ``skeleton`` is its own one: a text, a name, and so on, a text at the end. None where a found
    part is none by itself here.
    """
    runs = _runs(found, skeleton[::2])
    pieces: list[bytes] = []
    end = 0
    for number, run in enumerate(runs):
        pieces += (data[end : found[run[0]].start], b'%b%d"' % (_PUT_ASIDE, number))
        end = found[run[-1]].end
    pieces.append(data[end:])
    if any(_PUT_ASIDE in between for between in pieces[::2]):
        return None
    cut = cut_into_parts(b"".join(pieces), last.names)
    if cut is None:
        return None
    aside = dict(zip(pieces[1::2], runs, strict=True))
    return _with_runs(cut, aside, found, skeleton, names, last)


def _runs(found: Mapping[int, Found], texts: Sequence[bytes]) -> list[range]:
    """Draw parts together that follow one another in both files, nothing but a key between them.

    Where the first of them is, the others are.
    """
    runs: list[range] = []
    end = -1
    for index, one in found.items():
        text = texts[index]
        follows = one.start == end + len(text) and bool(runs) and runs[-1].stop == index
        if follows and _NEXT_MEMBER.fullmatch(text):
            runs[-1] = range(runs[-1].start, index + 1)
        else:
            runs.append(range(index, index + 1))
        end = one.end
    return runs


def _with_runs(
    cut: CutShow,
    aside: dict[bytes, range],
    found: Mapping[int, Found],
    last_skeleton: Sequence[bytes],
    names: Sequence[str],
    last: CutShow,
) -> CutShow | None:
    """Put back what was put aside; None where a run, or a thing of one, is not where it was."""
    things = dict(zip(last.names.values(), last.names, strict=True))
    skeleton = cut.skeleton.split(b"\0")
    parts: dict[str, bytes] = {}
    named: dict[Thing, str] = {}
    for number, (thing, name) in enumerate(cut.names.items()):
        run = aside.pop(cut.parts[name], None)
        if run is None:
            if thing in named:
                return None
            parts[name], named[thing] = cut.parts[name], name
            continue
        held = [names[index] for index in run]
        if held[0] != name or not named.keys().isdisjoint(things[one] for one in held):
            return None
        parts |= {one: bytes(found[index].part) for one, index in zip(held, run, strict=True)}
        named |= {things[one]: one for one in held}
        # From the first name to the last, as it was: each name stands behind its text.
        skeleton[2 * number + 1] = b"\0".join(last_skeleton[2 * run.start + 1 : 2 * run.stop])
    # What is still aside stands within another part, or between the parts.
    return None if aside else CutShow(b"\0".join(skeleton), parts, named)
