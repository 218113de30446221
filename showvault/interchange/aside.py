"""What a reader keeps in ``extra`` for the writer of its own format, and what is not carried."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from showvault.interchange.loss_book import LossBook
from showvault.show.trees import Tree


def count_sections(show: Mapping[str, Tree], carried: Collection[str], book: LossBook) -> None:
    """Enter the sections of a show that a format has no place for; an empty one is none."""
    for name in sorted(show.keys() - carried):
        held = show[name]
        is_section = isinstance(held, dict | list) and name != "extra"
        book.add(name.replace("_", " "), "the show", len(held) if is_section else 1)


@dataclass(frozen=True)
class Aside:
    """Looks into ``extra`` for one format, and enters what that format cannot carry."""

    format: str
    book: LossBook

    def take(self, thing: Mapping[str, Tree], words: str, known: set[str]) -> Mapping[str, Tree]:
        """Return what the format's reader once kept here; the rest of ``extra`` is a loss."""
        extra = thing.get("extra", {})
        if not isinstance(extra, dict):
            self.book.add("extra of other formats", words)
            return {}
        self.book.add("extra of other formats", words, len(extra.keys() - {self.format}))
        held = extra.get(self.format, {})
        if held == {} and "extra" in thing and extra.keys() <= {self.format}:
            self.book.add("empty extra", words)
        if not isinstance(held, dict):
            return {}
        self.book.add("extra that is not understood", words, len(held.keys() - known))
        return {name: held[name] for name in sorted(held.keys() & known)}

    def count_others(
        self, thing: Mapping[str, Tree], carried: set[str], what: str, words: str
    ) -> None:
        """Enter every field that is not carried: "notes of cues".

        Whoever takes what a thing keeps aside names ``extra`` as carried, and ``take`` tells it.
        """
        for name in sorted(thing.keys() - carried):
            self.book.add(f"{name.replace('_', ' ')} of {what}", words)
