"""The digest of bytes, found meanwhile: the reference is hashlib over all of them at once."""

import hashlib

import pytest

from showvault.flows.hashing import WORTH_A_THREAD, Hashing


@pytest.mark.parametrize("size", [0, 1, 1000, WORTH_A_THREAD, WORTH_A_THREAD + 1])
@pytest.mark.parametrize("pieces", [1, 3])
def test_the_digest_is_that_of_all_the_bytes_in_whatever_pieces(size: int, pieces: int) -> None:
    data = bytes(range(256)) * (size // 256 + 1)
    data = data[:size]
    step = size // pieces + 1
    hashing = Hashing((data[at : at + step] for at in range(0, size, step)), size)
    assert hashing.result() == hashing.result() == hashlib.sha256(data).hexdigest()
