"""What a conversion did and what was lost on the way, as text and for programs."""

from typing import Any

from showvault.interchange.converting import Converted
from showvault.interchange.reader import Loss
from showvault.report.terminal import safe

NOT_HELD = "not held by the file that was written:"


def conversion_text(name_in: str, name_out: str, converted: Converted) -> str:
    """Return the report of a conversion: how it was read, and every loss on either side."""
    lines = [
        f"{safe(name_in)} → {safe(name_out)}: {_say_losses(converted)}",
        *(f"  {safe(note)}" for note in converted.notes),
        *loss_lines("not carried from the file that was read:", converted.read_losses),
        *loss_lines(NOT_HELD, converted.write_losses),
    ]
    return "\n".join(lines)


def conversion_record(written: str | None, converted: Converted) -> dict[str, Any]:
    """Return a conversion for programs; ``written`` is the path, or nothing."""
    return {
        "written": written,
        "reader": converted.reader,
        "writer": converted.writer,
        "notes": list(converted.notes),
        "read_losses": [loss_record(loss) for loss in converted.read_losses],
        "write_losses": [loss_record(loss) for loss in converted.write_losses],
    }


def laid_lines(converted: Converted) -> list[str]:
    """Say how a rig was laid into a show; nothing where none was."""
    laid = converted.laid
    if laid is None:
        return []
    lines = [f"fixtures in both: {len(laid.matched)}, new from the rig: {len(laid.added)}"]
    if laid.not_in_rig:
        lines.append(f"fixtures that the rig does not have, kept: {', '.join(laid.not_in_rig)}")
    return lines


def _say_losses(converted: Converted) -> str:
    count = sum(loss.count for loss in converted.losses)
    return f"losses: {count}" if count else "nothing was lost"


def loss_lines(title: str, losses: tuple[Loss, ...]) -> list[str]:
    """Return what was lost, a line for each kind under the title; nothing where nothing was."""
    if not losses:
        return []
    return [f"  {title}", *(f"    {safe(str(loss))}" for loss in losses)]


def loss_record(loss: Loss) -> dict[str, Any]:
    return {"what": loss.what, "where": loss.where, "count": loss.count}
