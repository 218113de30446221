import subprocess
from pathlib import Path

import pytest

from showvault.flows.staged import NoRepositoryError, offer_summary, staged_shows
from tests.flows.rooms import a_save


def git(folder: Path, *arguments: str) -> None:
    identity = ("-c", "user.name=Ada", "-c", "user.email=ada@example.org")
    subprocess.run(["git", *identity, *arguments], cwd=folder, check=True, capture_output=True)


@pytest.fixture
def repository(tmp_path: Path) -> Path:
    git(tmp_path, "init", "-q")
    return tmp_path


def test_a_new_show_is_staged_without_a_before(repository: Path):
    (repository / "evening.json").write_bytes(a_save(50))
    (repository / "other.json").write_bytes(b"{}")
    git(repository, "add", ".")
    staged = list(staged_shows(repository))
    assert [(show.path, show.before, show.after) for show in staged] == [
        ("evening.json", None, a_save(50))
    ]


def test_a_changed_show_is_offered_in_lighting_terms_before_the_own_text(repository: Path):
    show = repository / "evening.json"
    show.write_bytes(a_save(50))
    git(repository, "add", ".")
    git(repository, "commit", "-qm", "first")
    show.write_bytes(a_save(65))
    git(repository, "add", ".")
    message = repository / "message"
    message.write_text("# written by git\n")
    offer_summary(repository, message)
    text = message.read_text()
    assert text.startswith("evening.json: list 1 cue 1: fixture 1 intensity 50 → 65 %")
    assert text.endswith("# written by git\n")


def test_a_show_that_is_committed_as_it_is_staged_is_not_told_again(repository: Path):
    (repository / "evening.json").write_bytes(a_save(50))
    git(repository, "add", ".")
    git(repository, "commit", "-qm", "first")
    assert list(staged_shows(repository)) == []


def test_outside_a_repository_it_says_so(tmp_path: Path):
    with pytest.raises(NoRepositoryError, match="no git repository"):
        list(staged_shows(tmp_path))


def test_what_cannot_be_described_is_said_to_have_changed(repository: Path):
    show = repository / "evening.json"
    show.write_bytes(a_save(50))
    git(repository, "add", ".")
    git(repository, "commit", "-qm", "first")
    show.write_bytes(a_save(65)[:-40])
    (repository / "second.json").write_bytes(a_save(65))
    (repository / "notes.txt").write_bytes(b"x")
    git(repository, "add", ".")
    message = repository / "message"
    offer_summary(repository, message)
    text = message.read_text()
    assert "evening.json: changed; not described" in text
    assert "second.json: new, " in text


def test_where_no_show_is_staged_the_message_is_left_alone(repository: Path):
    (repository / "notes.txt").write_bytes(b"x")
    git(repository, "add", ".")
    offer_summary(repository, repository / "message")
    assert not (repository / "message").exists()
