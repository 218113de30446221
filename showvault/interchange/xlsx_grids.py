"""Spreadsheet workbooks (XLSX, ECMA-376) as tables of texts and back.

Formulas are never read as such (the value that was stored last is, and where there is none, that is
told) and never written: every cell is a text or a number. A workbook is an archive of XML, and is
looked at as one before the library opens it.
"""

import io
import re
import zipfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any

from showvault.interchange.allowance import Allowance
from showvault.interchange.archives import open_archive, printable
from showvault.interchange.csv_grids import LONGEST_CELL, refuse_large
from showvault.interchange.loss_book import LossBook
from showvault.interchange.reader import CannotReadError
from showvault.interchange.safe_xml import refuse_overgrown
from showvault.interchange.table_cells import Grid, parse_number, spell_number

MOST_SHEETS = 50
LARGEST_PART = 64 * 1024 * 1024
LARGEST_WORKBOOK = 256 * 1024 * 1024
MOST_CHARACTERS = 100_000_000
"""In all cells together: one stored text may stand in any number of them."""
MOST_EMPTY = 20_000_000
"""Cells between those that hold something; a sheet may name its last column and nothing else."""
_FIRST_DAY = (1980, 1, 1, 0, 0, 0)
_CHANGED = re.compile(rb"(<dcterms:(?:created|modified)[^>]*>)[^<]*")
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
_ERRORS = frozenset({"#NULL!", "#DIV/0!", "#VALUE!", "#REF!", "#NAME?", "#NUM!", "#N/A"})
"""ECMA-376 Part 1, 18.18.11 and 18.17.3: what a cell of type e holds. From memory, high."""
_FORMULA = re.compile(rb"<(?:\w+:)?f[\s/>]")
"""ECMA-376 Part 1, 18.3.1.40: the formula of a cell."""


@dataclass(frozen=True)
class Workbook:
    """The sheets of a workbook, and how many of their cells show what a formula gave last."""

    grids: tuple[Grid, ...]
    formulas: int = 0


def read_xlsx(data: bytes, book: LossBook) -> Workbook:
    """Return the sheets of a workbook; a cell that cannot be read goes into the book.

    Raises CannotReadError for what is unsafe or no workbook.
    """
    has_formulas = _look_inside(data)
    try:
        sheets = _sheets(data, data_only=True)
        grids = tuple(Grid(sheet.title, _rows(sheet, book)) for sheet in sheets)
        if not has_formulas:
            return Workbook(grids)
        live = _sheets(data, data_only=False)
        pairs = zip(grids, live, strict=True)
        return Workbook(grids, sum(_tell_formulas(grid, sheet, book) for grid, sheet in pairs))
    except CannotReadError:
        raise
    except Exception as error:  # the library has no error of its own for damaged workbooks
        raise CannotReadError(
            f"the workbook cannot be read: {type(error).__name__}: {str(error)[:100]}"
        ) from None


def write_xlsx(grids: Sequence[Grid]) -> bytes:
    """Return a workbook with a sheet for each table; the same tables give the same bytes."""
    import openpyxl

    book = openpyxl.Workbook(write_only=True)
    for grid in grids:
        sheet = book.create_sheet(grid.name)
        sheet.freeze_panes = "A2"
        for row in grid.rows:
            sheet.append([_cell(sheet, text) for text in row])
    target = io.BytesIO()
    book.save(target)
    return _without_clock(target.getvalue())


def without_controls(text: str) -> str:
    """Return a text without the characters that XML has no place for; each becomes "?"."""
    return _CONTROL.sub("?", text)


def _cell(sheet: Any, text: str) -> Any:
    from openpyxl.cell import WriteOnlyCell

    number = parse_number(text)
    if number is not None and spell_number(number) == text:  # "007" and "1.10" stay texts
        return WriteOnlyCell(sheet, number)
    cell = WriteOnlyCell(sheet, without_controls(text))
    cell.data_type = "s"  # a text, whatever it begins with
    return cell


