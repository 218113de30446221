"""References to presets that became others."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showvault.show.referring import References
from showvault.show.renaming import MOST, NO_TEXTS, Renaming, Replaced

NAMES = ["Color 1", "Color 2", "Color 22", "Position 1.1", "Ünï 3"]


def a_part(*names: str, between: str = ": ", more: str = "") -> bytes:
    values = ", ".join(
        f'"{number}": {{"Red": {{"preset"{between}"{name}"}}}}'
        for number, name in enumerate(names, 1)
    )
    return f'{{"label": "\\"preset\\": \\"Color 1\\""{more}, "levels": {{{values}}}}}'.encode()


def text(old: str, new: str, between: str = ": ") -> tuple[bytes, bytes]:
    return (f'"preset"{between}"{old}"'.encode(), f'"preset"{between}"{new}"'.encode())


@pytest.mark.parametrize("between", [":", ": ", " :\t"])
def test_what_one_part_teaches_is_found_in_the_next(between: str) -> None:
    renaming = Renaming()
    learned = renaming.learn(
        a_part("Color 1", "Color 2", "Color 1", between=between),
        a_part("Color 7", "Color 9", "Color 7", between=between),
    )
    assert learned == {text("Color 1", "Color 7", between), text("Color 2", "Color 9", between)}
    *_, (renamed, texts, _) = renaming.replace(a_part("Color 2", "Color 22", between=between))
    assert renamed == a_part("Color 9", "Color 22", between=between)
    assert texts == {text("Color 2", "Color 9", between)}


@pytest.mark.parametrize(
    ("before", "after"),
    [
        (a_part("Color 1", "Color 1"), a_part("Color 7", "Color 1")),  # one of them stayed
        (a_part("Color 1"), a_part("Color 7", more=', "fade_in": 3')),
        (a_part("Color 1"), a_part("Color 1")),
        (a_part("Color 1"), a_part("Color 1", "Color 1")),
        (a_part("Color 1", more=', "fade_in": 3'), a_part("Color 7", more=', "fade_in": 4')),
        (a_part("Color 1"), b""),
        (a_part("Color 1"), a_part("Color \\u0031")),
    ],
)
def test_where_something_else_differs_as_well_nothing_is_told(before: bytes, after: bytes) -> None:
    assert Renaming().learn(before, after) == NO_TEXTS


def test_what_looks_like_a_reference_in_what_is_carried_along_is_not_told_as_one() -> None:
    renaming = Renaming()
    assert renaming.learn(a_part("Color 1"), a_part("Color 7"))
    extra = ', "extra": {"preset": "Color 1"}'
    ((renamed, texts, _),) = renaming.replace(a_part("Color 1", more=extra))
    assert renamed == a_part("Color 7", more=extra.replace("1", "7"))
    assert texts == NO_TEXTS


def test_so_many_are_looked_for_and_no_more() -> None:
    renaming = Renaming()
    old, new = ([f"{group} {number}" for number in range(MOST + 1)] for group in ("Old", "New"))
    assert renaming.learn(a_part(*old), a_part(*new)) == NO_TEXTS
    assert len([*renaming.replace(a_part(*old))]) == MOST


def put_back(renamed: bytes, replaced: Replaced) -> bytes:
    """Return the part as it was before a text was replaced, by the places where it stood."""
    for place in replaced.places:
        assert renamed[place:].startswith(replaced.new)
        renamed = renamed[:place] + replaced.old + renamed[place + len(replaced.new) :]
    return renamed


parts = st.lists(st.sampled_from(NAMES), max_size=5).map(lambda names: a_part(*names))


@given(st.lists(st.tuples(parts, parts), max_size=5), parts)
def test_a_part_stays_json_and_the_texts_told_lead_from_one_to_the_other(
    pairs: list[tuple[bytes, bytes]], part: bytes
) -> None:
    references = References()
    references.note({"part": part})
    noted = references.of("part", part)
    renaming = Renaming()
    for before, after in pairs:
        texts = renaming.learn(before, after)
        if texts:
            found = before
            for renamed, used, _ in renaming.replace(before):
                if used == texts:
                    found = renamed
            assert found == after
    assert [*renaming.replace(part, noted)] == [*renaming.replace(part)]
    for renamed, texts, replaced in renaming.replace(part):
        assert texts
        assert (replaced is not None) == (len(texts) == 1)
        if replaced is not None:
            assert texts == {(replaced.old, replaced.new)}
            assert put_back(renamed, replaced) == part
        assert json.loads(renamed)["label"] == json.loads(part)["label"]
