"""Spreadsheet workbooks (XLSX, ECMA-376) as tables of texts and back.

Formulas are never read as such (their last value is) and never written: every cell is a text or a
number. A workbook is an archive of XML, and is looked at as one before the library opens it.
"""

import io
import re
import zipfile
from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal
from typing import Any

from showvault.interchange.archives import open_archive
from showvault.interchange.csv_grids import refuse_large
from showvault.interchange.reader import CannotReadError
from showvault.interchange.table_cells import Grid, parse_number, spell_number

MOST_SHEETS = 50
LARGEST_PART = 64 * 1024 * 1024
LARGEST_WORKBOOK = 256 * 1024 * 1024
_FIRST_DAY = (1980, 1, 1, 0, 0, 0)
_CHANGED = re.compile(rb"(<dcterms:(?:created|modified)[^>]*>)[^<]*")
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")


def read_xlsx(data: bytes) -> list[Grid]:
    """Return the sheets of a workbook. Raises CannotReadError for what is unsafe or none."""
    import openpyxl

    _look_inside(data)
    try:
        book = openpyxl.load_workbook(io.BytesIO(data), read_only=True, data_only=True)
        sheets = book.worksheets
        if len(sheets) > MOST_SHEETS:
            raise CannotReadError(f"the workbook has more than {MOST_SHEETS} sheets")
        return [Grid(sheet.title, _rows(sheet)) for sheet in sheets]
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


def _look_inside(data: bytes) -> None:
    """Unpack every entry within limits, and refuse XML that carries a doctype."""
    archive = open_archive(data)
    archive.left = LARGEST_WORKBOOK
    for info in list(archive.entries.values()):
        inner = archive.read(info.filename, LARGEST_PART)
        if info.filename.lower().endswith((".xml", ".rels", ".vml")) and (
            b"<!DOCTYPE" in inner or b"\0" in inner
        ):
            raise CannotReadError(f"{info.filename[:80]} in the workbook carries a doctype")


def _rows(sheet: Any) -> list[list[str]]:
    sheet.reset_dimensions()  # what a sheet says of its own size is not to be trusted
    rows: list[list[str]] = []
    cells = 0
    for row in sheet.iter_rows(values_only=True):
        filled = [_text_of(value) for value in row]
        while filled and not filled[-1]:
            filled.pop()
        cells += len(filled)
        rows.append(filled)
        refuse_large(f"sheet {sheet.title}", len(filled), len(rows), cells)
    return rows


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
