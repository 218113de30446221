"""Say what a cue puts on stage."""

from pathlib import Path

import click

from showvault.cli.options import format_option, screen_width, vault_option


@click.command("look")
@click.argument("show", metavar="SHOW")
@click.option("--list", "cue_list", default="1", show_default=True, metavar="N", help="Cue list.")
@click.option("--cue", required=True, metavar="N", help="Cue number.")
@click.option("--dmx", is_flag=True, help="The slots of each universe instead of levels.")
@vault_option
@format_option()
def command(
    show: str, cue_list: str, cue: str, dmx: bool, vault_folder: Path | None, output: str
) -> None:
    """Say what one list alone puts on stage once a cue has finished.

    SHOW is a show file or a version. Every parameter of every fixture is there, defaults included.
    Other playbacks are not looked at.

    \b
    Examples:
      showvault look evening.json --cue 12.5
      showvault look latest --list 2 --cue 5 --format json
      showvault look latest --cue 12.5 --dmx
    """
    from showvault.cli.sources import read_show
    from showvault.look.dmx import dmx_of
    from showvault.look.tracking import look_as_json, look_at
    from showvault.report.looks import look_text, slots_text
    from showvault.report.records import as_json
    from showvault.show.addressing import shortest_cue_number
    from showvault.show.reading import decode_show

    decoded = decode_show(read_show(show, vault_folder), show)
    number = shortest_cue_number(cue)
    look = look_at(decoded, cue_list, number)
    if dmx:
        universes = dmx_of(decoded, look)
        if output == "json":
            click.echo(as_json({str(n): list(slots) for n, slots in sorted(universes.items())}))
        else:
            click.echo(slots_text(universes))
    elif output == "json":
        click.echo(as_json(look_as_json(look)))
    else:
        click.echo(look_text(look_as_json(look), f"list {cue_list} cue {number}", screen_width()))
