"""Every state a power cut may leave of one save: opened, mended, nothing reported is lost."""

import hashlib
import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterable
from itertools import islice
from pathlib import Path

import pytest

from showvault.errors import ShowvaultError
from showvault.vault.checking import check_vault
from showvault.vault.versions import list_versions
from tests.faults.crash_states import Data, Names, Operation, State, Sync, build, record, states
from tests.vault.builders import keep, keep_after_looking_again, make_vault, opened, parts_of

REPOSITORY = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def recorded(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path, list[Operation]]:
    """A vault before a save, where it lay, and what the save did."""
    if not can_trace():
        pytest.skip("NOT RUN: strace is not here or may not trace")
    folder = tmp_path_factory.mktemp("crash")
    root, base = folder / "vault", folder / "base"
    make_vault(root)
    with opened(root) as vault:
        for number in range(3):
            keep(vault, {"show/cues/1.json": b"cue %d" % number, "show/2.json": b"2" * 300})
    (root / "ballast").write_bytes(b"")  # it takes no part, and would be copied for every state
    shutil.copytree(root, base)
    command = [sys.executable, "-m", "tests.faults.saving_child", str(root), "seed", "1", "no"]
    operations = record(command, root, folder / "log", cwd=REPOSITORY)
    return base, root, operations


def can_trace() -> bool:
    return shutil.which("strace") is not None and (
        subprocess.run(["strace", "-o", "/dev/null", "true"], capture_output=True).returncode == 0
    )


def try_all(
    every: Iterable[State], base: Path, root: Path, target: Path, judge: Callable[[State], str]
) -> tuple[int, list[str]]:
    """How many distinct states were tried, and what was wrong with which."""
    seen: set[str] = set()
    wrong = []
    for state in every:
        build(base, root, state, target)
        mark = fingerprint(target) + str(bool(state.told))
        if mark in seen:
            continue
        seen.add(mark)
        if fault := judge(state):
            wrong.append(f"cut before step {state.where}: {fault}")
    return len(seen), wrong


def fingerprint(folder: Path) -> str:
    total = hashlib.sha256()
    for path in sorted(folder.rglob("*")):
        total.update(f"{path.relative_to(folder)}\n".encode())
        if path.is_file():
            total.update(path.read_bytes() + b"\n")
    return total.hexdigest()


def judge_vault(before: list[str], target: Path) -> Callable[[State], str]:
    def judge(state: State) -> str:
        try:
            with opened(target) as vault:
                commits = [version.commit for version in list_versions(vault.store)]
                if commits[-3:] != before:
                    return "an older version is lost"
                for line in state.told:
                    if line.split(" ")[2] not in commits:
                        return "what was reported is lost"
                    parts_of(vault, list_versions(vault.store)[0])
                keep_after_looking_again(vault, {"show/cues/9.json": b"next"})
                damages = check_vault(vault)
                return str(damages[0]) if damages else ""
        except ShowvaultError as error:
            return f"{type(error).__name__}: {error}"

    return judge


@pytest.mark.parametrize("model", ["ordered", "weak"])
def test_no_crash_state_of_a_save_loses_anything(
    recorded: tuple[Path, Path, list[Operation]],
    tmp_path: Path,
    model: str,
    capsys: pytest.CaptureFixture[str],
) -> None:
    base, root, operations = recorded
    with opened(root) as vault:
        before = [version.commit for version in list_versions(vault.store)][-3:]
    target = tmp_path / "state"
    step = 1 if model == "ordered" or os.environ.get("SHOWVAULT_FAULTS") == "full" else 4
    some = islice(states(operations, model), 0, None, step)
    tried, wrong = try_all(some, base, root, target, judge_vault(before, target))
    syncs = sum(isinstance(operation, Sync) for operation in operations)
    with capsys.disabled():
        print(
            f"\ncrash states, {model}: {len(operations)} steps, {syncs} syncs, "
            f"{tried} distinct states, {len(wrong)} wrong"
        )
    assert wrong == []
    assert tried > 20


def without_folder_syncs(operations: list[Operation]) -> list[Operation]:
    return [op for op in operations if not (isinstance(op, Sync) and op.inode is None)]


def without_file_syncs(operations: list[Operation]) -> list[Operation]:
    return [op for op in operations if not (isinstance(op, Sync) and op.inode is not None)]


@pytest.mark.parametrize("broken", [without_folder_syncs, without_file_syncs])
def test_the_same_save_without_its_syncs_does_lose(
    recorded: tuple[Path, Path, list[Operation]],
    tmp_path: Path,
    broken: Callable[[list[Operation]], list[Operation]],
    capsys: pytest.CaptureFixture[str],
) -> None:
    """The proof that the test above can fail."""
    base, root, operations = recorded
    with opened(root) as vault:
        before = [version.commit for version in list_versions(vault.store)][-3:]
    target = tmp_path / "state"
    last = [state for state in states(broken(operations), "weak") if state.told]  # after the report
    tried, wrong = try_all(last, base, root, target, judge_vault(before, target))
    with capsys.disabled():
        print(f"\ncrash states, {broken.__name__}: {tried} distinct states, {len(wrong)} wrong")
    assert wrong


def test_the_recording_gives_back_what_is_there(
    recorded: tuple[Path, Path, list[Operation]], tmp_path: Path
) -> None:
    """With every step on the disk the state is the vault itself."""
    base, root, operations = recorded
    steps = tuple((n, step) for n, step in enumerate(operations) if isinstance(step, Data | Names))
    build(base, root, State(steps, (), "end"), tmp_path / "state")
    assert fingerprint(tmp_path / "state") == fingerprint(root)
