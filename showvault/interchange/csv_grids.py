"""CSV as it really comes: any usual delimiter, and the encodings that spreadsheets write.

RFC 4180 gives the quoting; the rest is common practice. What is told apart: UTF-8 with and without
a byte order mark, UTF-16 with one, and Windows-1252 for everything that is none of them.
"""

import csv
import io

from showvault.interchange.reader import CannotReadError
from showvault.interchange.table_cells import Grid

MOST_ROWS = 200_000
MOST_COLUMNS = 1_000
MOST_CELLS = 5_000_000
LONGEST_CELL = 100_000
DELIMITERS = {"comma": ",", "semicolon": ";", "tab": "\t", "bar": "|"}
ENCODINGS = {
    "utf-8-bom": "utf-8-sig",
    "utf-8": "utf-8",
    "utf-16": "utf-16",
    "windows-1252": "cp1252",
}
_LOOKED_AT = 20


def read_csv(data: bytes, delimiter: str | None, encoding: str | None) -> Grid:
    """Return the rows of a file; delimiter and encoding are found where they are not given.

    Raises CannotReadError where the file is larger than any table of a show, or no text.
    """
    text = decode_table(data, encoding)
    rows: list[list[str]] = []
    cells = 0
    old_limit = csv.field_size_limit(LONGEST_CELL)
    lines = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter or find_delimiter(text))
    try:
        for row in lines:
            cells += len(row)
            rows.append(row)
            refuse_large(f"line {len(rows)}", len(row), len(rows), cells)
    except csv.Error as error:
        raise CannotReadError(f"the table cannot be read after line {len(rows)}: {error}") from None
    finally:
        csv.field_size_limit(old_limit)
    return Grid("", rows)


def refuse_large(where: str, columns: int, rows: int, cells: int) -> None:
    """Raise CannotReadError where a table is larger than any table of a show."""
    for count, most, what in (
        (columns, MOST_COLUMNS, "columns"),
        (rows, MOST_ROWS, "rows"),
        (cells, MOST_CELLS, "cells"),
    ):
        if count > most:
            raise CannotReadError(f"the table has more than {most:,} {what} ({where})")


def write_csv(grid: Grid, delimiter: str, encoding: str) -> bytes:
    """Return the bytes of a table, lines ended by CR LF (RFC 4180, 2.1)."""
    target = io.StringIO(newline="")
    csv.writer(target, delimiter=delimiter, lineterminator="\r\n").writerows(grid.rows)
    return target.getvalue().encode(encoding, "replace")


def decode_table(data: bytes, encoding: str | None = None) -> str:
    """Return the text of a file in the encoding that was named, or in the one that fits."""
    if encoding is not None:
        return data.decode(encoding, "replace").removeprefix("\ufeff")
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return data.decode("utf-16", "replace")
    if b"\0" in data[:4096]:
        raise CannotReadError("the file holds NUL bytes: it is no table of text")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", "replace")


def find_delimiter(text: str) -> str:
    """Return the delimiter that parts the first lines into the most columns of equal count."""
    lines = text[:65_536].splitlines()[:_LOOKED_AT]
    best, best_score = ",", (0, 0)
    for delimiter in DELIMITERS.values():
        counts = [len(row) for row in _parted(lines, delimiter) if row]
        widths = [count for count in counts if count > 1]
        if widths:
            usual = max(set(widths), key=lambda width: (widths.count(width), width))
            score = (widths.count(usual), usual)
            if score > best_score:
                best, best_score = delimiter, score
    return best


def _parted(lines: list[str], delimiter: str) -> list[list[str]]:
    try:
        return list(csv.reader(lines, delimiter=delimiter))
    except csv.Error:
        return []
