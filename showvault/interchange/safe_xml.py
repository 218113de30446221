"""XML from a stranger: no doctype, no entities, no bottomless nesting.

A document in plain UTF-8 in which the letters "<!DOCTYPE" do not stand can hold neither (XML 1.0,
2.8), and is parsed by the fast parser; every other one goes through defusedxml.
"""

import re
from itertools import chain
from typing import TYPE_CHECKING

from showvault.interchange.reader import CannotReadError

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

_DECLARATION = re.compile(
    rb"""(?:\xef\xbb\xbf)?(?:<\?xml\s[^>]*?(?:encoding\s*=\s*["']([\w.-]+)["'][^>]*)?\?>)?\s*<[A-Za-z!]"""
)
"""How a document begins whose bytes are ASCII where XML itself is meant."""

MOST_TAGS = 2_000_000
MOST_ATTRIBUTES = 4_000_000
"""A small archive unpacks to millions of empty elements, each of which takes a hundred bytes of
memory; a rig of 2,000 fixtures has some 60,000 tags."""
DEEPEST = 120
"""How many levels are followed: a rig has about twenty."""


def parse_xml(data: bytes, what: str, root: str) -> "Element":
    """Return the root element, which must be called ``root``. Raises CannotReadError."""
    from xml.etree import ElementTree

    from defusedxml import DefusedXmlException
    from defusedxml.ElementTree import fromstring

    text = data.rstrip(b"\0")  # seen in real files after the last tag
    refuse_overgrown(text, what)
    try:
        parsed: Element = (
            ElementTree.XML(text) if _holds_no_doctype(text) else fromstring(text, forbid_dtd=True)
        )
    except DefusedXmlException as error:
        raise CannotReadError(
            f"{what} is not read: it carries a doctype or entities ({type(error).__name__})",
            hint="no rig needs them; ask where the file came from",
        ) from None
    except (ElementTree.ParseError, ValueError, LookupError, UnicodeError) as error:
        raise CannotReadError(f"{what} is not whole XML: {error}") from None
    if parsed.tag != root:
        raise CannotReadError(f"{what} does not begin with {root}")
    _refuse_depth(parsed, what)
    return parsed


def refuse_overgrown(data: bytes, what: str) -> None:
    """Raise CannotReadError for a document that would take far more memory than its bytes.

    In UTF-16 every second byte is counted, which is the same. "<a/>" takes four bytes.
    """
    if len(data) < 4 * MOST_TAGS:
        return
    if data.count(b"<") > MOST_TAGS or data.count(b"=") > MOST_ATTRIBUTES:
        raise CannotReadError(f"{what} is not read: it has more elements than any file of its kind")


def _holds_no_doctype(data: bytes) -> bool:
    declared = _DECLARATION.match(data)
    if declared is None or (declared.group(1) or b"utf-8").lower() != b"utf-8":
        return False
    return b"<!DOCTYPE" not in data and b"\0" not in data


def _refuse_depth(root: "Element", what: str) -> None:
    level = [root]
    for _ in range(DEEPEST - 1):  # who has no children is not looked into
        level = list(filter(len, chain.from_iterable(level)))
        if not level:
            return
    raise CannotReadError(f"{what} is not read: it is nested more than {DEEPEST} levels deep")
