"""Run one rule on a small show and name what it found."""

from collections.abc import Callable, Iterator

import msgspec

from showvault.check.contents import Contents
from showvault.check.finding import Finding
from showvault.show.reading import decode_show
from tests.builders import Tree

_AS_IT_STANDS = msgspec.json.Encoder(decimal_format="number")


def found(rule: Callable[[Contents], Iterator[Finding]], show: Tree) -> list[tuple[str, str, str]]:
    """Return severity, rule and pointer of each finding."""
    return [
        (finding.severity, finding.rule, finding.pointer)
        for finding in rule(Contents(decode_show(_AS_IT_STANDS.encode(show))))
    ]


def sentences(rule: Callable[[Contents], Iterator[Finding]], show: Tree) -> list[str]:
    """Return the sentence of each finding."""
    return [finding.text for finding in rule(Contents(decode_show(_AS_IT_STANDS.encode(show))))]
