"""Put two people's work together."""

from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from showvault.cli.options import (
    echo_folded,
    format_option,
    make_keeper,
    now,
    open_found_vault,
    vault_option,
    warn,
)

if TYPE_CHECKING:
    from showvault.cli.sources import Sources
    from showvault.flows.combine import Input
    from showvault.flows.keep import Keeper
    from showvault.flows.placing import Placed
    from showvault.flows.spelling import Spell
    from showvault.interchange.reader import Loss
    from showvault.merge.conflicts import Choice, Conflict, Decide


@click.command("merge")
@click.argument("base")
@click.argument("mine")
@click.argument("theirs")
@click.option(
    "--to",
    "target",
    type=click.Path(path_type=Path, dir_okay=False),
    required=True,
    metavar="OUT",
    help="Write the merged show to OUT.",
)
@click.option(
    "--take",
    type=click.Choice(["mine", "theirs", "base"]),
    help="Decide every conflict that is not decided otherwise.",
)
@click.option(
    "--decisions",
    type=click.Path(path_type=Path, dir_okay=False, exists=True),
    metavar="FILE",
    help="Decide as FILE says: JSON, a place or pointer with mine, theirs or base each.",
)
@click.option("--ask", is_flag=True, help="Ask for every open conflict, one by one.")
@click.option(
    "--even-open", is_flag=True, help="Write OUT with conflicts open; mine stands in them."
)
@vault_option
@format_option()
def command(
    base: str,
    mine: str,
    theirs: str,
    target: Path,
    take: "Choice | None",
    decisions: Path | None,
    ask: bool,
    even_open: bool,
    vault_folder: Path | None,
    output: str,
) -> int:
    """Merge MINE and THEIRS, which were both made from BASE, field by field, level by level.

    Each may be a show file or a version (a number, a label, `latest`, a time such as 22:15). OUT
    keeps the formatting of MINE; its name says its format, as with `convert`, and what that cannot
    hold is told. What stands at OUT is kept as a version first; without a vault that could keep it,
    nothing is written over it.

    Exit code 0: merged and written; 1: conflicts are left, each listed, and OUT is not written
    unless --even-open is given.

    \b
    Examples:
      showvault merge 41 evening.json morning.json --to tonight.json
      showvault merge 41 44 45 --to tonight.json --ask
      showvault merge 41 44 45 --to tonight.json --decisions decided.json --take mine
    """
    from showvault.cli.sources import Sources
    from showvault.flows.combine import combine
    from showvault.merge.conflicts import always, leave_open
    from showvault.merge.decisions import by_record, by_sentence
    from showvault.report.merging import merged_record, merged_text
    from showvault.report.records import as_json

    decide: Decide = always(take) if take else leave_open
    if decisions is not None:
        decide = by_record(_read_decisions(decisions), decide)
    target = target.resolve()
    with ExitStack() as stack:
        with Sources(vault_folder) as sources:
            one, other, third = (_input(sources, text) for text in (base, mine, theirs))
            beside = None if sources.opened else target
        keeper = _keeper_of(target, vault_folder, beside, stack)
        spell = _spelling_of(target, keeper)
        combined = combine(one, other, third, decide)
        while ask and combined.conflicts:
            answers = {conflict.text: _ask(conflict) for conflict in combined.conflicts}
            decide = by_sentence(answers, decide)
            combined = combine(one, other, third, decide)
        placed: Placed | None = None
        losses: tuple[Loss, ...] = ()
        if even_open or not combined.conflicts:
            spelled = spell(combined.data)
            losses = spelled.losses
            placed = _place(keeper, target, spelled.data, f"{other.name} and {third.name} merged")
    if output == "json":
        click.echo(as_json(merged_record(combined, placed, losses)))
    else:
        echo_folded(merged_text(combined, placed, losses))
    return 1 if combined.conflicts else 0


def _keeper_of(
    target: Path, vault_folder: Path | None, beside: Path | None, stack: ExitStack
) -> "Keeper | None":
    """Return what keeps what stands at a place; None where nothing does. Raises StandsThereError.

    ``beside`` is what the vault has to watch, unless it is known already which is meant.
    """
    from showvault.flows.placing import StandsThereError
    from showvault.vault.finding import NoVaultError

    if not target.exists():
        return None
    try:
        vault = stack.enter_context(open_found_vault(vault_folder, beside))
    except NoVaultError as none:
        raise StandsThereError(target) from none
    return make_keeper(vault, None)


def _spelling_of(target: Path, keeper: "Keeper | None") -> "Spell":
    """Return what writes a file of this name, as the vault is set. Raises NoWriterError."""
    from showvault.flows.spelling import spelling_of
    from showvault.interchange.registry import installed_registry

    settings = {} if keeper is None else keeper.vault.description.settings.reader_options
    return spelling_of(target, installed_registry(warn), settings)


def _place(keeper: "Keeper | None", target: Path, data: bytes, summary: str) -> "Placed":
    from showvault.flows.placing import place_anew, place_over

    if keeper is None:
        return place_anew(target, data)
    placed = place_over(keeper, target, data, summary, when=now())
    keeper.afterwards()
    return placed


def _input(sources: "Sources", text: str) -> "Input":
    from showvault.cli.sources import read_file_as_show
    from showvault.flows.combine import Input
    from showvault.flows.stored import show_of_version

    source = sources.find(text)
    if source.version is not None:
        return Input(source.name, show_of_version(sources.vault.store, source.version))
    return Input(source.name, read_file_as_show(source.path or Path()))


def _read_decisions(path: Path) -> "dict[str, Choice]":
    from showvault.files.reading import read_settled
    from showvault.merge.decisions import DecisionsError, decisions_from
    from showvault.show.reading import NotUnderstoodError, NotWholeError, parse_tree

    try:
        record: Any = parse_tree(read_settled(path.resolve()).data)
    except (NotWholeError, NotUnderstoodError) as error:
        raise DecisionsError(str(error)) from error
    return dict(decisions_from(record))


def _ask(conflict: "Conflict") -> "Choice":
    from showvault.report.terminal import safe

    click.echo(safe(conflict.text), err=True)
    choice: Choice = click.prompt(
        "who is right?", type=click.Choice(["mine", "theirs", "base"]), err=True
    )
    return choice
