"""What a damaged vault is mended from, beyond what it can do by itself: plain files."""

import shutil
import subprocess
from pathlib import Path

import pytest

from showvault.errors import ShowvaultError
from showvault.files.reading import read_settled
from showvault.flows.describing import Describer
from showvault.flows.keep import Keeper
from showvault.flows.mending import mend
from showvault.flows.outcomes import Kept
from showvault.flows.remaking import make_from_plain_files
from showvault.flows.stored import bytes_of_file
from showvault.flows.summaries import describe_sides
from showvault.interchange.registry import choose_reader
from showvault.vault.checking import check_vault
from showvault.vault.clones import NotACloneError
from showvault.vault.housekeeping import fold_packs
from showvault.vault.journal import read_journal
from showvault.vault.labelling import set_label
from showvault.vault.layout import create_vault
from showvault.vault.opening import Vault, open_vault
from showvault.vault.parts import blob_id
from showvault.vault.versions import Version, list_versions
from tests.flows.rooms import Room, a_save
from tests.vault.builders import START


@pytest.fixture
def saves(room: Room) -> dict[int, bytes]:
    """Three versions of one show in packs of their own, a desk's file beside it, no copies."""
    saves = {number: a_save(number) for number in (1, 2, 3)}
    for data in saves.values():
        room.keep(room.save(data), room.save(data[::-1], "desk.show"))
    return saves


def damage_pack(vault: Vault, which: int) -> None:
    """Overwrite the middle of the n-th newest pack."""
    packs = sorted(
        (vault.paths.history / "objects" / "pack").glob("*.pack"),
        key=lambda path: path.stat().st_mtime_ns,
    )
    pack = packs[-which]
    data = bytearray(pack.read_bytes())
    middle = len(data) // 2
    data[middle - 40 : middle + 40] = bytes(80)
    pack.chmod(0o600)
    pack.write_bytes(data)
    vault.store.close()


def damage_object(vault: Vault, name: str) -> None:
    """Overwrite one object in the middle of its pack, as a dying disk does with a sector."""
    oid = vault.store.reader.read(name).oid
    vault.store.close()
    for index in (vault.paths.history / "objects" / "pack").glob("*.idx"):
        listed = vault.store.git.run("verify-pack", "-v", "--", str(index), doing="look")
        for line in listed.decode().splitlines():
            fields = line.split()
            if fields[0] == oid:
                pack = index.with_suffix(".pack")
                data = bytearray(pack.read_bytes())
                at = int(fields[4]) + 4
                data[at : at + 4] = bytes(4)
                pack.chmod(0o600)
                pack.write_bytes(data)
                return
    raise AssertionError(f"{name} lies in no pack")


def given_back(vault: Vault) -> dict[int, bytes]:
    back = {}
    for version in list_versions(vault.store):
        try:
            back[version.number] = bytes_of_file(vault.store, version, version.files[0])
        except (ShowvaultError, IndexError):
            continue
    return back


def test_a_whole_vault_needs_nothing(room: Room, saves: dict[int, bytes]) -> None:
    told = mend(room.keeper, when=START)
    assert (told.found, told.repairs, told.kept_anew, told.left) == ((), (), (), ())
    assert given_back(room.vault) == saves


@pytest.mark.parametrize("part", ["show/skeleton", "show", "a cue"])
def test_lost_parts_are_made_anew_from_the_plain_copies(
    room: Room, saves: dict[int, bytes], part: str
) -> None:
    first = list_versions(room.vault.store)[-1].commit
    a_cue = next(path for path in room.vault.store.tree(first) if "cue-" in path)
    damage_object(room.vault, f"{first}:{a_cue if part == 'a cue' else part}")
    told = mend(room.keeper, when=START)
    assert told.found
    assert told.left == ()
    assert given_back(room.vault).items() >= saves.items()


