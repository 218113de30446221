import os
import subprocess
from pathlib import Path
from typing import IO

import pytest

from showvault.vault.git import Git
from showvault.vault.parts import blob_id
from showvault.vault.reader import MissingObjectError, Reader, read_what_is_there
from tests.vault.builders import keep, make_vault, opened


def test_answers_nobody_waited_for_are_not_taken_for_later_ones(tmp_path: Path) -> None:
    """A caller that stops at the first missing part leaves the other answers in the pipe."""
    parts = {"show/a": b"first", "show/b": b"second", "show/c": b"third"}
    with opened(make_vault(tmp_path / "vault")) as vault:
        keep(vault, parts)
        wanted = [blob_id(b"first"), "f" * 40, blob_id(b"second"), blob_id(b"third")]
        try:
            vault.store.read_blobs(wanted)
        except MissingObjectError:  # while it is handled, its frames still hold the question
            assert vault.store.read_blob(blob_id(b"third")) == b"third"
        assert vault.store.read_blob(blob_id(b"first")) == b"first"


def test_a_missing_object_stops_nobody_who_asks_for_what_is_there(tmp_path: Path) -> None:
    with opened(make_vault(tmp_path / "vault")) as vault:
        keep(vault, {"show/a": b"first"})
        answers = dict(read_what_is_there(vault.store.reader, ["f" * 40, blob_id(b"first")]))
    assert answers["f" * 40] is None
    assert (found := answers[blob_id(b"first")]) is not None
    assert found.data == b"first"


def test_a_git_that_died_since_the_last_question_is_started_again(tmp_path: Path) -> None:
    with opened(make_vault(tmp_path / "vault")) as vault:
        keep(vault, {"show/a": b"first"})
        assert vault.store.read_blob(blob_id(b"first")) == b"first"
        child = vault.store.reader._child
        assert child is not None
        child.kill()
        child.wait()
        with pytest.raises(MissingObjectError):
            vault.store.read_blob("f" * 40)
        assert vault.store.read_blob(blob_id(b"first")) == b"first"


def test_a_name_of_two_lines_is_no_question(tmp_path: Path) -> None:
    """Its two answers would be taken for those of the next questions."""
    with opened(make_vault(tmp_path / "vault")) as vault:
        commit = keep(vault, {"show/1.json": b"1"}).commit
        with pytest.raises(MissingObjectError):
            vault.store.reader.read(f"{commit}\n{commit}")
        assert vault.store.reader.read(commit).oid == commit


def test_a_git_that_does_not_even_start_has_no_answer(tmp_path: Path) -> None:
    with opened(make_vault(tmp_path / "vault")) as vault:
        commit = keep(vault, {"show/1.json": b"1"}).commit
        vault.store.close()
        (vault.paths.history / "HEAD").write_bytes(b"")
        with pytest.raises(MissingObjectError):
            vault.store.reader.read(commit)


class DyingGit(Git):
    """One that is gone before it is asked."""

    def start(
        self, *arguments: str, holding: int | None, errors: int | IO[bytes]
    ) -> "subprocess.Popen[bytes]":
        child = super().start(*arguments, holding=holding, errors=errors)
        child.kill()
        child.wait()
        return child


def test_a_git_that_dies_each_time_it_is_started_has_no_answer(tmp_path: Path) -> None:
    folder = make_vault(tmp_path / "vault") / "history.git"
    reader = Reader(DyingGit(folder, os.environ))
    with pytest.raises(MissingObjectError):
        reader.read("HEAD")
    reader.close()
