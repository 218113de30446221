"""What can be wrong with a ref of the history, and what to do about it."""

from showvault.errors import ShowvaultError


class DamagedRefError(ShowvaultError):
    """A ref of the history says nothing that can be a version."""

    exit_code = 7

    def __init__(self, ref: str) -> None:
        super().__init__(
            f"the vault's {ref} is damaged", hint="open the vault again to have it mended"
        )
        self.ref = ref


class MovedRefError(ShowvaultError):
    """Somebody else's git moved a ref in the meantime."""

    exit_code = 5

    def __init__(self, ref: str) -> None:
        super().__init__(
            f"another program moved the vault's {ref}", hint="end that program, then save again"
        )
        self.ref = ref


class HeldRefError(ShowvaultError):
    """Somebody else's git is about to move a ref, or died over it."""

    exit_code = 5

    def __init__(self, ref: str) -> None:
        super().__init__(
            f"another program's git is at work on the vault's {ref}",
            hint="try again once it has ended; what it may have left is swept at the next opening",
        )
        self.ref = ref