def test_the_watched_file_itself_counts_as_a_plain_copy(
    room: Room, saves: dict[int, bytes]
) -> None:
    """As for the newest version on a day when the ring is gone as well."""
    wanted = frozenset([blob_id(saves[3])])
    shutil.rmtree(room.vault.paths.ring)
    (made,) = make_from_plain_files(room.vault, choose_reader, wanted)
    assert made == ("blob", saves[3])


def test_what_no_plain_file_holds_is_not_made(room: Room, saves: dict[int, bytes]) -> None:
    (room.vault.paths.quarantine / "a folder").mkdir()
    (room.vault.paths.quarantine / "a link").symlink_to("nowhere")
    assert list(make_from_plain_files(room.vault, choose_reader, frozenset(["f" * 40]))) == []


def test_a_damaged_plain_copy_is_written_anew_from_the_history(
    room: Room, saves: dict[int, bytes]
) -> None:
    newest = max(room.vault.paths.ring.glob("*evening.json"))
    newest.chmod(0o600)
    newest.write_bytes(b"changed")
    told = mend(room.keeper, when=START)
    assert told.left == ()
    assert newest.read_bytes() == saves[3]
    assert (room.vault.paths.quarantine / newest.name).read_bytes() == b"changed"


def test_a_ring_that_was_emptied_gets_the_newest_again(room: Room, saves: dict[int, bytes]) -> None:
    for copy in room.vault.paths.ring.iterdir():
        copy.unlink()
    told = mend(room.keeper, when=START)
    assert told.left == ()
    copies = {path.read_bytes() for path in room.vault.paths.ring.iterdir()}
    assert copies == {saves[3], saves[3][::-1]}


def test_a_version_that_is_gone_is_kept_anew_from_its_plain_copy(
    room: Room, saves: dict[int, bytes]
) -> None:
    newest_packs = sorted(
        (room.vault.paths.history / "objects" / "pack").iterdir(),
        key=lambda path: path.stat().st_mtime_ns,
    )[-2:]
    for found in newest_packs:
        found.unlink()
    room.vault.store.close()
    told = mend(room.keeper, when=START)
    assert [kept.version.note for kept in told.kept_anew][:1] == [
        "brought back from the plain copy of version 3"
    ]
    assert saves[3] in given_back(room.vault).values()
    assert check_vault(room.vault) == list(told.left)


def test_a_version_whose_record_is_gone_leaves_its_plain_copies_alone(
    room: Room, saves: dict[int, bytes]
) -> None:
    """Who, when and the words stand nowhere but in the record and its second copy."""
    second = list_versions(room.vault.store)[1].commit
    copies = {path.name: path.read_bytes() for path in room.vault.paths.ring.iterdir()}
    damage_object(room.vault, f"{second}:version.json")
    told = [str(damage) for damage in mend(room.keeper, when=START).left]
    assert "version 2 cannot be read from the history" in told
    assert any("its version is gone" in sentence for sentence in told)
    assert copies == {path.name: path.read_bytes() for path in room.vault.paths.ring.iterdir()}
    assert given_back(room.vault) == {1: saves[1], 3: saves[3]}


def test_what_cannot_be_mended_is_named_and_the_rest_is_given_back(
    room: Room, saves: dict[int, bytes]
) -> None:
    shutil.rmtree(room.vault.paths.ring)
    for path in room.shows.iterdir():
        path.unlink()
    damage_pack(room.vault, 3)
    told = mend(room.keeper, when=START)
    assert told.left
    back = given_back(room.vault)
    assert all(back.get(number, saves[number]) == saves[number] for number in saves)
    fold_packs(room.vault)
    assert given_back(room.vault) == back
    assert isinstance(room.keep(room.save(a_save(9))).version.number, int)


