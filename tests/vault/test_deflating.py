"""The reference is Python's own zlib, which git's objects are written with as well (RFC 1950)."""

import subprocess
import sys
import zlib

from hypothesis import given
from hypothesis import strategies as st

from showvault.vault.deflating import deflate, inflate

CONTENTS = st.binary(max_size=3000) | st.binary(max_size=4).map(lambda some: some * 20_000)


@given(data=CONTENTS)
def test_zlib_reads_what_was_made_small_and_it_comes_back(data: bytes) -> None:
    assert zlib.decompress(deflate(data)) == data
    assert inflate(deflate(data), len(data)) == data


@given(data=CONTENTS, level=st.integers(0, 9), behind=st.binary(max_size=20))
def test_what_zlib_made_small_comes_back_whatever_stands_behind(
    data: bytes, level: int, behind: bytes
) -> None:
    assert inflate(zlib.compress(data, level) + behind, len(data)) == data


@given(data=st.binary(min_size=1, max_size=500), place=st.floats(0, 1), bit=st.integers(0, 7))
def test_a_flipped_bit_gives_the_same_bytes_or_none(data: bytes, place: float, bit: int) -> None:
    damaged = bytearray(deflate(data))
    damaged[int(place * (len(damaged) - 1))] ^= 1 << bit
    assert inflate(bytes(damaged), len(data)) in (None, data)


@given(data=CONTENTS, missing=st.integers(1, 50))
def test_what_is_cut_short_gives_none(data: bytes, missing: int) -> None:
    assert inflate(deflate(data)[:-missing], len(data)) is None


@given(data=CONTENTS, by=st.integers(1, 1000))
def test_another_size_than_the_one_told_gives_none(data: bytes, by: int) -> None:
    assert inflate(deflate(data), len(data) + by) is None
    if by <= len(data):
        assert inflate(deflate(data), len(data) - by) is None


def test_what_grows_without_a_limit_is_not_followed() -> None:
    assert inflate(zlib.compress(bytes(50_000_000)), 1000) is None


def test_without_the_fast_library_it_is_the_same() -> None:
    program = (
        "import sys; sys.modules['isal'] = None\n"
        "from showvault.vault.deflating import deflate, inflate\n"
        "data = b'a cue ' * 1000\n"
        "assert inflate(deflate(data), len(data)) == data\n"
        "assert inflate(deflate(data)[:-1], len(data)) is None\n"
        "assert inflate(deflate(data), len(data) - 1) is None\n"
        "import zlib; print(deflate(data) == zlib.compress(data, 1))\n"
    )
    told = subprocess.run([sys.executable, "-c", program], check=True, capture_output=True)
    assert told.stdout.strip() == b"True"
