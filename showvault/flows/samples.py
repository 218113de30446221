"""Where the sample shows and hook scripts lie: inside the installed package, or in the checkout."""

from importlib.resources import files
from pathlib import Path

from showvault.errors import ShowvaultError


class NoSuchSampleError(ShowvaultError):
    """A file that ships with showvault is missing."""

    exit_code = 8


def shipped_file(folder: str, name: str) -> Path:
    """Return the path of a shipped file: ``folder`` is "sample_shows" or "hooks"."""
    package = Path(str(files("showvault")))
    for home in (package / folder, package.parent / folder):
        if (home / name).is_file():
            return home / name
    raise NoSuchSampleError(f"{folder}/{name} is missing", hint="install showvault again")
