"""Git is the reference: what is read of a pack is what `git cat-file` gives, or is left to git."""

import os
import subprocess
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showvault.files.disk import DISK
from showvault.vault.differing import Difference
from showvault.vault.packing import INDEX_HEAD, pack_difference, pack_object, write_pack
from showvault.vault.parts import blob_id
from showvault.vault.storing import LONGEST_CHAIN
from showvault.vault.unpacking import MOST_BYTES, MOST_OBJECTS, read_whole_blobs
from tests.vault.builders import git

CUES = [b'{"label": "cue %d", "fade_in": 3}' % number * (number + 1) for number in range(60)]


@pytest.fixture
def repository(tmp_path: Path) -> Path:
    folder = tmp_path / "some.git"
    subprocess.run(["git", "init", "-q", "--bare", str(folder)], check=True)
    return folder


def packs_of(repository: Path) -> Path:
    return repository / "objects" / "pack"


def packed_by_git(repository: Path, contents: list[bytes], *options: str) -> list[str]:
    oids = [
        git(repository, "hash-object", "-w", "--stdin", stdin=data).decode().strip()
        for data in contents
    ]
    told = "".join(f"{oid}\n" for oid in oids).encode()
    git(repository, "pack-objects", "-q", *options, str(packs_of(repository) / "pack"), stdin=told)
    return oids


@given(contents=st.lists(st.binary(max_size=3000) | st.binary(max_size=3).map(lambda b: b * 9000)))
def test_what_a_save_packed_comes_back(
    tmp_path_factory: pytest.TempPathFactory, contents: list[bytes]
) -> None:
    packs = tmp_path_factory.mktemp("packs")
    half = len(contents) // 2
    for some in (contents[:half], contents[half:]):
        write_pack(packs, [pack_object("blob", data) for data in some], disk=DISK)
    expected = {blob_id(data): data for data in contents}
    assert read_whole_blobs(packs, expected) == expected


def test_what_git_packed_whole_is_what_git_gives(repository: Path) -> None:
    oids = packed_by_git(repository, CUES, "--window=0")
    found = read_whole_blobs(packs_of(repository), oids)
    assert found == {oid: git(repository, "cat-file", "blob", oid) for oid in oids}


NEARLY_ALIKE = [b"".join(CUES) + b"%d" % number for number in range(30)]


def test_what_is_told_by_a_named_other_is_what_git_gives(repository: Path) -> None:
    oids = packed_by_git(repository, NEARLY_ALIKE, "--depth=3")
    found = read_whole_blobs(packs_of(repository), oids)
    assert found == dict(zip(oids, NEARLY_ALIKE, strict=True))


def test_differences_to_a_place_are_left_to_git_and_the_rest_is_right(repository: Path) -> None:
    oids = packed_by_git(repository, NEARLY_ALIKE, "--delta-base-offset")
    found = read_whole_blobs(packs_of(repository), oids)
    assert 0 < len(found) < len(oids)
    assert all(blob_id(data) == oid for oid, data in found.items())


def test_a_longer_chain_than_a_save_makes_is_left_to_git(tmp_path: Path) -> None:
    packed = [pack_object("blob", b"cue 0")]
    for number in range(1, LONGEST_CHAIN + 1):
        told = Difference([4], 1, b"%d" % number)
        packed.append(pack_difference(packed[-1], 5, b"cue %d" % number, told))
    write_pack(tmp_path, packed, disk=DISK)
    expected = {one.oid: b"cue %d" % number for number, one in enumerate(packed[:-1])}
    assert read_whole_blobs(tmp_path, [one.oid for one in packed]) == expected


def test_a_blob_that_tells_itself_by_a_detour_is_left_to_git(tmp_path: Path) -> None:
    one, other = pack_object("blob", b"a cue"), pack_object("blob", b"a cut")
    told = Difference([3], 2, b"ut")
    packed = [
        pack_difference(other, 5, b"a cue", told),
        pack_difference(one, 5, b"a cut", told),
        pack_object("blob", b"another"),
    ]
    write_pack(tmp_path, packed, disk=DISK)
    oids = [blob.oid for blob in packed]
    assert read_whole_blobs(tmp_path, oids) == {oids[-1]: b"another"}


