"""What is lost on the way, counted as it happens: one entry for each kind of loss."""

from showvault.interchange.reader import Loss

_LONGEST = 160


class LossBook:
    """Counts losses of one kind together and remembers where the first one was."""

    def __init__(self) -> None:
        self._found: dict[str, tuple[str, int]] = {}

    def add(self, what: str, where: str = "", count: int = 1) -> None:
        """Enter a loss; nothing is entered for a count of 0."""
        if count:
            plain = _shown(what)
            first, before = self._found.get(plain, (where, 0))
            self._found[plain] = (_shown(first), before + count)

    def losses(self) -> tuple[Loss, ...]:
        """Return the losses in the order in which their kinds were met."""
        return tuple(Loss(what, where, count) for what, (where, count) in self._found.items())


def _shown(text: str) -> str:
    """Return a text that may come from a stranger's file as one short printable line."""
    if len(text) > _LONGEST:
        text = text[: _LONGEST - 1] + "…"
    return text if text.isprintable() else "".join(c if c.isprintable() else "?" for c in text)
