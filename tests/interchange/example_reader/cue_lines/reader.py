"""Cue sheets of one line a cue: "12.5 | Storm breaks | 3", after a first line "cue lines"."""

from collections.abc import Mapping
from decimal import Decimal, InvalidOperation
from typing import Any

from showvault.interchange.reader import (
    CannotReadError,
    Loss,
    Options,
    ReadResult,
    Role,
    WriteResult,
    refuse_unknown,
)
from showvault.show.addressing import CueNumberError, cue_order, shortest_cue_number
from showvault.show.reading import Wholeness

FIRST_LINE = "cue lines"
LAST_LINE = "end"


class CueLinesReader:
    """Reads and writes number, label and fade of the cues of list 1."""

    name = "cue_lines"
    version = "1"
    role: Role = "source"
    extensions: tuple[str, ...] = (".cuelines",)
    options: Mapping[str, str] = {}

    def sniff(self, name: str, head: bytes) -> bool:
        """Tell by the first line."""
        return head.startswith(FIRST_LINE.encode())

    def judge(self, data: bytes) -> Wholeness:
        """Tell by the last line whether the file is complete."""
        if data.split()[-1:] == [LAST_LINE.encode()]:
            return Wholeness("whole")
        return Wholeness("broken", f"the last line is not {LAST_LINE!r}")

    def read(self, data: bytes, options: Options) -> ReadResult:
        """Return the cues; a line that cannot be used is told as a loss."""
        refuse_unknown(options, self.options, "the reader of cue lines")
        lines = data.decode("utf-8", "replace").splitlines()
        if lines[:1] != [FIRST_LINE]:
            raise CannotReadError(f"the first line is not {FIRST_LINE!r}")
        cues: dict[str, Any] = {}
        losses = []
        for number, line in enumerate(lines[1:], 2):
            if line.strip() in ("", LAST_LINE):
                continue
            cue = self._cue(line)
            if cue is None:
                losses.append(Loss("line that is no cue", f"line {number}"))
            else:
                cues[cue[0]] = cue[1]
        show: dict[str, Any] = {"format": "neutral-show", "format_version": 1}
        if cues:
            show["cue_lists"] = {"1": {"cues": cues}}
        return ReadResult(show, tuple(losses))

    def _cue(self, line: str) -> tuple[str, dict[str, Any]] | None:
        parts = [part.strip() for part in line.split("|")]
        if len(parts) != 3 or not line.isprintable():
            return None
        try:
            number, fade = shortest_cue_number(parts[0]), Decimal(parts[2])
        except (CueNumberError, InvalidOperation):
            return None
        if not (fade.is_finite() and 0 <= fade < 10**6 and round(fade, 3) == fade):
            return None
        return number, {"label": parts[1], "fade_in": fade}

    def write(self, show: Any, options: Options) -> WriteResult:
        """Write what the lines can hold; everything else is told."""
        lines, losses = [FIRST_LINE], []
        for name in sorted(show.keys() - {"format", "format_version", "cue_lists"}):
            losses.append(Loss(name, "the show"))
        for key, cue_list in sorted(show.get("cue_lists", {}).items()):
            if key != "1" or cue_list.keys() - {"cues"}:
                losses.append(Loss("what lists hold beside cues, and lists but the first"))
            if key != "1":
                continue
            for number in sorted(cue_list.get("cues", {}), key=cue_order):
                cue = cue_list["cues"][number]
                label = " ".join(cue.get("label", "").replace("|", "/").split())
                if cue != {"label": label, "fade_in": cue.get("fade_in")}:
                    losses.append(Loss("what cues hold beside label and fade", f"cue {number}"))
                lines.append(f"{number} | {label} | {Decimal(cue.get('fade_in', 0)):f}")
        return WriteResult("\n".join([*lines, LAST_LINE, ""]).encode(), tuple(losses))
