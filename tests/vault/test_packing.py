"""Git is the reference for packs: `git index-pack`, `verify-pack`, `show-index`, `cat-file`."""

import subprocess
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showvault.files.disk import DISK
from showvault.vault.packing import (
    FAR,
    PackedObject,
    encode_index,
    index_proves_whole,
    pack_object,
    proves_whole,
    unmark_pack,
    write_pack,
)
from tests.vault.builders import git

CONTENTS = st.lists(st.binary(max_size=5000) | st.binary(max_size=3).map(lambda b: b * 9000))


@pytest.fixture(scope="module")
def repository(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("packs") / "some.git"
    subprocess.run(["git", "init", "-q", "--bare", str(folder)], check=True)
    return folder


@given(contents=CONTENTS)
def test_git_makes_the_very_same_index_to_a_pack(repository: Path, contents: list[bytes]) -> None:
    packs = repository / "objects" / "pack"
    name = write_pack(packs, [pack_object("blob", data) for data in contents], disk=DISK)
    again = packs / "again.idx"
    git(repository, "index-pack", "-o", str(again), str(packs / name))
    assert again.read_bytes() == (packs / name).with_suffix(".idx").read_bytes()
    for path in (again, packs / name, (packs / name).with_suffix(".idx")):
        path.unlink()


def test_git_reads_every_kind_of_object_back(repository: Path) -> None:
    packs = repository / "objects" / "pack"
    blob = pack_object("blob", b"a cue" * 100_000)
    tree = pack_object("tree", b"100644 cue\0" + bytes.fromhex(blob.oid))
    who = b"Ada <ada@example.org> 1700000000 +0100"
    told = (tree.oid.encode(), who, who)
    commit = pack_object("commit", b"tree %s\nauthor %s\ncommitter %s\n\nnight one\n" % told)
    name = write_pack(packs, [commit, tree, blob], disk=DISK)
    git(repository, "verify-pack", str(packs / name))
    assert git(repository, "cat-file", "blob", f"{commit.oid}:cue") == b"a cue" * 100_000
    assert git(repository, "fsck", "--strict", "--no-dangling", commit.oid) == b""
    listed = git(repository, "show-index", stdin=(packs / name).with_suffix(".idx").read_bytes())
    assert {line.split()[1].decode() for line in listed.splitlines()} == {
        commit.oid,
        tree.oid,
        blob.oid,
    }


def test_the_same_object_twice_is_stored_once(repository: Path, tmp_path: Path) -> None:
    name = write_pack(tmp_path, [pack_object("blob", b"same")] * 3, disk=DISK)
    assert (tmp_path / name).read_bytes()[8:12] == b"\0\0\0\x01"


def test_places_beyond_two_gigabytes_stand_in_their_own_table(repository: Path) -> None:
    places = [12, FAR - 1, FAR, FAR + 5, 1 << 40]
    objects = [pack_object("blob", b"%d" % number) for number in range(len(places))]
    index = encode_index(zip(objects, places, strict=True), bytes(20))
    listed = git(repository, "show-index", stdin=index).decode().splitlines()
    found = {line.split()[1]: int(line.split()[0]) for line in listed}
    assert found == {one.oid: place for one, place in zip(objects, places, strict=True)}


@pytest.mark.parametrize("at", [0, 9, 20, -1])
def test_a_flipped_bit_shows(tmp_path: Path, at: int) -> None:
    pack = tmp_path / write_pack(tmp_path, [pack_object("blob", b"cue" * 50)], disk=DISK)
    assert proves_whole(pack)
    assert index_proves_whole(pack)
    for path, proves in ((pack, proves_whole), (pack.with_suffix(".idx"), index_proves_whole)):
        data = bytearray(path.read_bytes())
        data[at] ^= 4
        path.chmod(0o600)
        path.write_bytes(data)
        assert not proves(pack)


def test_a_pack_is_named_by_its_own_last_bytes_and_private(tmp_path: Path) -> None:
    objects: list[PackedObject] = [pack_object("blob", b"%d" % number) for number in range(600)]
    pack = tmp_path / write_pack(tmp_path, objects, disk=DISK)
    assert pack.read_bytes()[-20:].hex() == pack.stem.removeprefix("pack-")
    assert sorted(path.suffix for path in tmp_path.iterdir()) == [".idx", ".keep", ".pack"]
    unmark_pack(pack, disk=DISK)
    unmark_pack(pack, disk=DISK)  # a second time does nothing
    assert sorted(path.suffix for path in tmp_path.iterdir()) == [".idx", ".pack"]
