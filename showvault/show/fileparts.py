"""One part as it stands in bytes that are in memory, told from others without copying either."""

_ENDS = 64
"""So many bytes at either end tell most parts apart."""


class FilePart:
    """The bytes of a file from ``start`` to before ``end``; equal to any part with the same bytes.

    ``twin`` is a part of another file that is known to be equal.
    """

    __slots__ = ("_file", "end", "key", "start")

    def __init__(self, file: bytes, start: int, end: int, twin: "FilePart | None" = None) -> None:
        self._file = file
        self.start = start
        self.end = end
        self.key: FilePart = self if twin is None else twin.key
        """What tells these bytes from others: itself, or the twin."""

    @property
    def data(self) -> bytes:
        """The bytes."""
        return self._file[self.start : self.end]

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, FilePart):
            return NotImplemented
        if self._file is other._file and self.start == other.start and self.end == other.end:
            return True
        there = memoryview(other._file)[other.start : other.end]
        return len(there) == self.end - self.start and self._file.startswith(there, self.start)

    def __hash__(self) -> int:
        start, end = self.start, self.end
        first = self._file[start : min(end, start + _ENDS)]
        return hash((end - start, first, self._file[max(start, end - _ENDS) : end]))
