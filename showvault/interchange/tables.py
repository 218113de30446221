"""Spreadsheets as formats: patch, cue sheet, presets and groups, in CSV and in XLSX."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from showvault.interchange.csv_grids import DELIMITERS, ENCODINGS, read_csv, write_csv
from showvault.interchange.loss_book import LossBook
from showvault.interchange.opaque import judge_archive, judge_empty
from showvault.interchange.reader import (
    CannotReadError,
    Options,
    ReadResult,
    Role,
    WriteResult,
    choose,
    refuse_unknown,
)
from showvault.interchange.show_to_tables import SECTIONS, count_left_out, table_of
from showvault.interchange.table_cells import Grid
from showvault.interchange.table_columns import TABLES, TableKind, parse_columns
from showvault.interchange.tables_to_show import TableReading, show_from_tables
from showvault.interchange.xlsx_grids import read_xlsx, write_xlsx
from showvault.show.reading import Wholeness
from showvault.show.trees import Tree

KINDS: tuple[TableKind, ...] = tuple(TABLES)
_TABLE_OPTIONS = {
    "table": "patch, cues, presets or groups; found by the header when reading if unsaid",
    "columns": "headers of your own, as HEADER=FIELD, HEADER=FIELD",
}


class CsvReader:
    """Reads and writes one table as CSV."""

    name = "csv"
    version = "1"
    role: Role = "source"
    extensions: tuple[str, ...] = (".csv",)
    usual_delimiter = "comma"
    options: Mapping[str, str] = {
        **_TABLE_OPTIONS,
        "delimiter": f"{', '.join(DELIMITERS)}; found when reading, the usual one when writing",
        "encoding": f"{', '.join(ENCODINGS)}; found when reading, utf-8-bom when writing if unsaid",
    }

    def sniff(self, name: str, head: bytes) -> bool:
        """Tell by the name: any text could be a table."""
        return name.lower().endswith(self.extensions)

    def judge(self, data: bytes) -> Wholeness:
        """Tell a file that failed outright; a table has no end mark."""
        return judge_empty(data) or Wholeness("unproven")

    def read(self, data: bytes, options: Options) -> ReadResult:
        """Return the table as part of a show. Raises CannotReadError where no header is known."""
        refuse_unknown(options, self.options, "the reader of tables")
        delimiter = _one_of(options, "delimiter", DELIMITERS) if "delimiter" in options else None
        encoding = _one_of(options, "encoding", ENCODINGS) if "encoding" in options else None
        asked = _asked(options)
        return _read([read_csv(data, delimiter, encoding)], asked, LossBook())

    def write(self, show: Tree, options: Options) -> WriteResult:
        """Write the table that the option names, the patch if unsaid."""
        refuse_unknown(options, self.options, "the writer of tables")
        kind = choose(options, "table", KINDS)
        delimiter = _one_of({"delimiter": self.usual_delimiter, **options}, "delimiter", DELIMITERS)
        encoding = _one_of(options, "encoding", ENCODINGS)
        book = LossBook()
        grid = table_of(show, kind, book)
        count_left_out(show, (kind,), book)
        _count_unspelled(grid, encoding, book)
        return WriteResult(write_csv(grid, delimiter, encoding), book.losses())


class TsvReader(CsvReader):
    """Reads and writes one table parted by tabs."""

    name = "tsv"
    extensions: tuple[str, ...] = (".tsv",)
    usual_delimiter = "tab"


class XlsxReader:
    """Reads and writes workbooks, a sheet for each table."""

    name = "xlsx"
    version = "2"
    role: Role = "source"
    extensions: tuple[str, ...] = (".xlsx",)
    options: Mapping[str, str] = _TABLE_OPTIONS

    def sniff(self, name: str, head: bytes) -> bool:
        """Tell by the name; an archive alone could be anything."""
        return name.lower().endswith(self.extensions) and head.startswith(b"PK")

    def judge(self, data: bytes) -> Wholeness:
        """Tell whether the archive is complete."""
        return judge_archive(data)

    def read(self, data: bytes, options: Options) -> ReadResult:
        """Return all tables whose header is known. Raises CannotReadError where there is none."""
        refuse_unknown(options, self.options, "the reader of workbooks")
        asked, book = _asked(options), LossBook()
        workbook = read_xlsx(data, book)
        result = _read(workbook.grids, asked, book)
        if not workbook.formulas:
            return result
        note = f"formulas are read as the value that was stored last: {workbook.formulas}"
        return replace(result, notes=(*result.notes, note))

    def write(self, show: Tree, options: Options) -> WriteResult:
        """Write the table that the option names, or all that hold something."""
        refuse_unknown(options, self.options, "the writer of workbooks")
        kinds = (choose(options, "table", KINDS),) if "table" in options else _filled(show)
        book = LossBook()
        grids = [table_of(show, kind, book) for kind in kinds]
        count_left_out(show, kinds, book)
        return WriteResult(write_xlsx(grids), book.losses())


def _filled(show: Tree) -> tuple[TableKind, ...]:
    return tuple(kind for kind in KINDS if show.get(SECTIONS[kind])) or ("patch",)


def _asked(options: Options) -> tuple[TableKind | None, Mapping[str, str]]:
    """Return which table a person wants, and their own headers, before a byte is looked at."""
    kind = choose(options, "table", KINDS) if "table" in options else None
    return kind, parse_columns(options.get("columns", ""), KINDS)


def _read(
    grids: Sequence[Grid], asked: tuple[TableKind | None, Mapping[str, str]], book: LossBook
) -> ReadResult:
    kind, named = asked
    reading = TableReading(book)
    for grid in grids:
        if not reading.take(grid, kind, named) and grid.rows:
            book.add("sheets without a header that is known", f"sheet {grid.name}".strip())
    if not reading.kinds:
        titles = ", ".join(column.title for column in TABLES[kind or "patch"][:6])
        raise CannotReadError(
            "no row of the table names columns that are known",
            hint=f"a patch has columns such as {titles}; name your own with the option columns",
        )
    found = ", ".join(reading.kinds)
    return ReadResult(show_from_tables(reading.sections), book.losses(), (f"read as: {found}",))


def _one_of(options: Options, name: str, known: Mapping[str, str]) -> str:
    return known[choose(options, name, tuple(known))]


def _count_unspelled(grid: Grid, encoding: str, book: LossBook) -> None:
    for row in grid.rows:
        for text in row:
            try:
                text.encode(encoding)
            except UnicodeEncodeError:
                book.add("texts with characters that the encoding does not have", text[:20])
