"""One bit flipped anywhere in what holds the history: every version comes back or is named."""

import re
import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from showvault.errors import ShowvaultError
from showvault.files.reading import read_settled
from showvault.flows.describing import Describer
from showvault.flows.keep import Keeper
from showvault.flows.mending import Mended, mend
from showvault.flows.stored import bytes_of_file
from showvault.flows.summaries import describe_sides
from showvault.interchange.registry import choose_reader
from showvault.vault.housekeeping import fold_packs, housekeep
from showvault.vault.layout import create_vault
from showvault.vault.opening import Vault
from showvault.vault.versions import Version, list_versions
from tests.faults.telling import Tell
from tests.flows.rooms import a_save
from tests.vault.builders import START, Ticking, opened

VERSIONS = 14
FOLDED = 10
"""Versions before the packs were folded; the rest lie in packs of their own."""


def keeper_of(vault: Vault) -> Keeper:
    return Keeper(vault, "Ada", choose_reader, Describer(describe_sides))


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[int, bytes]]:
    """A vault after an evening: folded packs, some newer ones, a ring of the newest eight."""
    folder = tmp_path_factory.mktemp("flipped") / "vault"
    show = folder.parent / "evening.json"
    create_vault(folder, name="Evening", watched=[show], clock=Ticking())
    saves: dict[int, bytes] = {}
    with opened(folder) as vault:
        keeper = keeper_of(vault)
        for number in range(1, VERSIONS + 1):
            saves[number] = a_save(level=number)
            show.write_bytes(saves[number])
            keeper.keep([read_settled(show)], when=START)
            housekeep(vault)
            if number == FOLDED:
                fold_packs(vault)
    show.unlink()  # only the vault is left
    return folder, saves


def flip(path: Path, at: int) -> None:
    data = bytearray(path.read_bytes())
    data[at] ^= 1 << at % 8
    path.chmod(0o600)
    path.write_bytes(data)


def folded_pack(folder: Path) -> Path:
    return max((folder / "history.git/objects/pack").glob("*.pack"), key=lambda p: p.stat().st_size)


def single_packs(folder: Path) -> list[Path]:
    packs = (folder / "history.git/objects/pack").glob("*.pack")
    return sorted(set(packs) - {folded_pack(folder)})


def second_of(pack: Path) -> Path:
    return pack.parents[3] / "second" / pack.name


def places(path: Path, step: int) -> range:
    return range(0, path.stat().st_size, step)


def mended(folder: Path) -> Mended:
    """What opening the vault and a look at the whole of it found and mended."""
    with opened(folder) as vault:
        told = mend(keeper_of(vault), when=START)
        return replace(told, repairs=(*vault.repairs, *told.repairs))


def lost_without_a_word(folder: Path, saves: dict[int, bytes], told: Mended) -> tuple[int, int]:
    """(versions that came back, versions that are named); fails where one is neither."""
    named = {int(n) for one in told.left for n in re.findall(r"version (\d+)", str(one))}
    back = 0
    with opened(folder) as vault:
        here = {version.number: version for version in list_versions(vault.store)}
        for number, data in saves.items():
            if number in here and reads_as(vault, here[number], data):
                back += 1
            else:
                assert number in named, f"version {number} is lost and nobody says so"
    return back, len(named)


def reads_as(vault: Vault, version: Version, data: bytes) -> bool:
    try:
        return bytes_of_file(vault.store, version, version.files[0]) == data
    except (ShowvaultError, IndexError, KeyError):
        return False


def assert_goes_on(folder: Path) -> None:
    with opened(folder) as vault:
        show = folder.parent / "next.json"
        show.write_bytes(a_save(level=99))
        keeper = keeper_of(vault)
        keeper.keep([read_settled(show)], when=START)
        keeper.afterwards()
        fold_packs(vault)
        newest = list_versions(vault.store)[0]
        assert bytes_of_file(vault.store, newest, newest.files[0]) == show.read_bytes()


@pytest.mark.parametrize("what", ["pack", "index", "second copy", "small pack"])
def test_a_flipped_bit_anywhere_costs_no_version(
    template: tuple[Path, dict[int, bytes]], tmp_path: Path, what: str, tell: Tell
) -> None:
    origin, saves = template
    pack = folded_pack(origin)
    chosen = {
        "pack": pack,
        "index": pack.with_suffix(".idx"),
        "second copy": second_of(pack),
        "small pack": single_packs(origin)[0],
    }[what]
    tried = 0
    for at in places(chosen, max(7, chosen.stat().st_size // 24)):
        folder = tmp_path / f"{at}"
        shutil.copytree(origin, folder)
        flip(folder / chosen.relative_to(origin), at)
        told = mended(folder)
        assert told.found or told.repairs, f"a bit at {at} was not found"
        assert told.left == ()
        assert no_loose_objects(folder)  # whole packs took the place of damaged ones
        assert lost_without_a_word(folder, saves, told) == (VERSIONS, 0)
        tried += 1
        if tried % 8 == 1:
            assert_goes_on(folder)
        shutil.rmtree(folder)
    tell(f"bits flipped, {what}: {tried} tried, all {VERSIONS} versions back each time")


def no_loose_objects(folder: Path) -> bool:
    return not list((folder / "history.git/objects").glob("??/*"))


def test_bits_flipped_in_both_copies_cost_only_what_is_named(
    template: tuple[Path, dict[int, bytes]], tmp_path: Path, tell: Tell
) -> None:
    """Where no whole copy is left, what can be read of either counts, and the plain copies."""
    origin, saves = template
    pack = folded_pack(origin)
    size = pack.stat().st_size
    tried, fewest = 0, VERSIONS
    for at in range(12, size - 20, size // 24):
        folder = tmp_path / f"{at}"
        shutil.copytree(origin, folder)
        flip(folder / pack.relative_to(origin), at)
        flip(second_of(folder / pack.relative_to(origin)), (at + size // 2) % size)
        told = mended(folder)
        back, _ = lost_without_a_word(folder, saves, told)
        tried, fewest = tried + 1, min(fewest, back)
        if tried % 8 == 1:
            assert_goes_on(folder)
        shutil.rmtree(folder)
    tell(f"bits flipped, both copies: {tried} tried, at least {fewest} of {VERSIONS} back")


@pytest.mark.parametrize("what", ["pack", "small pack"])
def test_without_second_copies_what_the_ring_holds_comes_back(
    template: tuple[Path, dict[int, bytes]], tmp_path: Path, what: str, tell: Tell
) -> None:
    """As in a vault that was made before there were second copies."""
    origin, saves = template
    chosen = folded_pack(origin) if what == "pack" else single_packs(origin)[1]
    size = chosen.stat().st_size
    tried, fewest, all_back = 0, VERSIONS, 0
    for at in range(12, size - 20, max(7, size // 24)):
        folder = tmp_path / f"{at}"
        shutil.copytree(origin, folder)
        shutil.rmtree(folder / "second")
        flip(folder / chosen.relative_to(origin), at)
        told = mended(folder)
        back, _ = lost_without_a_word(folder, saves, told)
        tried, fewest, all_back = tried + 1, min(fewest, back), all_back + (back == VERSIONS)
        if tried % 8 == 1:
            assert_goes_on(folder)
        shutil.rmtree(folder)
    tell(
        f"bits flipped, {what} without its second copy: {tried} tried, all back in {all_back}, "
        f"at least {fewest} of {VERSIONS}"
    )
