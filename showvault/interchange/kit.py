"""A test kit for readers of other packages: what every reader must do, as functions to call.

In the tests of a package of your own, with the reader registered in its pyproject.toml under
``[project.entry-points."showvault.readers"]``::

    from pathlib import Path

    from showvault.interchange.kit import check_reader, check_writer
    from my_package.reader import BenchReader

    EXAMPLES = {path.name: path.read_bytes() for path in Path("examples").iterdir()}


    def test_my_reader_keeps_the_rules():
        check_reader(BenchReader(), EXAMPLES)


    def test_my_writer_keeps_the_rules():
        check_writer(BenchReader(), EXAMPLES)

Each function raises KitError, which names the rule that is broken and the example that shows it. A
whole package, with a reader and a writer, stands in ``tests/interchange/example_reader`` of the
source.
"""

from collections.abc import Iterator, Mapping

from showvault.errors import ShowvaultError
from showvault.interchange.reader import Loss, Reader, ReadResult, Writer, WriteResult
from showvault.show.reading import Wholeness, find_faults
from showvault.show.writing import write_show

_NEUTRAL = b'{"format": "neutral-show", "format_version": 1}'
_HEAD = 4096
_CUTS = 24
_FLIPS = 60
_SCATTER = 2_654_435_761
"""A large odd number: its multiples fall all over a file, the same way every time."""


class KitError(AssertionError):
    """A reader breaks a rule that every reader must keep."""


def check_reader(reader: Reader, examples: Mapping[str, bytes]) -> None:
    """Hold a reader against every rule, with whole files of its format by their names.

    Raises KitError for the first rule that is broken.
    """
    _require(isinstance(reader, Reader), "a reader has every part of showvault's Reader", "")
    _require(bool(examples), "the kit needs at least one example", "")
    _check_names(reader)
    _require(
        not reader.sniff("show.json", _NEUTRAL),
        "a reader leaves the neutral show alone",
        "show.json",
    )
    for name, data in examples.items():
        _require(reader.sniff(name, data[:_HEAD]), "a reader knows its files by their start", name)
        _require(
            reader.judge(data).state != "broken", "a reader does not call a whole file broken", name
        )
        _check_reading(reader, name, data)
        for damage, damaged in _damaged(data):
            _check_damage(reader, f"{name}, {damage}", damaged)


def check_writer(writer: Reader, examples: Mapping[str, bytes]) -> None:
    """Hold what writes as well as reads against the rules of writing.

    Raises KitError for the first rule that is broken.
    """
    if not isinstance(writer, Writer):
        raise KitError("a writer has every part of showvault's Writer")
    for name, data in examples.items():
        show = writer.read(data, {}).show
        written = writer.write(show, {})
        _require(isinstance(written, WriteResult), "writing returns a WriteResult", name)
        _check_losses(written.losses, name)
        again = writer.write(show, {})
        _require(again.data == written.data, "the same show gives the same bytes", name)
        back = writer.read(written.data, {})
        told = bool(written.losses or back.losses)
        same = write_show(back.show) == write_show(show)
        _require(same or told, "what does not survive writing and reading is told as a loss", name)
        _require(
            writer.judge(written.data).state != "broken", "what was written is judged whole", name
        )


def _check_names(reader: Reader) -> None:
    _require(reader.name.isidentifier(), "the name of a reader is one word", reader.name)
    _require(bool(reader.version), "a reader has a version", "")
    _require(
        all(e.startswith(".") and e == e.lower() for e in reader.extensions),
        "extensions are in lower case with their dot",
        ", ".join(reader.extensions),
    )


def _check_reading(reader: Reader, name: str, data: bytes) -> None:
    result = reader.read(data, {})
    _require(isinstance(result, ReadResult), "reading returns a ReadResult", name)
    _check_losses(result.losses, name)
    if result.show is None:
        return
    faults = find_faults(write_show(result.show))
    _require(not faults, "the show keeps the rules of the neutral show", f"{name}: {faults[:1]}")
    again = reader.read(data, {})
    _require(
        write_show(again.show) == write_show(result.show),
        "the same bytes give the same show",
        name,
    )
    _require(again.losses == result.losses, "the same bytes give the same losses", name)


def _check_damage(reader: Reader, name: str, data: bytes) -> None:
    """A damaged file may be read or refused, but only in the ways that people can act on."""
    try:
        reader.sniff(name, data[:_HEAD])
        judged = reader.judge(data)
    except Exception as error:
        raise KitError(f"sniffing and judging never raise ({name}): {error!r}") from error
    _require(isinstance(judged, Wholeness), "judging returns a Wholeness", name)
    try:
        result = reader.read(data, {})
    except ShowvaultError:
        return
    except Exception as error:
        raise KitError(f"reading raises ShowvaultError alone ({name}): {error!r}") from error
    if result.show is not None:
        faults = find_faults(write_show(result.show))
        _require(not faults, "a damaged file makes no show with faults", f"{name}: {faults[:1]}")


def _check_losses(losses: tuple[Loss, ...], name: str) -> None:
    for loss in losses:
        _require(
            isinstance(loss, Loss) and bool(loss.what) and loss.count > 0,
            "a loss says what it is and how many",
            name,
        )
        _require(
            loss.what.isprintable() and loss.where.isprintable(), "a loss is printable text", name
        )


def _damaged(data: bytes) -> Iterator[tuple[str, bytes]]:
    """Yield the file empty, as NUL bytes, cut short, and with single bytes changed."""
    yield "empty", b""
    yield "all NUL bytes", bytes(min(len(data), _HEAD))
    for step in range(_CUTS):
        end = len(data) * step // _CUTS
        yield f"cut after {end:,} bytes", data[:end]
    for step in range(_FLIPS if data else 0):
        at, value = step * _SCATTER % len(data), (step * 97 + 13) % 256
        yield f"byte {at:,} as {value}", data[:at] + bytes([value]) + data[at + 1 :]


def _require(holds: bool, rule: str, example: str) -> None:
    if not holds:
        raise KitError(f"{rule}" + (f" ({example})" if example else ""))
