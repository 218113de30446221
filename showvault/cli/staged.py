"""What the git hooks ask of the shows that are staged in a repository of one's own."""

from pathlib import Path

import click

from showvault.cli.options import fold_width


@click.group("staged")
def command() -> None:
    """Serve the git hooks of people who keep shows in a repository of their own.

    \b
    Examples:
      showvault staged check
      showvault staged summary .git/COMMIT_EDITMSG
    """


@command.command("check")
def check() -> int:
    """Say what is wrong in the staged shows; exit code 1 where there are errors."""
    from showvault.check.finder import find_problems_of_file
    from showvault.flows.staged import staged_shows
    from showvault.report.findings import findings_text
    from showvault.report.terminal import safe

    errors = 0
    for show in staged_shows(Path.cwd()):
        found = find_problems_of_file(show.after)
        findings = [finding for finding in found if finding.severity != "note"]
        errors += sum(finding.severity == "error" for finding in findings)
        if findings:
            click.echo(f"{safe(show.path)}:")
            click.echo(findings_text(findings, fold_width()))
    if errors:
        click.echo("not committed; mend the errors first, or commit with: git commit --no-verify")
    return 1 if errors else 0


@command.command("summary")
@click.argument("message", type=click.Path(path_type=Path))
@click.argument("source", required=False, default="")
@click.argument("commit", required=False)
def summary(message: Path, source: str, commit: str | None) -> None:
    """Put a summary of the staged shows at the head of the file MESSAGE.

    Git says in SOURCE where the message comes from; one that somebody wrote is left alone.
    """
    from showvault.flows.staged import offer_summary

    if source in ("", "template"):
        offer_summary(Path.cwd(), message)