def test_a_vault_that_watches_one_file_keeps_its_lost_save_under_that_name(
    tmp_path: Path,
) -> None:
    from showvault.vault.layout import create_vault
    from tests.vault.builders import Ticking, opened

    show, folder = tmp_path / "evening.json", tmp_path / "vault"
    create_vault(folder, name="Evening", watched=[show], clock=Ticking())
    show.write_bytes(a_save(1))
    with opened(folder) as vault:
        keeper = Keeper(vault, "Ada", choose_reader, Describer(describe_sides))
        keeper.keep([read_settled(show)], when=START)
        for path in (folder / "history.git/objects/pack").iterdir():
            path.unlink()
        vault.store.close()
        told = mend(keeper, when=START)
        (kept,) = told.kept_anew
        assert kept.version.files[0].path == str(show)
        assert bytes_of_file(vault.store, kept.version, kept.version.files[0]) == a_save(1)


def test_a_save_that_meets_damage_mends_it_from_the_plain_copies_and_is_kept(
    room: Room, saves: dict[int, bytes]
) -> None:
    """The newest folder is gone, and every new version would stand on it."""
    newest = list_versions(room.vault.store)[0].commit
    damage_object(room.vault, f"{newest}:show")
    file = read_settled(room.save(a_save(4)))
    with open_vault(room.vault.folder, clock=room.clock) as vault:
        keeper = Keeper(vault, "Ada", choose_reader, Describer(describe_sides))
        (kept,) = keeper.keep([file], when=START)
        assert isinstance(kept, Kept)
        assert any(
            "lost parts of the history were brought back" in sentence
            for sentence in keeper.afterwards()
        )
        assert keeper.afterwards() == []
        assert given_back(vault) == saves | {4: a_save(4)}


def test_a_save_over_damage_that_nothing_mends_is_kept_on_the_newest_whole_version(
    room: Room, saves: dict[int, bytes]
) -> None:
    newest = list_versions(room.vault.store)[0].commit
    damage_object(room.vault, f"{newest}:show")
    shutil.rmtree(room.vault.paths.ring)
    for path in room.shows.iterdir():
        path.unlink()
    file = read_settled(room.save(a_save(4)))
    with open_vault(room.vault.folder, clock=room.clock) as vault:
        keeper = Keeper(vault, "Ada", choose_reader, Describer(describe_sides))
        (kept,) = keeper.keep([file], when=START)
        assert isinstance(kept, Kept)
        assert kept.version.number == 4
        assert given_back(vault) == {1: saves[1], 2: saves[2], 4: a_save(4)}


def test_a_plain_copy_that_nothing_can_write_anew_is_set_aside_and_its_version_is_named(
    room: Room, saves: dict[int, bytes]
) -> None:
    """A cue of that version is gone from the history, and its only plain copy was changed."""
    fourth = room.keep(room.save(a_save(77))).version
    room.keep(room.save(a_save(5)))
    damage_object(room.vault, f"{fourth.commit}:show/cue_lists/1/0/cue-1")
    (copy,) = room.vault.paths.ring.glob("000004_*")
    copy.chmod(0o600)
    copy.write_bytes(b"changed")
    told = mend(room.keeper, when=START)
    assert "version 4 lacks 1 parts" in [str(damage) for damage in told.left]
    assert not copy.exists()
    assert (room.vault.paths.quarantine / copy.name).read_bytes() == b"changed"
    assert given_back(room.vault) == saves | {5: a_save(5)}


def test_a_file_that_a_lost_version_brought_in_stays_with_those_that_carry_it_along(
    room: Room,
) -> None:
    """The record of the first is gone, where the desk's file was new; the second still has it."""
    show, desk = room.save(a_save(1)), room.save(b"desk", "desk.show")
    room.keep(show, desk)
    room.keep(room.save(a_save(2)))
    first = list_versions(room.vault.store)[1].commit
    damage_object(room.vault, f"{first}:version.json")
    mend(room.keeper, when=START)
    second = list_versions(room.vault.store)[0]
    (carried,) = (file for file in second.files if file.name == "desk.show")
    assert carried.since == 1
    assert bytes_of_file(room.vault.store, second, carried) == b"desk"
    assert b"desk" in {path.read_bytes() for path in room.vault.paths.ring.iterdir()}


