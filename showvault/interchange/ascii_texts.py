"""Texts of a show as ASCII cue data can hold them: printable, without "!", one line long."""

import unicodedata
from collections.abc import Callable, Sequence

from showvault.interchange.ascii_lexing import split_keyword, values_of
from showvault.interchange.ascii_rules import COMMENT, KEYWORDS, LINE_LIMIT, MAKER
from showvault.interchange.ascii_values import MakerLine
from showvault.interchange.loss_book import LossBook
from showvault.show.trees import Tree

_ROOM = LINE_LIMIT - len("TEXT ")


def label_that_fits(label: str, where: str, book: LossBook) -> str:
    """Return a label as it can stand after TEXT; what had to change is entered into the book."""
    plain = _plain(label)
    if plain != label:
        book.add("characters of labels that ASCII has no place for", where)
    if len(plain) > _ROOM:
        book.add(f"ends of labels longer than {_ROOM} characters", where)
    return plain[:_ROOM].strip()


def name_that_fits(name: Tree, keyword: str, book: LossBook) -> str | None:
    """Return a name or setting as it can stand after its keyword; None where it cannot."""
    if not isinstance(name, str) or not name:
        return None
    if _plain(name) == name and len(keyword) + 1 + len(name) <= LINE_LIMIT:
        return name
    book.add(f"{keyword} that no line can hold", "the show")
    return None


def settings_that_fit(settings: Tree, book: LossBook) -> tuple[tuple[str, ...], ...]:
    """Return the settings of a console that can stand after SET, each an item and its values."""
    kept = []
    for words in settings if isinstance(settings, list) else []:
        texts = words if isinstance(words, list) else []
        if all(isinstance(text, str) and values_of(text) == [text] for text in texts):
            if name_that_fits(" ".join(texts), "SET", book):
                kept.append(tuple(texts))
        else:
            book.add("SET that no line can hold", "the show")
    return tuple(kept)


def keep_top_lines(lines: Tree, where: str, book: LossBook) -> tuple[MakerLine, ...]:
    """Return a maker's lines outside the items: from the first "$" on, known secondaries too."""
    return _keep(lines, where, book, _stands_at_the_top)


def keep_item_lines(lines: Tree, where: str, book: LossBook) -> tuple[MakerLine, ...]:
    """Return a maker's lines inside an item: two "$", for one alone would close the item."""
    return _keep(lines, where, book, lambda line, before: _dollars(line) == 2)


def _keep(
    lines: Tree, where: str, book: LossBook, fits: Callable[[str, Sequence[MakerLine]], bool]
) -> tuple[MakerLine, ...]:
    kept: list[MakerLine] = []
    for line in lines if isinstance(lines, list) else []:
        if isinstance(line, str) and _is_one_line(line) and fits(line, kept):
            kept.append(MakerLine(0, line))
        else:
            book.add("lines of one maker that cannot stand where they belong", where)
    return tuple(kept)


def _is_one_line(line: str) -> bool:
    printable = line.isascii() and line.replace("\t", " ").isprintable()
    return printable and line == line.strip() and len(line) <= LINE_LIMIT


def _stands_at_the_top(line: str, before: Sequence[MakerLine]) -> bool:
    if line.startswith(MAKER):
        return True
    known = KEYWORDS.get(split_keyword(line)[0])
    opened = any(_dollars(kept.text) == 1 for kept in before)
    return opened and known is not None and known.kind == "secondary"


def _dollars(line: str) -> int:
    return len(line) - len(line.lstrip(MAKER))


def _plain(text: str) -> str:
    """Return printable ASCII: accents fall off, other characters become "?", "!" becomes "."."""
    if text.isascii() and text.isprintable() and COMMENT not in text:
        return text.strip()
    plain = unicodedata.normalize("NFKD", text)
    kept = (char for char in plain if not unicodedata.combining(char))
    spelled = "".join(char if char.isascii() and char.isprintable() else "?" for char in kept)
    return spelled.replace(COMMENT, ".").strip()
