"""Archives that lie about themselves."""

import io
import zipfile

import pytest

from showvault.interchange import archives
from showvault.interchange.allowance import Allowance
from showvault.interchange.archives import UnsafeArchiveError
from showvault.interchange.reader import CannotReadError
from tests.interchange.rigs import packed


def open_archive(data, **limits):
    return archives.open_archive(data, Allowance(**limits))


@pytest.mark.parametrize(
    "name", ["../out.xml", "a/../../out", "/etc/out", "C:\\out", "..\\out", "a\\..\\..\\out"]
)
def test_a_name_that_climbs_out_is_refused(name):
    with pytest.raises(UnsafeArchiveError, match="climbs out"):
        open_archive(packed({name: b"x"}))


def test_two_entries_of_one_name_are_refused():
    """MVR (DIN SPEC 15801), File Format Definition: names must not differ by case only."""
    with pytest.raises(UnsafeArchiveError, match="twice"):
        open_archive(packed({"Scene.xml": b"1", "scene.XML": b"2"}))


def test_the_very_same_name_twice_is_refused():
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w") as archive:
        archive.writestr("a.xml", b"1")
        with pytest.warns(UserWarning, match="Duplicate"):
            archive.writestr("a.xml", b"2")
    with pytest.raises(UnsafeArchiveError, match="twice"):
        open_archive(target.getvalue())


def test_an_entry_that_unpacks_without_end_is_stopped_by_the_bytes_that_come_out():
    data = packed({"bomb.xml": b"\0" * 5_000_000})
    assert len(data) < 10_000
    with pytest.raises(UnsafeArchiveError, match="more than 1,000 bytes"):
        open_archive(data).read("bomb.xml", limit=1000)


def test_a_size_that_the_table_understates_does_not_help():
    data = bytearray(packed({"bomb.xml": b"\0" * 100_000}))
    for marker, place in ((b"PK\x03\x04", 22), (b"PK\x01\x02", 24)):
        at = data.find(marker) + place
        data[at : at + 4] = (10).to_bytes(4, "little")
    archive = open_archive(bytes(data))
    with pytest.raises(CannotReadError):
        archive.read("bomb.xml", limit=1000)


def test_all_entries_together_have_a_limit():
    archive = open_archive(packed({"a": b"x" * 600, "b": b"x" * 600}), bytes=1000)
    archive.read("a")
    with pytest.raises(UnsafeArchiveError, match="more than 400 bytes"):
        archive.read("b")


def test_a_link_is_refused():
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w") as archive:
        info = zipfile.ZipInfo("link")
        info.external_attr = 0o120777 << 16
        archive.writestr(info, b"/etc/passwd")
    with pytest.raises(UnsafeArchiveError, match="is a link"):
        open_archive(target.getvalue())


def test_an_encrypted_entry_is_refused():
    """MVR, File Format Definition: no encryption."""
    data = bytearray(packed({"a.xml": b"1"}))
    data[data.find(b"PK\x01\x02") + 8] |= 1
    with pytest.raises(UnsafeArchiveError, match="encrypted"):
        open_archive(bytes(data))


def test_other_compression_than_store_and_deflate_is_refused():
    """MVR, File Format Definition: STORE or DEFLATE only."""
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_BZIP2) as archive:
        archive.writestr("a.xml", b"1")
    with pytest.raises(UnsafeArchiveError, match="unusual"):
        open_archive(target.getvalue())


@pytest.mark.parametrize("data", [b"", b"PK", b"PK\x03\x04" + b"\0" * 100, b"not an archive"])
def test_what_is_no_archive_is_an_error_for_people(data):
    with pytest.raises(CannotReadError):
        open_archive(data)


def test_an_archive_damaged_anywhere_is_an_error_for_people():
    good = packed({"a.xml": b"levels" * 50, "b.xml": b"more"})
    for at in range(len(good)):
        data = bytearray(good)
        data[at] ^= 0xFF
        try:
            archive = open_archive(bytes(data))
            for info in archive.entries.values():
                archive.read(info.filename)
        except CannotReadError:
            continue
