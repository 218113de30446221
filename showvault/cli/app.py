"""The command line: which commands there are, and how a run ends.

Commands are loaded when they are called, so that ``--help`` and ``--version`` start at once.
"""

import importlib
import os
import sys
from typing import Any

import click

from showvault import __version__
from showvault.errors import ShowvaultError

COMMANDS: dict[str, tuple[str, str]] = {
    "demo": ("demo", "See the whole job done on a sample show."),
    "watch": ("watch", "Watch show files and keep every save."),
    "snapshot": ("snapshot", "Keep a version by hand, now."),
    "status": ("status", "Tell whether the show is protected."),
    "list": ("versions", "List the versions, newest first."),
    "label": ("label", "Give a version a name."),
    "compare": ("compare", "Say what differs between two versions or files."),
    "since": ("since", "Review everything since a time or a label."),
    "history": ("history", "Say who changed one thing, when and to what."),
    "restore": ("restore", "Bring a version back."),
    "undo": ("undo", "Undo what a version changed, or one edit of it."),
    "merge": ("merge", "Put two people's work together."),
    "look": ("look", "Say what a cue puts on stage."),
    "check": ("check", "Look for what is wrong in a show."),
    "convert": ("convert", "Write a show in another format."),
    "settings": ("settings", "See and change what is set for a vault."),
    "staged": ("staged", "Serve the git hooks of a repository of your own."),
    "verify": ("verify", "Read the whole vault back and say what is damaged."),
    "schema": ("schema", "Print the JSON Schema of the neutral show, or of compare."),
}
"""Every command: its module and its line in the help."""

EPILOG = """\
\b
Examples:
  showvault watch SHOWS/           protect every show saved in the folder
  showvault status                 are we protected, and since when?
  showvault list                   what was kept
  showvault compare previous latest
  showvault restore 22:15          the newest version at or before 22:15

Exit codes: 0 done; 1 done, and the answer is no; 2 wrong usage; 3 the input cannot be used;
4 not found; 5 somebody else holds the vault; 6 the disk refused; 7 the vault is damaged or from
a newer release; 8 a fault of showvault itself.
"""


class LazyCommands(click.Group):
    """A group whose commands are imported when they are called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the commands in the order of a working night."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, name: str) -> click.Command | None:
        """Import one command."""
        if name not in COMMANDS:
            return None
        module = importlib.import_module(f"showvault.cli.{COMMANDS[name][0]}")
        command: click.Command = module.command
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands without importing them."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, line) for name, (_, line) in COMMANDS.items()])

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find a command; an unknown one names those that there are."""
        if args and args[0] not in COMMANDS:
            ctx.fail(f"there is no command {args[0]!r}; the commands are {', '.join(COMMANDS)}")
        return super().resolve_command(ctx, args)


@click.group(
    cls=LazyCommands,
    epilog=EPILOG,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)
@click.version_option(__version__, prog_name="showvault")
def main() -> None:
    """Version control and backup for stage-lighting show files.

    showvault watches your show files while you work, keeps timestamped copies and a full history,
    and says in lighting terms what changed.
    """


def run(arguments: list[str] | None = None) -> None:
    """Run the command line and end the process; no run ends in a traceback."""
    _speak_utf8()
    try:
        code = main.main(arguments, prog_name="showvault", standalone_mode=False)
    except ShowvaultError as error:
        sys.exit(_tell(error))
    except click.exceptions.Exit as error:
        sys.exit(error.exit_code)
    except click.ClickException as error:
        sys.exit(_tell_usage(error))
    except (click.Abort, KeyboardInterrupt):
        click.echo("stopped", err=True)
        sys.exit(130)
    except BrokenPipeError:
        # Whoever reads our output has left, such as a pager.
        sys.stderr.close()
        sys.exit(0)
    except RecursionError:
        sys.exit(_tell(ShowvaultError("the input is nested too deep to be used")))
    except MemoryError:
        sys.exit(_tell(ShowvaultError("there is not enough memory for this input")))
    except OSError as error:
        sys.exit(_tell(_from_system(error)))
    except Exception as error:
        sys.exit(_tell_own_fault(error))
    sys.exit(code if isinstance(code, int) else 0)


def _tell_usage(error: click.ClickException) -> int:
    """Tell what is wrong with the arguments; what it repeats of them cannot steer a terminal."""
    told = ShowvaultError(error.format_message())
    context = error.ctx if isinstance(error, click.UsageError) else None
    if context is not None:
        click.echo(context.get_usage(), err=True)
        told.hint = f"{context.command_path} --help says what there is"
    told.exit_code = error.exit_code
    return _tell(told)


def _tell(error: ShowvaultError) -> int:
    from showvault.cli.options import coloured
    from showvault.report.terminal import safe_lines

    click.echo(f"{coloured('error:', 'red')} {safe_lines(str(error))}", err=True)
    if error.hint:
        click.echo(f"  {safe_lines(error.hint)}", err=True)
    return error.exit_code


def _tell_own_fault(error: Exception) -> int:
    """Own up to a fault of showvault itself; whoever mends it can have the whole story."""
    if os.environ.get("SHOWVAULT_TRACEBACK"):
        raise error
    told = ShowvaultError(
        f"showvault itself failed: {type(error).__name__}: {error}",
        hint="what was kept is safe; please report this with the output of the same command under "
        "SHOWVAULT_TRACEBACK=1",
    )
    told.exit_code = 8
    return _tell(told)


def _from_system(error: OSError) -> ShowvaultError:
    where = f" ({error.filename})" if error.filename else ""
    told = ShowvaultError(f"the system refused: {error.strerror or error}{where}")
    told.exit_code = 6
    return told


def _speak_utf8() -> None:
    """Print any text whatever the terminal's encoding: what it lacks is spelled out."""
    for stream in (sys.stdout, sys.stderr):
        reconfigure: Any = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="backslashreplace")


if __name__ == "__main__":
    run()
