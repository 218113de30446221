"""The command line with whatever somebody may type; see fuzzing.py for the law.

Every run ends with one of the codes of the README, or unanswered; none owns up to a fault of
showvault itself.
"""

import contextlib
import io
import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import strategies as st
from hypothesis.strategies import SearchStrategy

from showvault.cli.app import COMMANDS, run
from tests.builders import a_full_show, as_bytes
from tests.flows.rooms import a_save
from tests.fuzz.fuzzing import fuzz, nothing_done_outside, scratch
from tests.fuzz.test_syntax import PLACE_WORDS, TIME_WORDS, sayings

ENDS = {0, 1, 2, 3, 4, 5, 6, 7, 130}
"""130: something was asked, and nobody was there to answer."""

NEITHER_ENDS_NOR_ANSWERS = {"watch", "demo", "staged"}
"""They have stories of their own, and no version or place to misread."""

OPTIONS = [
    *("--format", "json", "text", "--to", "--label", "--note", "--who", "-n", "--list", "--cue"),
    *("--dmx", "--file", "--all", "--keep", "--remind", "--remove", "--only", "--mend", "--yes"),
    *("--", "-h", "--help", "--version", "--vault", "--leave-out", "--with", "--from", "-"),
]


@pytest.fixture(scope="module")
def desk() -> Iterator[Path]:
    """A folder with two shows and a vault, in which every command runs."""
    place = scratch()
    (place / "shows").mkdir()
    for data in (as_bytes(a_full_show()), a_save(50), a_save(60)):
        (place / "shows" / "evening.json").write_bytes(data)
        call(place, ["snapshot", "shows", "--vault", "vault", "--who", "Ada"])
    yield place
    shutil.rmtree(place)


def call(place: Path, words: list[str]) -> int:
    """Run the command line in ``place``; how it ended."""
    said = io.StringIO()
    with (
        contextlib.chdir(place),
        contextlib.redirect_stdout(said),
        contextlib.redirect_stderr(said),
        pytest.raises(SystemExit) as ended,
    ):
        run(words)
    code = ended.value.code
    assert isinstance(code, int), code
    assert code in ENDS, said.getvalue()
    return code


def as_typed(text: str) -> str:
    """What a program is given of it: no NUL, and what is no UTF-8 as lone surrogates."""
    return os.fsdecode(text.replace("\0", "").encode("utf-8", "surrogatepass"))


def lines() -> SearchStrategy[list[str]]:
    """A command and some words, options and names of files."""
    word = st.one_of(
        sayings([*PLACE_WORDS, *TIME_WORDS]),
        st.sampled_from(OPTIONS),
        st.sampled_from(["shows/evening.json", "shows", "vault", "1", "2", "latest", "new.json"]),
    ).map(as_typed)
    commands = st.sampled_from([name for name in COMMANDS if name not in NEITHER_ENDS_NOR_ANSWERS])
    return st.tuples(commands, st.lists(word, max_size=5)).map(lambda one: [one[0], *one[1]])


def test_any_words_end_in_a_code_of_the_readme(desk: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    set_up(desk, monkeypatch)

    def obey(words: list[str]) -> None:
        with nothing_done_outside(desk, but=frozenset({"subprocess.Popen"})):
            call(desk, words)

    fuzz(lines(), obey, steady=150)


@pytest.mark.parametrize("command", ["compare", "since", "restore", "look", "undo", "label"])
def test_any_version_is_one_or_not_found(
    desk: Path, monkeypatch: pytest.MonkeyPatch, command: str
) -> None:
    set_up(desk, monkeypatch)
    more = {
        "compare": ["latest"],
        "restore": ["--to", "restored.json"],
        "look": ["--cue", "1"],
        "undo": ["--to", "undone.json"],
        "label": ["x"],
    }.get(command, [])

    def obey(version: str) -> None:
        with nothing_done_outside(desk, but=frozenset({"subprocess.Popen"})):
            call(desk, [command, *more[:1], version, *more[1:], "--vault", "vault"])

    fuzz(sayings(TIME_WORDS).map(as_typed), obey, steady=30)


@pytest.mark.parametrize("before", [["history"], ["compare", "1", "latest", "--only"]])
def test_any_place_is_one_or_not_understood(
    desk: Path, monkeypatch: pytest.MonkeyPatch, before: list[str]
) -> None:
    set_up(desk, monkeypatch)

    def obey(words: str) -> None:
        with nothing_done_outside(desk, but=frozenset({"subprocess.Popen"})):
            call(desk, [*before, words, "--vault", "vault"])

    fuzz(sayings(PLACE_WORDS).map(as_typed), obey, steady=40)


def set_up(desk: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SHOWVAULT_HOME", str(desk / "home"))
    monkeypatch.setenv("SHOWVAULT_WHO", "Ada")
    monkeypatch.setenv("HOME", str(desk))
    monkeypatch.delenv("SHOWVAULT_TRACEBACK", raising=False)


def test_what_the_readme_shows_is_understood(desk: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Else the tests above would only show how rubbish is refused."""
    set_up(desk, monkeypatch)
    for words in (["list"], ["compare", "previous", "latest"], ["history", "cue", "1"]):
        assert call(desk, [*words, "--vault", "vault"]) in (0, 1)