def test_a_plain_copy_is_proven_and_made_anew_though_the_version_that_brought_it_is_gone(
    room: Room,
) -> None:
    room.keep(room.save(a_save(1)), room.save(b"desk", "desk.show"))
    room.keep(room.save(a_save(2)))
    first = list_versions(room.vault.store)[1].commit
    damage_object(room.vault, f"{first}:version.json")
    ring = room.vault.paths.ring
    (copy,) = (path for path in ring.iterdir() if path.read_bytes() == b"desk")
    left = mend(room.keeper, when=START).left
    assert [str(damage) for damage in left if copy.name in str(damage)] == []
    copy.unlink()
    told = mend(room.keeper, when=START)
    assert any("no whole copy of the newest desk.show" in str(damage) for damage in told.found)
    assert b"desk" in {path.read_bytes() for path in ring.iterdir()}
    assert told.left == left


def test_a_lost_save_is_kept_anew_where_a_version_before_the_last_had_it(room: Room) -> None:
    """The vault watches a folder; only an older version tells where in it the file lay."""
    below = room.shows / "desk"
    below.mkdir()
    (below / "evening.desk").write_bytes(b"first")
    room.keep(room.save(a_save(1)), below / "evening.desk")
    (below / "evening.desk").unlink()
    room.keep(room.save(a_save(2)))
    (below / "evening.desk").write_bytes(b"second")
    lost = room.keep(below / "evening.desk")
    assert lost.version.number == 3
    packs = room.vault.paths.packs.glob("*.pack")
    newest = max(packs, key=lambda path: path.stat().st_mtime_ns)
    for path in (newest, newest.with_suffix(".idx")):
        path.unlink()
    (below / "evening.desk").unlink()
    room.vault.store.close()
    (kept,) = mend(room.keeper, when=START).kept_anew
    (file,) = (file for file in kept.version.files if file.name == "evening.desk")
    assert file.path == str(below / "evening.desk")
    assert bytes_of_file(room.vault.store, kept.version, file) == b"second"


def clone_of(vault: Vault, folder: Path) -> Path:
    command = ["git", "clone", "--quiet", "--mirror", str(vault.paths.history), str(folder)]
    subprocess.run(command, check=True, capture_output=True)
    return folder


def lose_packs(vault: Vault, number: int | None = None) -> None:
    """Those of a version or of all, with their second copies."""
    entries = read_journal(vault.paths.journal)
    packs = {name for entry in entries if number in (None, entry.number) for name in entry.packs}
    for name in packs:
        for folder in (vault.paths.packs, vault.paths.second):
            for path in folder.glob(f"{Path(name).stem}.*"):
                path.chmod(0o600)
                path.unlink()
    vault.store.close()


def lose_all_plain_files(room: Room) -> None:
    shutil.rmtree(room.vault.paths.ring)
    for path in room.shows.iterdir():
        path.unlink()


def everything_kept(vault: Vault) -> list[tuple[Version, list[bytes]]]:
    return [
        (version, [bytes_of_file(vault.store, version, file) for file in version.files])
        for version in list_versions(vault.store)
    ]


@pytest.mark.parametrize("place", ["bare", "a vault", "with files"])
def test_what_neither_pack_nor_plain_file_holds_comes_back_from_a_clone(
    room: Room, saves: dict[int, bytes], tmp_path: Path, place: str
) -> None:
    set_label(room.vault, list_versions(room.vault.store)[1].commit, "preview", who="Ada")
    before = everything_kept(room.vault)
    folder = tmp_path / "stick"
    match place:
        case "bare":
            clone_of(room.vault, folder)
        case "a vault":
            shutil.copytree(room.vault.folder, folder)
        case _:
            folder.mkdir()
            clone_of(room.vault, folder / ".git")
    lose_packs(room.vault)
    lose_all_plain_files(room)
    with open_vault(room.vault.folder, clock=room.clock) as vault:
        keeper = Keeper(vault, "Ada", choose_reader, Describer(describe_sides))
        told = mend(keeper, when=START, clone=folder)
        assert told.left == ()
        assert everything_kept(vault) == before
        assert check_vault(vault) == []


