"""What a look at the whole vault found and mended, as text and as a record."""

from collections.abc import Iterable
from typing import Any

from showvault.flows.mending import Mended
from showvault.report.records import version_record
from showvault.report.terminal import safe
from showvault.vault.checking import Damage


def mended_text(mended: Mended, *, tried: bool) -> str:
    """Return a line for each damage and repair; ``tried`` tells whether mending was asked for."""
    if not mended.found:
        return "everything is as it was kept"
    lines = [f"damaged, {one.where}: {safe(str(one))}" for one in mended.found]
    lines += [f"mended: {safe(str(repair))}" for repair in mended.repairs]
    lines += [
        f"kept anew as version {kept.version.number}: {safe(kept.version.note)}"
        for kept in mended.kept_anew
    ]
    if not tried:
        lines.append("showvault verify --mend mends what can be mended")
    elif not mended.left:
        lines.append("all of it is mended")
    else:
        lines += [f"LEFT, {one.where}: {safe(str(one))}" for one in mended.left]
    return "\n".join(lines)


def mended_record(mended: Mended) -> dict[str, Any]:
    """Return the same for programs."""
    return {
        "damage": _records(mended.found),
        "repairs": [str(repair) for repair in mended.repairs],
        "kept_anew": [version_record(kept.version) for kept in mended.kept_anew],
        "left": _records(mended.left),
    }


def _records(damages: Iterable[Damage]) -> list[dict[str, str]]:
    return [{"where": one.where, "text": str(one)} for one in damages]
