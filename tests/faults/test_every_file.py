"""Every file and folder of a vault in turn is gone, emptied, cut off, changed or something else.

Each thing has a second copy or can be told from the others, so that nothing at all may be lost.
"""

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

from showvault.vault.checking import check_vault, mend_vault
from showvault.vault.housekeeping import housekeep
from showvault.vault.labelling import set_label
from showvault.vault.opening import Vault
from showvault.vault.versions import list_versions, read_file
from tests.faults.telling import Tell
from tests.vault.builders import flip, keep, make_vault, opened, parts_of

Damage = Callable[[Path], object]
DESK = {"role": "opaque", "path": "/shows/evening.desk"}


def a_vault(folder: Path) -> Path:
    """Versions of a show and of a desk's file, labels, plain and second copies."""
    make_vault(folder)
    with opened(folder) as vault:
        keep(vault, {"show/cues/1.json": b"one" * 200, "show/same.json": b"as ever"})
        keep(vault, {}, data=b"desk file" * 100, **DESK)
        keep(vault, {"show/cues/1.json": b"two" * 200})
        newest = keep(vault, {"show/cues/2.json": b"three" * 200})
        for label in ("preview", "opening"):
            set_label(vault, newest.commit, label, who="Ada")
        housekeep(vault)
    return folder


def held(vault: Vault) -> dict[str, object]:
    """All that people can ask of it: every version's bytes, number and labels."""
    return {
        f"{version.number} {version.labels} {version.summary}": (
            parts_of(vault, version),
            [read_file(vault.store, file) for file in version.files if file.blob],
        )
        for version in list_versions(vault.store)
    }


def empty(path: Path) -> None:
    path.chmod(0o600)
    path.write_bytes(b"")


def cut(path: Path) -> None:
    path.chmod(0o600)
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])


def flip_a_bit(path: Path) -> None:
    if path.stat().st_size:
        flip(path)


def become_a_folder(path: Path) -> None:
    path.unlink()
    path.mkdir()
    (path / "something").write_bytes(b"of somebody's")


def become_a_file(path: Path) -> None:
    shutil.rmtree(path)
    path.write_bytes(b"of somebody's")


def damages(whole: Path) -> Iterator[tuple[Path, Damage]]:
    """All but what is no part of what is kept: who holds a lock now."""
    for path in sorted(whole.rglob("*")):
        place = path.relative_to(whole)
        if place.parts[0] == "locks":
            continue
        if path.is_dir():
            yield from ((place, damage) for damage in (shutil.rmtree, become_a_file))
        else:
            kinds: tuple[Damage, ...] = (Path.unlink, empty, cut, flip_a_bit, become_a_folder)
            yield from ((place, damage) for damage in kinds)


def test_no_single_file_or_folder_costs_a_version(tmp_path: Path, tell: Tell) -> None:
    whole = a_vault(tmp_path / "whole")
    with opened(whole) as vault:
        before = held(vault)
    tried, wrong = 0, []
    for place, damage in damages(whole):
        folder = tmp_path / "vault"
        shutil.copytree(whole, folder)
        damage(folder / place)
        with opened(folder) as vault:
            mend_vault(vault)
            left = [one for one in check_vault(vault) if one.where != "ring"]
            if held(vault) != before or left or keep(vault, {"show/next": b"5"}).number != 5:
                wrong.append((str(place), damage.__name__, list(map(str, left))))
        shutil.rmtree(folder)
        tried += 1
    tell(f"one file or folder damaged: {tried} tried, {len(wrong)} lost anything")
    assert tried > 150
    assert not wrong, "\n".join(map(str, wrong))
