"""XML that was written to do harm."""

import pytest

from showvault.interchange.reader import CannotReadError
from showvault.interchange.safe_xml import DEEPEST, parse_xml

LAUGHS = b"""<!DOCTYPE r [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]><r>&b;</r>"""


@pytest.mark.parametrize(
    "data",
    [
        LAUGHS,
        LAUGHS.decode().encode("utf-16"),
        b'<!DOCTYPE r SYSTEM "file:///etc/passwd"><r/>',
        b'<!DOCTYPE r [<!ENTITY x SYSTEM "http://127.0.0.1/">]><r>&x;</r>',
        b"<!DOCTYPE r><r/>",
        b'<?xml version="1.0" encoding="cp037"?>' + "<!DOCTYPE r><r/>".encode("cp037"),
        '<?xml version="1.0" encoding="utf-16"?><!DOCTYPE r><r/>'.encode("utf-16"),
    ],
)
def test_a_doctype_is_refused(data):
    with pytest.raises(CannotReadError, match=r"doctype or entities|not whole XML"):
        parse_xml(data, "scene.xml", "r")


def test_nesting_without_end_is_refused():
    with pytest.raises(CannotReadError, match="nested more than"):
        parse_xml(b"<r>" * 100_000 + b"</r>" * 100_000, "scene.xml", "r")


def test_nesting_up_to_the_limit_is_read():
    assert parse_xml(b"<r>" * DEEPEST + b"</r>" * DEEPEST, "scene.xml", "r").tag == "r"


@pytest.mark.parametrize(
    "data", [b"", b"<r>", b"<r/><r/>", b"\xff\xfe", b"<r>&x;</r>", b"<r a='1' a='2'/>"]
)
def test_what_is_not_whole_is_told(data):
    with pytest.raises(CannotReadError, match="is not whole XML"):
        parse_xml(data, "scene.xml", "r")


def test_another_root_is_told():
    with pytest.raises(CannotReadError, match="does not begin with GDTF"):
        parse_xml(b"<html/>", "description.xml", "GDTF")


def test_nul_bytes_after_the_last_tag_do_no_harm():
    assert parse_xml(b"<r/>\0", "scene.xml", "r").tag == "r"
