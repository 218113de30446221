import os
import subprocess
import sys
from pathlib import Path

import pytest

from showvault.flows.who import find_who


def test_what_is_said_comes_first():
    assert find_who("Ada", {"SHOWVAULT_WHO": "Bea"}) == "Ada"


def test_then_the_environment():
    assert find_who(None, {"SHOWVAULT_WHO": " Bea  Lind "}) == "Bea Lind"


def test_there_is_always_somebody():
    assert find_who("  ", {})


@pytest.mark.skipif(sys.platform == "win32", reason="logins are told otherwise there")
def test_without_git_and_without_a_login_it_is_somebody(tmp_path: Path):
    """As in a container whose user has no name."""
    asking = "from showvault.flows.who import find_who; print(find_who(None, {}))"
    nameless = f"import os; os.getuid = lambda: 4_000_000_000; {asking}"
    names = ("LOGNAME", "USER", "LNAME", "USERNAME")  # as getpass asks for them
    environ = {name: value for name, value in os.environ.items() if name not in names}
    environ |= {"PATH": str(tmp_path), "PYTHONPATH": os.pathsep.join(sys.path)}
    said = subprocess.run([sys.executable, "-c", nameless], env=environ, capture_output=True)
    assert said.stdout == b"somebody\n", said
