"""The neutral show itself as a format to read and write.

A file is one when it is JSON with ``"format": "neutral-show"`` at its top level: any file named
.json, others when the mark stands in their first 4,096 bytes.
"""

import re
from collections.abc import Mapping

import msgspec

from showvault.interchange.reader import Options, ReadResult, Role, WriteResult
from showvault.show.formats import lift_to_this_version
from showvault.show.reading import (
    NotUnderstoodError,
    NotWholeError,
    Wholeness,
    find_faults,
    judge_whole,
    parse_tree,
)
from showvault.show.trees import Tree
from showvault.show.writing import write_show

_HEAD = 4096
_MARK_FIRST = re.compile(rb'(?:\xef\xbb\xbf)?\s*\{\s*"format"\s*:\s*"neutral-show"')
_MARK = re.compile(rb'"format"\s*:\s*"neutral-show"')
_WIDE_MARKS = tuple('"neutral-show"'.encode(name) for name in ("utf-16-le", "utf-16-be"))


class _Top(msgspec.Struct):
    format: msgspec.Raw = msgspec.Raw(b"")


_TOP = msgspec.json.Decoder(_Top)


class NeutralReader:
    """Reads and writes the neutral show; the file itself is the show."""

    name = "neutral"
    version = "1"
    role: Role = "show"
    extensions: tuple[str, ...] = (".json",)
    options: Mapping[str, str] = {}

    def sniff(self, name: str, head: bytes) -> bool:
        """Tell whether the mark of the format stands at the top level."""
        if _MARK_FIRST.match(head):
            return True
        if any(mark in head[:_HEAD] for mark in _WIDE_MARKS):
            return True
        near = len(head) if name.lower().endswith(".json") else _HEAD
        return _MARK.search(head, 0, near) is not None and _mark_is_at_the_top(head)

    def judge(self, data: bytes) -> Wholeness:
        """Tell whether the document parses to its end."""
        return judge_whole(data)

    def read(self, data: bytes, options: Options) -> ReadResult:
        """Return the show. Raises NotWholeError, or NotUnderstoodError with every fault."""
        wholeness = judge_whole(data)
        if wholeness.state == "broken":
            raise NotWholeError(wholeness.reason, "the show")
        faults = find_faults(data)
        if faults:
            raise NotUnderstoodError(faults)
        return ReadResult(lift_to_this_version(parse_tree(data)))

    def write(self, show: Tree, options: Options) -> WriteResult:
        """Write the canonical bytes: the format holds everything."""
        return WriteResult(write_show(show))


def _mark_is_at_the_top(data: bytes) -> bool:
    """Tell a show from a document that holds one further down; a cut one passes for a show."""
    try:
        return bytes(_TOP.decode(data).format) == b'"neutral-show"'
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError):
        return True
