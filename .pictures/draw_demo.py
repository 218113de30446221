"""Draw ``demo.svg`` anew: run the demonstration on a terminal and set what it prints as text.

    .venv/bin/python .pictures/draw_demo.py

Needs a system with pseudo-terminals (Linux, macOS). Look at the picture in a browser afterwards.
"""

import fcntl
import html
import os
import pty
import re
import struct
import subprocess
import sys
import tempfile
import termios
from collections.abc import Iterator, Sequence
from pathlib import Path

COLUMNS = 116
LINE, CHARACTER, EDGE = 17, 7.8, 16.0
"""Pixels: from line to line, of one column, around the text."""

FACE = 'ui-monospace,"DejaVu Sans Mono",Menlo,Consolas,monospace'
CLASSES = {"1": "b", "31": "r", "32": "g", "33": "y"}
COLOURS = {"b": "#fff8e6;font-weight:bold", "g": "#a8c98a", "y": "#e8b95a", "r": "#e38b7a"}
_STYLE = re.compile(r"\x1b\[([0-9;]*)m")


def run_demo() -> str:
    """Return what the demonstration prints on a terminal, its styles included."""
    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 60, COLUMNS, 0, 0))
    with tempfile.TemporaryDirectory() as scratch:
        environment = os.environ | {"TMPDIR": scratch, "TERM": "xterm", "TZ": "UTC"}
        command = [sys.executable, "-m", "showvault.cli.app", "demo"]
        demo = subprocess.Popen(command, stdout=theirs, stderr=theirs, env=environment)
        os.close(theirs)
        said = b""
        while True:
            try:
                read = os.read(ours, 65536)
            except OSError:  # how Linux says that the other end of a terminal is closed
                break
            if not read:
                break
            said += read
        if demo.wait():
            raise SystemExit(said.decode())
        text = said.decode().replace("\r\n", "\n")
        # Folded as it was printed; only the scratch folder's random name is made a plain one.
        return re.sub(re.escape(scratch) + r"/showvault-demo-\w+", "/tmp/showvault-demo", text)  # noqa: S108


def draw(text: str) -> str:
    """Return the text as a picture, a line of the screen each."""
    lines = text.rstrip("\n").split("\n")
    widest = max(len(_STYLE.sub("", line)) for line in lines)
    width, height = round(2 * EDGE + widest * CHARACTER), round(2 * EDGE + len(lines) * LINE)
    styles = "".join(f".{name}{{fill:{colour}}}" for name, colour in COLOURS.items())
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" '
            f'width="{width}" height="{height}" role="img" '
            'aria-label="showvault demo in a terminal">',
            f"<style>text{{font:13px {FACE};fill:#d8d4c8;white-space:pre}}{styles}</style>",
            f'<rect width="{width}" height="{height}" rx="6" fill="#1d1b19"/>',
            *_rows(lines),
            "</svg>\n",
        ]
    )


def _rows(lines: Sequence[str]) -> Iterator[str]:
    style = ""
    for number, line in enumerate(lines):
        codes = [code for found in _STYLE.findall(line) for code in found.split(";")]
        style = next((CLASSES[code] for code in codes if code in CLASSES), style)
        plain = _STYLE.sub("", line)
        if plain:
            yield _row(number, plain, style)
        if "0" in codes:  # a style goes on over the lines of what was folded
            style = ""


def _row(number: int, plain: str, name: str) -> str:
    y = round(EDGE + number * LINE + 10)
    kind = f' class="{name}"' if name else ""
    return (
        f'<text x="{EDGE}" y="{y}" textLength="{len(plain) * CHARACTER:.1f}" '
        f'xml:space="preserve"{kind}>{html.escape(plain, quote=False)}</text>'
    )


if __name__ == "__main__":
    Path(__file__).with_name("demo.svg").write_text(draw(run_demo()), encoding="utf-8")
