"""Write a show in another format."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from showvault.cli.options import echo_folded, format_option, warn

if TYPE_CHECKING:
    from showvault.interchange.converting import Converted


@click.command("convert")
@click.argument("source", metavar="IN", type=click.Path(path_type=Path, dir_okay=False))
@click.argument("target", metavar="OUT", type=click.Path(path_type=Path, dir_okay=False))
@click.option(
    "--set", "settings", multiple=True, metavar="NAME=VALUE", help="How to read or write."
)
@click.option(
    "--into",
    "show",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="SHOW",
    help="Lay the rig of IN into SHOW and write that; the patch comparison comes first.",
)
@click.option("--yes", is_flag=True, help="Write without asking.")
@format_option()
def command(
    source: Path, target: Path, settings: tuple[str, ...], show: Path | None, yes: bool, output: str
) -> None:
    """Write the show of IN as OUT; the names say which formats they are.

    \b
    Formats: .json the neutral show; .asc ASCII cue data; .mvr rigs; .gdtf fixture types (read
    only); .csv .tsv .xlsx tables; others by readers that are installed. Everything that one side
    cannot carry is told.

    \b
    Settings, where the formats know them:
      cues=pictures|moves     what a cue of ASCII cue data is
      levels=auto|percent|hex how ASCII cue data spells levels
      table=patch|cues|presets|groups, columns="Kanal=fixture, Ort=position"
      delimiter=comma|semicolon|tab|bar, encoding=utf-8-bom|utf-8|utf-16|windows-1252
      modes=used|all          which modes of a rig's fixture types are read

    \b
    Examples:
      showvault convert export.asc tonight.json
      showvault convert tonight.json hookup.xlsx
      showvault convert stage.mvr tonight.json --into tonight.json
    """
    from showvault.files.durable import replace_durably
    from showvault.report.conversion import conversion_record, conversion_text, laid_lines
    from showvault.report.records import as_json

    converted = _convert(source, target, dict(map(_setting, settings)), show)
    if show is not None and output == "text":
        click.echo(_patch_comparison(show, converted))
    for line in laid_lines(converted):
        click.echo(line, err=output == "json")
    if not yes and (target.exists() or show is not None):
        _ask(target)
    replace_durably(target.resolve(), converted.data)
    if output == "json":
        click.echo(as_json(conversion_record(str(target), converted)))
    else:
        echo_folded(conversion_text(source.name, target.name, converted))


def _convert(source: Path, target: Path, options: dict[str, str], show: Path | None) -> "Converted":
    from showvault.interchange.converting import convert, convert_into
    from showvault.interchange.registry import installed_registry

    registry = installed_registry(warn)
    data = _read(source)
    if show is None:
        return convert(data, source.name, target.name, options, registry)
    return convert_into(_read_tree(show), data, source.name, target.name, options, registry)


def _read(path: Path) -> bytes:
    from showvault.files.reading import read_settled

    return read_settled(path.resolve()).data


def _read_tree(path: Path) -> object:
    from showvault.interchange.neutral import NeutralReader

    return NeutralReader().read(_read(path), {}).show


def _setting(text: str) -> tuple[str, str]:
    name, equals, value = text.partition("=")
    if not equals or not name:
        raise click.BadParameter(f"{text!r} is not NAME=VALUE", param_hint="--set")
    return name.strip(), value.strip()


def _patch_comparison(show: Path, converted: "Converted") -> str:
    """Say what the rig would change, before anything is written."""
    from showvault.compare.differ import compare_shows
    from showvault.compare.patch_sheet import compare_patches
    from showvault.report.patch_sheet import patch_sheet_text
    from showvault.show.parts import parts_of_file
    from showvault.show.writing import write_show

    if converted.laid is None:
        return ""
    before, after = parts_of_file(_read(show)), parts_of_file(write_show(converted.laid.show))
    patches = compare_patches(before, after, compare_shows(before, after))
    return patch_sheet_text(show.name, "with the rig", patches)


def _ask(target: Path) -> None:
    from showvault.report.terminal import safe

    there = "replace" if target.exists() else "write"
    click.confirm(f"{there} {safe(target.name)}?", abort=True, err=True)
