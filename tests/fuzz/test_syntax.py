"""What people type: things of a show, versions, times; see fuzzing.py for the law."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from hypothesis import strategies as st
from hypothesis.strategies import SearchStrategy

from showvault.show.addressing import shortest_cue_number
from showvault.show.asking import AskingError, read_asking
from showvault.show.cutting import cut_into_parts, things_named_in
from showvault.vault.asking import read_moment, resolve
from showvault.vault.labelling import set_label
from showvault.vault.layout import create_vault
from showvault.vault.opening import Vault, open_vault
from showvault.vault.times import format_time, parse_time
from tests.builders import a_full_show, as_bytes
from tests.fuzz.fuzzing import fuzz, nothing_done_outside
from tests.vault.builders import Ticking, keep

NOUNS = "cue list preset fixture channel group effect macro submaster playback curve type universe"
PLACE_WORDS = [*NOUNS.split(), "patch", "show", "cues", "color", "Position", "dimmer", "red", "to"]
TIME_WORDS = [
    *("today", "yesterday", "monday", "Sunday", "at", "ago", "an", "a", "minutes", "hour", "days"),
    *("weeks", "latest", "previous", "now", "v", "T", "t", "opening", "night"),
    *("22:15", "22.15", "24:00", "2:5", "2026-11-24", "2026-02-30", "0000-00-00", "9999-12-31"),
]
NUMBERS = [
    "0", "1", "12.5", "12.50", "012", "1.2.3", "12-20", "20-12", "101-108,", "-", "–", ",", "1e9",
    "999999999", "9999999999", "١٢", "½", "²", "12.5555", ".5", "5.", "99999",
]  # fmt: skip
ODD = [
    "",
    " ",
    "\0",
    "\n",
    "\x1b[2J",
    "\u202e",
    "\u00a0",
    "\ud800",
    "İ",
    "ß",
    "../",
    "--",
    "-h",
    "@{",
]


def sayings(words: list[str]) -> SearchStrategy[str]:
    """Words in an order that may or may not mean something."""
    word = st.one_of(
        st.sampled_from([*words, *NUMBERS]),
        st.sampled_from([*words, *NUMBERS]).map(str.upper),
        st.sampled_from(ODD),
        st.text(st.characters(exclude_categories=[]), max_size=4),
    )
    glue = st.sampled_from([" ", " ", " ", "", "  "])
    return st.lists(st.tuples(word, glue).map("".join), max_size=6).map("".join)


THINGS = things_named_in(cut.skeleton) if (cut := cut_into_parts(as_bytes(a_full_show()))) else {}


def ask(words: str) -> None:
    with nothing_done_outside():
        asked = read_asking(words)
        selected = asked.select(THINGS)
        assert all(thing.kind == asked.kind for thing in selected)
        asked.single()


def test_any_words_name_things_or_are_refused() -> None:
    fuzz(sayings(PLACE_WORDS), ask, steady=400)


def test_any_text_is_a_cue_number_or_none() -> None:
    def again(text: str) -> None:
        number = shortest_cue_number(text)
        assert shortest_cue_number(number) == number

    fuzz(sayings(["12", "."]), again, steady=300)


moments = st.datetimes(
    min_value=datetime(1, 1, 1), max_value=datetime(9999, 12, 31, 23), timezones=st.just(UTC)
)
zones = st.integers(-23, 23).map(lambda hours: timezone(timedelta(hours=hours)))


def test_any_words_are_a_moment_or_none() -> None:
    def ask_when(case: tuple[str, datetime, timezone]) -> None:
        words, now, zone = case
        with nothing_done_outside():
            moment = read_moment(words, now=now, tz=zone)
        assert moment is None or moment.tzinfo is not None

    fuzz(st.tuples(sayings(TIME_WORDS), moments, zones), ask_when, steady=400)


def test_any_moment_of_a_record_is_a_time() -> None:
    def read(text: str) -> None:
        moment = parse_time(text)
        assert format_time(parse_time(format_time(moment))) == format_time(moment)

    times = st.one_of(
        sayings(TIME_WORDS),
        moments.map(lambda moment: moment.strftime("%Y-%m-%dT%H:%M:%SZ")),
    )
    fuzz(times, read, steady=200)


@pytest.fixture(scope="module")
def vault(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Vault]:
    folder: Path = tmp_path_factory.mktemp("vault") / "vault"
    create_vault(folder, name="Evening", watched=[Path("/shows")], clock=Ticking())
    with open_vault(folder, clock=Ticking()) as opened:
        keep(opened, {"show/1.json": b"1"}, label="opening night")
        newest = keep(opened, {"show/1.json": b"2"})
        set_label(opened, newest.commit, "--upload-pack=touch", who="Ada")
        yield opened


def test_any_words_mean_a_version_or_none(vault: Vault) -> None:
    def ask_which(words: str) -> None:
        with nothing_done_outside(but=frozenset({"subprocess.Popen"})):  # git lists the versions
            found = resolve(vault.store, words, now=Ticking()(), tz=UTC)
        assert found.number in (1, 2)

    fuzz(sayings(TIME_WORDS), ask_which, steady=60)


def test_what_the_help_tells_people_to_say_is_understood() -> None:
    """Else the tests above would only show how rubbish is refused."""
    for words in ("cue 12.5", "list 2 cue 5", "preset color 1.3", "fixtures 101-108", "universe 2"):
        assert read_asking(words)
    with pytest.raises(AskingError):
        read_asking("cue banana split")
