"""Parts of files are told apart by their bytes, wherever these stand."""

from hypothesis import given
from hypothesis import strategies as st

from showvault.show.fileparts import FilePart

texts = st.binary(max_size=200) | st.builds(
    lambda one, other: b"x" * 70 + one + b"y" * 70 + other, st.binary(max_size=3), st.just(b"")
)


@given(texts, texts, st.binary(max_size=9))
def test_parts_are_equal_exactly_where_their_bytes_are(
    one: bytes, other: bytes, before: bytes
) -> None:
    here = FilePart(before + one + b"after", len(before), len(before) + len(one))
    there = FilePart(other, 0, len(other))
    assert (here == there) == (one == other)
    assert one != other or hash(here) == hash(there)


def test_long_parts_that_begin_and_end_alike_are_told_apart() -> None:
    one, other = (b"-" * 99 + middle + b"-" * 99 for middle in (b"a", b"b"))
    assert FilePart(one, 0, 199) != FilePart(other, 0, 199)


def test_a_part_known_to_be_equal_has_the_key_of_its_twin() -> None:
    old = FilePart(b"[1]", 0, 3)
    new = FilePart(b" [1]", 1, 4, twin=FilePart(b"[1]", 0, 3, twin=old))
    assert new.key is old
    assert new.data == b"[1]"
