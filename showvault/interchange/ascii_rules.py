"""What ASCII cue data is made of, rule by rule, and how sure each rule is.

The language is that of USITT "ASCII Text Representation for Lighting Console Data", version 3.0
(ident 3:0, March 1992). Its body was not at hand: only its cover and table of contents were read.
Each rule carries its grade, so that whoever holds the document corrects it here and nowhere else;
no conformance is claimed.
"""

import re
from dataclasses import dataclass
from typing import Literal

Grade = Literal["read", "high", "medium", "low"]
"""``read``: seen in a published page; the others: from memory, with that much confidence."""
KeywordClass = Literal["basic", "primary", "secondary"]


@dataclass(frozen=True)
class Rule:
    """One rule of the language as it is implemented here."""

    text: str
    grade: Grade


@dataclass(frozen=True)
class Keyword:
    """One keyword: its class, its arguments, and how sure that is."""

    kind: KeywordClass
    arguments: str
    grade: Grade


IDENT = "3:0"
LINE_LIMIT = 80
COMMENT = "!"
MAKER = "$"
DELIMITERS = " \t,/;<=>@"
LEVEL = re.compile(r"(?:(\d{1,3})|[Hh]([0-9A-Fa-f]{2}))", re.ASCII)
TIME = re.compile(r"(?:(\d{1,6}):)?(\d{0,7}(?:\.\d{1,6})?)", re.ASCII)
CUE_NUMBER = re.compile(r"\d{1,9}(?:\.\d{1,9})?", re.ASCII)
WHOLE_NUMBER = re.compile(r"\d{1,9}", re.ASCII)
DEFAULT_PAGE = 1

RULES = {
    "line length": Rule("a line holds at most 80 characters", "read"),
    "comment": Rule("! begins a comment that runs to the end of the line, after data too", "high"),
    "instruction": Rule("one instruction a line, keyword first, leading blanks allowed", "high"),
    "case": Rule("keywords are not case-sensitive; text keeps its case", "high"),
    "delimiters": Rule("space , / < = > @ and tab part values; a run counts as one", "high"),
    "semicolon": Rule("; parts values too", "medium"),
    "line end": Rule("CR or CR LF; LF is taken as well", "medium"),
    "characters": Rule("printable 7-bit ASCII and tab", "medium"),
    "text": Rule("a text is the rest of its line, delimiters kept", "high"),
    "level": Rule("0 to 100 per cent, or H00 to HFF", "high"),
    "time": Rule("s, s.t or m:ss[.t]", "high"),
    "time places": Rule("more than one digit may follow the point", "low"),
    "cue number": Rule("a whole number with an optional decimal part; kept as text", "high"),
    "page": Rule("the page is 1 where none is given", "medium"),
    "page is list": Rule("a cue's page is told apart as a cue list of that number", "low"),
    "maker": Rule("$ begins a line that belongs to one maker: carried along, not read", "high"),
    "maker class": Rule("$ opens an item of the maker's, $$ belongs to the open item", "medium"),
    "maker basic": Rule("$$$ belongs to no item", "low"),
    "condition": Rule("what cannot be used is passed over and told; reading goes on", "medium"),
    "condition form": Rule(
        "a condition is told by its line, a kind out of our own list, and the text", "low"
    ),
    "unknown keyword": Rule(
        "an unknown keyword closes the open item; what would belong to it is passed over", "medium"
    ),
    "whole picture": Rule("a cue lists its whole look; an unlisted channel is at 0", "medium"),
    "follow": Rule("FOLLOWON counts from the start of the cue", "medium"),
    "wait": Rule("UP and DOWN give the time first and the wait after it", "medium"),
    "end": Rule("what follows ENDDATA is passed over", "high"),
    "dimmer": Rule("dimmer n is address n, counted through universes of 512", "low"),
}
"""The rules, by the name under which tests and messages call them. Of condition reporting the
standard has a chapter of which the headings alone were read: how conditions are identified, and how
they are told. Which kinds there are, and what is said of each, is our own guess."""

KEYWORDS = {
    "IDENT": Keyword("basic", "version of the language", "high"),
    "MANUFACTURER": Keyword("basic", "name", "high"),
    "CONSOLE": Keyword("basic", "name", "high"),
    "CLEAR": Keyword("basic", "ALL, or kinds of things", "high"),
    "SET": Keyword("basic", "item and value", "low"),
    "PATCH": Keyword("basic", "page, then channel, dimmer and level, repeated", "medium"),
    "ENDDATA": Keyword("basic", "none", "high"),
    "CUE": Keyword("primary", "number, page", "high"),
    "GROUP": Keyword("primary", "number, page", "high"),
    "SUB": Keyword("primary", "number, page", "high"),
    "TEXT": Keyword("secondary", "text", "high"),
    "UP": Keyword("secondary", "time, wait", "medium"),
    "DOWN": Keyword("secondary", "time, wait", "medium"),
    "CHAN": Keyword("secondary", "channel and level, repeated", "high"),
    "FOLLOWON": Keyword("secondary", "time", "medium"),
    "LINK": Keyword("secondary", "cue number", "high"),
    "PART": Keyword("secondary", "number", "high"),
}
"""The keywords that are read, in upper case."""
