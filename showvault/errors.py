"""The one exception that a person may see: what is wrong, and a way forward."""


class ShowvaultError(Exception):
    """Something a person can act on.

    The message says what is wrong and where, in trade words; ``hint`` says what to do next.
    ``exit_code`` is what the command line ends with: 2 wrong usage, 3 the input cannot be used,
    4 not found, 5 somebody else holds the vault, 6 the disk refused, 7 the vault itself is
    damaged or from another release.
    """

    exit_code: int = 3

    def __init__(self, message: str, *, hint: str | None = None) -> None:
        super().__init__(message)
        self.hint = hint
