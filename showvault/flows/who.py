"""Who made a version: what was said, else the environment, git's own setting, or the login."""

import getpass
import subprocess
from collections.abc import Mapping

ENVIRONMENT = "SHOWVAULT_WHO"


def find_who(said: str | None, environ: Mapping[str, str]) -> str:
    """Return the name to put on a version; never empty."""
    for name in (said, environ.get(ENVIRONMENT), _name_in_git(), _login()):
        if name and name.strip():
            return " ".join(name.split())
    return "somebody"


def _name_in_git() -> str:
    """Ask git for the person's own name; a repository's configuration is not asked."""
    try:
        answer = subprocess.run(
            ["git", "config", "--global", "--get", "user.name"],
            capture_output=True,
            timeout=5,
            check=False,
        )
    except (OSError, subprocess.TimeoutExpired):
        return ""
    return answer.stdout.decode("utf-8", "replace")


def _login() -> str:
    try:
        return getpass.getuser()
    except (OSError, KeyError, ImportError):
        return ""