def test_a_version_out_of_the_middle_comes_back_from_a_clone_with_who_kept_it_and_when(
    room: Room, saves: dict[int, bytes], tmp_path: Path
) -> None:
    before = everything_kept(room.vault)
    clone = clone_of(room.vault, tmp_path / "evening.git")
    lose_packs(room.vault, 2)
    lose_all_plain_files(room)
    assert mend(room.keeper, when=START).left
    told = mend(room.keeper, when=START, clone=clone)
    assert told.left == ()
    assert any("brought back" in str(repair) for repair in told.repairs)
    assert everything_kept(room.vault) == before


def test_after_a_save_went_on_without_it_a_version_is_named_as_gone_still(
    room: Room, saves: dict[int, bytes], tmp_path: Path
) -> None:
    """Its place in the line is taken: what follows was kept on the version before it."""
    clone = clone_of(room.vault, tmp_path / "evening.git")
    lose_packs(room.vault, 3)
    lose_all_plain_files(room)
    mend(room.keeper, when=START)
    room.keep(room.save(a_save(4)))
    told = mend(room.keeper, when=START, clone=clone)
    assert [str(damage) for damage in told.left] == ["version 3 cannot be read from the history"]
    assert given_back(room.vault) == {1: saves[1], 2: saves[2], 4: a_save(4)}


def test_a_clone_of_another_history_changes_nothing(
    room: Room, saves: dict[int, bytes], tmp_path: Path
) -> None:
    other = tmp_path / "other"
    create_vault(other, name="Other", watched=[tmp_path / "x.json"], clock=room.clock)
    lose_packs(room.vault, 2)
    lose_all_plain_files(room)
    without = mend(room.keeper, when=START).left
    assert mend(room.keeper, when=START, clone=other).left == without


def test_what_is_no_clone_is_refused_before_anything_is_mended(
    room: Room, saves: dict[int, bytes], tmp_path: Path
) -> None:
    lose_packs(room.vault, 2)
    with pytest.raises(NotACloneError, match="there is no git repository in it"):
        mend(room.keeper, when=START, clone=tmp_path)
    assert check_vault(room.vault)


def test_labels_that_were_given_after_the_loss_are_not_taken_back(
    room: Room, saves: dict[int, bytes], tmp_path: Path
) -> None:
    set_label(room.vault, list_versions(room.vault.store)[0].commit, "preview", who="Ada")
    clone = clone_of(room.vault, tmp_path / "evening.git")
    lose_packs(room.vault, 0)
    with open_vault(room.vault.folder, clock=room.clock) as vault:
        newest = list_versions(vault.store)[0]
        assert newest.labels == ()
        set_label(vault, newest.commit, "opening", who="Ada")
        keeper = Keeper(vault, "Ada", choose_reader, Describer(describe_sides))
        lose_packs(vault, 2)
        mend(keeper, when=START, clone=clone)
        assert list_versions(vault.store)[0].labels == ("opening",)


def test_a_version_whose_pack_is_put_back_by_hand_is_the_newest_again(
    room: Room, saves: dict[int, bytes], tmp_path: Path
) -> None:
    before = everything_kept(room.vault)
    packs = shutil.copytree(room.vault.paths.packs, tmp_path / "packs")
    lose_packs(room.vault, 3)
    lose_all_plain_files(room)
    mend(room.keeper, when=START)
    assert list_versions(room.vault.store)[0].number == 2
    for path in packs.iterdir():
        if not (room.vault.paths.packs / path.name).exists():
            shutil.copy(path, room.vault.paths.packs)
    assert mend(room.keeper, when=START).left == ()
    assert everything_kept(room.vault) == before