def _look_inside(data: bytes) -> bool:
    """Unpack every entry within limits, refuse XML that no workbook needs; tell of formulas."""
    archive = open_archive(data, Allowance(LARGEST_WORKBOOK))
    has_formulas = False
    for info in list(archive.entries.values()):
        inner = archive.read(info.filename, LARGEST_PART)
        name = info.filename.lower()
        if name.endswith((".xml", ".rels", ".vml")):
            if b"<!DOCTYPE" in inner or b"\0" in inner:
                raise CannotReadError(f"{printable(name)} in the workbook carries a doctype")
            is_streamed = name.startswith("xl/worksheets/") or name == "xl/sharedstrings.xml"
            if not is_streamed:  # the library holds every other part as a whole
                refuse_overgrown(inner, printable(name))
            has_formulas |= is_streamed and _FORMULA.search(inner) is not None
    return has_formulas


def _sheets(data: bytes, *, data_only: bool) -> list[Any]:
    import openpyxl

    book = openpyxl.load_workbook(io.BytesIO(data), read_only=True, data_only=data_only)
    sheets: list[Any] = book.worksheets
    if len(sheets) > MOST_SHEETS:
        raise CannotReadError(f"the workbook has more than {MOST_SHEETS} sheets")
    for sheet in sheets:
        sheet.reset_dimensions()  # what a sheet says of its own size is not to be trusted
    return sheets


def _rows(sheet: Any, book: LossBook) -> list[list[str]]:
    rows: list[list[str]] = []
    cells = empty = characters = 0
    for row in sheet.iter_rows(values_only=True):
        filled = [_text_of(value) for value in row]
        while filled and not filled[-1]:
            filled.pop()
        rows.append(filled)
        empty += len(row) - len(filled)
        cells += len(filled)
        characters += sum(map(len, filled))
        where = f"sheet {sheet.title}"
        refuse_large(where, len(filled), len(rows), cells)
        longest = max(map(len, filled), default=0)
        if empty > MOST_EMPTY or characters > MOST_CHARACTERS or longest > LONGEST_CELL:
            raise CannotReadError(f"the table is larger than any table of a show ({where})")
        if any(text in _ERRORS for text in filled):
            column = next(n for n, text in enumerate(filled) if text in _ERRORS)
            count = sum(text in _ERRORS for text in filled)
            book.add("cells that show an error", _place(sheet, len(rows), column), count)
    return rows


def _tell_formulas(grid: Grid, sheet: Any, book: LossBook) -> int:
    """Enter each formula whose value is not stored; return how many others there are."""
    stored = 0
    for number, column in _formulas(sheet):
        row = grid.rows[number - 1] if number <= len(grid.rows) else []
        if column < len(row) and row[column]:
            stored += 1
        else:
            book.add("formulas without a stored value", _place(sheet, number, column))
    return stored


def _formulas(sheet: Any) -> Iterator[tuple[int, int]]:
    """Yield row (from 1) and column (from 0) of each cell that is a formula."""
    for number, row in enumerate(sheet.iter_rows(), 1):
        for column, cell in enumerate(row):
            if cell.data_type == "f":
                yield number, column


def _place(sheet: Any, row: int, column: int) -> str:
    from openpyxl.utils import get_column_letter

    return f"sheet {sheet.title} cell {get_column_letter(column + 1)}{row}"


def _text_of(value: Any) -> str:
    match value:
        case None:
            return ""
        case bool():
            return "yes" if value else "no"
        case int() | float() | Decimal():
            return spell_number(value)
        case datetime():
            return value.isoformat(" ")
        case _:
            return str(value)


def _without_clock(data: bytes) -> bytes:
    target = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as made, zipfile.ZipFile(target, "w") as packed:
        for name in made.namelist():
            info = zipfile.ZipInfo(name, _FIRST_DAY)
            info.compress_type = zipfile.ZIP_DEFLATED
            info.create_system = 0
            inner = made.read(name)
            if name == "docProps/core.xml":
                inner = _CHANGED.sub(rb"\g<1>1980-01-01T00:00:00Z", inner)
            packed.writestr(info, inner)
    return target.getvalue()
