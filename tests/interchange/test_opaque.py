"""What an opaque file can prove about itself."""

import io
import zipfile

import pytest

from showvault.interchange.opaque import OpaqueReader, OpaqueZipReader, judge_archive


def archive(comment=b""):
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as opened:
        opened.writestr("show.dat", b"levels" * 500)
        opened.comment = comment
    return target.getvalue()


def test_a_desk_file_proves_nothing():
    assert OpaqueReader().judge(b"\x01\x02").state == "unproven"


@pytest.mark.parametrize("data", [b"", b"\0" * 4096])
def test_a_file_without_content_is_a_save_that_failed(data):
    assert OpaqueReader().judge(data).state == "broken"
    assert OpaqueZipReader().judge(data).state == "broken"


def test_an_archive_with_its_directory_is_whole():
    """ZIP APPNOTE.TXT 4.3.16: the end of central directory record closes the archive."""
    assert judge_archive(archive()).state == "whole"


def test_a_comment_after_the_directory_does_no_harm():
    """ZIP APPNOTE.TXT 4.3.16: the record ends in a comment of up to 65,535 bytes."""
    assert judge_archive(archive(comment=b"x" * 65_535)).state == "whole"


def test_an_archive_cut_anywhere_is_broken():
    data = archive(comment=b"closing word")
    assert {judge_archive(data[:end]).state for end in range(1, len(data))} == {"broken"}
