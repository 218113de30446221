from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showvault.report.terminal import (
    clip,
    fold_line,
    rows_of,
    safe,
    say_age,
    say_ago,
    say_size,
    table,
    width_of,
)

NOW = datetime(2026, 11, 25, 2, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("\x1b[31mred", "\\x1b[31mred"),
        ("\x1b]52;c;aGk=\x07", "\\x1b]52;c;aGk=\\x07"),
        ("over\rwritten", "over\\x0dwritten"),
        ("\u202egnp.exe", "\\u202egnp.exe"),
        ("\x9b31m", "\\x9b31m"),
        ("\udce9", "\\udce9"),
        ("Żółć – 50 %", "Żółć – 50 %"),
    ],
)
def test_what_could_steer_a_terminal_is_spelled_out(text: str, shown: str):
    """CWE-150; the direction controls are those of UAX #9."""
    assert safe(text) == shown


@given(st.text(st.characters()))
def test_safe_text_can_always_be_printed_on_one_line(text: str):
    shown = safe(text)
    shown.encode("utf-8")  # raises where it cannot be printed
    assert all(char.isprintable() or char.isspace() for char in shown if ord(char) < 0xA0)
    assert "\n" not in shown


@given(st.text(max_size=60), st.integers(1, 40))
def test_clipped_text_fits(text: str, width: int):
    assert width_of(clip(text, width)) <= max(width, 1)


@pytest.mark.parametrize(
    ("seconds", "said"),
    [(0, "just now"), (43 * 60, "43 min"), (12_600, "3 h 30 min"), (4 * 86_400, "4 days")],
)
def test_ages_are_said_roughly(seconds: int, said: str):
    assert say_age(timedelta(seconds=seconds)) == said


def test_a_moment_to_come_is_not_called_an_age():
    assert "clock was ahead" in say_ago(NOW + timedelta(hours=1), NOW)


@pytest.mark.parametrize(
    ("size", "said"), [(812, "812 B"), (64_240, "64.2 kB"), (7_100_000, "7.1 MB")]
)
def test_sizes_are_powers_of_ten(size: int, said: str):
    assert say_size(size) == said


def test_a_table_fits_the_screen_and_hides_no_escape():
    text = table(("no.", "what"), [("1", "\x1b[2J" + "x" * 200)], 60)
    assert all(width_of(line) <= 60 for line in text.splitlines())
    assert "\x1b" not in text


def test_a_long_line_is_folded_between_words_further_in_and_a_short_one_is_not():
    assert fold_line("  one two three four", 12) == "  one two\n      three\n      four"
    assert fold_line("  one two", 12) == "  one two"
    assert fold_line("  one two three four", 0) == "  one two three four"


def test_a_long_line_is_folded_as_far_in_as_is_wanted():
    assert fold_line("10:00  one two three", 14, 7) == "10:00  one two\n       three"


def test_a_line_takes_as_many_rows_as_a_terminal_breaks_it_into():
    assert [rows_of("x" * length, 10) for length in (0, 10, 11, 25)] == [1, 1, 2, 3]
    assert rows_of("字" * 6, 10) == 2
