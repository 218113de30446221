from showvault.flows.who import find_who


def test_what_is_said_comes_first():
    assert find_who("Ada", {"SHOWVAULT_WHO": "Bea"}) == "Ada"


def test_then_the_environment():
    assert find_who(None, {"SHOWVAULT_WHO": " Bea  Lind "}) == "Bea Lind"


def test_there_is_always_somebody():
    assert find_who("  ", {})
