"""What a newcomer sees first: the demonstration plays to its end and cleans up after itself."""

import sys

import pytest


@pytest.mark.skipif(sys.platform == "win32", reason="looks for leftovers in TMPDIR")
def test_the_demonstration_keeps_sets_aside_tells_and_proves_and_leaves_nothing(desk):
    scratch = desk.root / "scratch"
    scratch.mkdir()
    desk.environment |= {"TMPDIR": str(scratch)}
    answer = desk.run("demo")
    assert answer.code == 0, answer.err
    assert answer.out.count("  kept as version") == 5
    assert answer.out.count("set aside as version") == 1
    assert "intensity" in answer.out and "universe" in answer.out and "57.5" in answer.out
    assert "byte for byte" in answer.out
    assert list(scratch.iterdir()) == []
    assert list(desk.home.rglob("*")) == []
    assert list(desk.shows.iterdir()) == []


def test_a_folder_that_is_not_empty_is_refused_for_the_demonstration(desk, play):
    desk.save("play.json", play)
    answer = desk.run("demo", "--folder", desk.shows)
    assert answer.code == 2
    assert [path.name for path in desk.shows.iterdir()] == ["play.json"]