def test_a_difference_to_what_is_not_there_or_is_damaged_is_left_to_git(tmp_path: Path) -> None:
    whole = pack_object("blob", b"a cue")
    gone = whole._replace(oid="12" * 20)
    nonsense = pack_difference(whole, 99, b"a cup", Difference([], 0, b""))
    packed = [whole, pack_difference(gone, 5, b"a cut", Difference([3], 2, b"ut")), nonsense]
    write_pack(tmp_path, packed, disk=DISK)
    assert read_whole_blobs(tmp_path, [one.oid for one in packed]) == {whole.oid: b"a cue"}


def test_only_what_was_asked_for_is_told_and_only_blobs(tmp_path: Path) -> None:
    blob, tree = pack_object("blob", b"a cue"), pack_object("tree", b"")
    write_pack(tmp_path, [blob, tree, pack_object("blob", b"another")], disk=DISK)
    assert read_whole_blobs(tmp_path, [blob.oid, tree.oid, "12" * 20]) == {blob.oid: b"a cue"}


def test_damage_is_left_to_git_which_tells_it(tmp_path: Path) -> None:
    packed = [pack_object("blob", data) for data in CUES]
    pack = tmp_path / write_pack(tmp_path, packed, disk=DISK)
    whole = pack.read_bytes()
    pack.chmod(0o600)
    for place in range(12, len(whole) - 20, 97):
        damaged = bytearray(whole)
        damaged[place] ^= 0x10
        pack.write_bytes(damaged)
        found = read_whole_blobs(tmp_path, [one.oid for one in packed])
        assert len(found) >= len(packed) - 2  # an entry, and the one it may run into
        assert all(blob_id(data) == oid for oid, data in found.items())


@pytest.mark.parametrize("index", [b"", INDEX_HEAD, INDEX_HEAD + b"\xff" * 1024])
def test_an_index_that_is_none_is_left_to_git(tmp_path: Path, index: bytes) -> None:
    (tmp_path / "pack-ab.idx").write_bytes(index)
    (tmp_path / "pack-ab.pack").write_bytes(b"PACK")
    assert read_whole_blobs(tmp_path, ["12" * 20]) == {}


def test_a_pack_that_is_just_gone_is_passed_over(tmp_path: Path) -> None:
    packed = [pack_object("blob", data) for data in CUES]
    (tmp_path / write_pack(tmp_path, packed, disk=DISK)).unlink()
    assert read_whole_blobs(tmp_path, [one.oid for one in packed]) == {}


def test_a_large_pack_is_left_to_git(tmp_path: Path) -> None:
    packed = [pack_object("blob", data) for data in CUES]
    pack = tmp_path / write_pack(tmp_path, packed, disk=DISK)
    pack.chmod(0o600)
    os.truncate(pack, MOST_BYTES + 1)
    assert read_whole_blobs(tmp_path, [one.oid for one in packed]) == {}


def test_a_pack_of_very_many_objects_is_left_to_git(tmp_path: Path) -> None:
    packed = [pack_object("blob", b"%d" % number) for number in range(MOST_OBJECTS + 1)]
    write_pack(tmp_path, packed, disk=DISK)
    assert read_whole_blobs(tmp_path, [one.oid for one in packed]) == {}


@pytest.mark.parametrize("head", [b"\xb0" + b"\xff" * 20, b""])
def test_an_entry_whose_size_never_ends_is_left_to_git(tmp_path: Path, head: bytes) -> None:
    """Seven bits a byte, and each says that another one follows (git, gitformat-pack)."""
    whole = pack_object("blob", b"a cue")
    odd = pack_object("blob", b"another")._replace(entry=head)
    write_pack(tmp_path, [whole, odd], disk=DISK)
    assert read_whole_blobs(tmp_path, [odd.oid, whole.oid]) == {whole.oid: b"a cue"}
