"""What is noted of references is what a search finds."""

from collections.abc import Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showvault.show import referring
from showvault.show.referring import LONGEST, References

NAMES = ["Color 1", "Color 2", "Color 22", "Position 1.1", "Ünï 3", "x" * LONGEST]
BETWEEN = st.sampled_from([":", ": ", " :\t"])
REFERENCES = st.tuples(st.sampled_from(NAMES), BETWEEN).map(
    lambda told: f'"preset"{told[1]}"{told[0]}"'
)
PARTS = st.lists(REFERENCES, max_size=12).map(
    lambda texts: "{" + ", ".join(f'"{n}": {{{text}}}' for n, text in enumerate(texts)) + "}"
)


def searched(part: bytes, text: bytes) -> list[int]:
    return [at for at in range(len(part)) if part.startswith(text, at)]


@given(shows=st.lists(st.lists(PARTS, max_size=4), min_size=1, max_size=3), text=REFERENCES)
def test_a_reference_is_where_a_search_finds_it(shows: Sequence[Sequence[str]], text: str) -> None:
    references = References()
    for show in shows:
        parts = {str(number): part.encode() for number, part in enumerate(show)}
        references.note(parts)
        for name, part in parts.items():
            noted = references.of(name, part)
            assert noted is not None
            found = noted.places(text.encode())
            assert found is None or found == searched(part, text.encode())
            assert (found is None) == (len(text.encode()) > LONGEST)


def test_what_was_noted_of_other_bytes_is_not_told() -> None:
    references = References()
    part = b'{"preset": "Color 1"}'
    references.note({"one": part, "two": part})
    references.note({"one": part})
    assert references.of("one", part) is not None
    assert references.of("one", bytes(bytearray(part))) is None  # equal, and not seen
    assert references.of("two", part) is None


def test_beyond_so_many_texts_it_is_left_to_a_search(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(referring, "MOST_TEXTS", 2)
    references = References()
    texts = [b'"preset": "Color %d"' % number for number in range(4)]
    part = b"{%b, %b, %b, %b}" % (texts[0], texts[1], texts[2], texts[0])
    references.note({"one": part})
    noted = references.of("one", part)
    assert noted is not None
    assert noted.places(texts[0]) == searched(part, texts[0])
    assert noted.places(texts[1]) == searched(part, texts[1])
    assert noted.places(texts[2]) is None
    assert noted.places(texts[3]) is None
