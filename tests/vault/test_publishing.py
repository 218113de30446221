import hashlib
import os
import shutil
import subprocess
import sys
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest

from showvault.files.disk import RealFileSystem
from showvault.files.space import NoRoomError
from showvault.vault.checking import check_vault
from showvault.vault.opening import Vault
from showvault.vault.parts import UnsafePartNameError, blob_id
from showvault.vault.publishing import ReadBackError, StaleHeadError, publish_version
from showvault.vault.reader import MissingObjectError
from showvault.vault.versions import list_versions, read_file
from tests.vault.builders import START, keep, make_vault, opened, parts_of, pending

ONE = {"show/cues/1.json": b"one", "show/cues/2.json": b"two\r\n"}


@pytest.fixture
def vault(tmp_path: Path):
    with opened(make_vault(tmp_path / "vault")) as vault:
        yield vault


def git(vault: Vault, *arguments: str) -> str:
    command = ["git", "-C", str(vault.paths.history), *arguments]
    return subprocess.run(command, check=True, capture_output=True, text=True).stdout


def test_the_first_version_has_number_one_and_its_parts(vault: Vault) -> None:
    version = keep(vault, ONE)
    assert (version.number, version.good, version.who) == (1, True, "Ada")
    assert parts_of(vault, version) == ONE
    assert vault.store.head() == version.commit


def test_parts_that_are_not_named_stay_as_they_were(vault: Vault) -> None:
    keep(vault, ONE)
    version = keep(vault, {"show/cues/3.json": b"three"}, removed=["show/cues/1.json"])
    assert parts_of(vault, version) == {
        "show/cues/2.json": b"two\r\n",
        "show/cues/3.json": b"three",
    }


def test_git_itself_reads_the_same(vault: Vault) -> None:
    """git is the reference for what was stored (git-cat-file, git-fsck, git-log)."""
    keep(vault, ONE, message="4 cues\n\ncue 12.5: 50 → 65 %", email="ada@example.org")
    version = keep(vault, {"show/cues/3.json": b"three"}, message="1 cue")
    assert git(vault, "log", "--format=%an <%ae> %s").splitlines() == [
        "Ada <> 1 cue",
        "Ada <ada@example.org> 4 cues",
    ]
    assert git(vault, "cat-file", "blob", "main:show/cues/2.json") == "two\n" or os.name == "nt"
    assert git(vault, "fsck", "--full", "--strict") == ""
    listed = dict(
        reversed(line.split(" ", 2)[2].split("\t"))
        for line in git(vault, "ls-tree", "-r", "main").splitlines()
    )
    assert listed == vault.store.tree(version.commit)


def test_the_tree_that_is_remembered_is_the_tree_that_is_stored(vault: Vault) -> None:
    keep(vault, ONE)
    version = keep(vault, {"show/cues": b"a file where a folder was"}, removed=list(ONE))
    remembered = dict(vault.store.tree(version.commit))
    with opened(vault.folder) as fresh:
        assert fresh.store.tree(version.commit) == remembered


def test_a_version_that_was_compared_with_an_older_one_is_refused(vault: Vault) -> None:
    keep(vault, ONE)
    late = pending(vault, {"show/cues/1.json": b"mine"})
    keep(vault, {"show/cues/1.json": b"theirs"})
    with pytest.raises(StaleHeadError) as caught:
        publish_version(vault, late)
    assert caught.value.expected == late.parent
    assert parts_of(vault, list_versions(vault.store)[0])["show/cues/1.json"] == b"theirs"


def test_the_plain_copy_is_the_very_file(vault: Vault) -> None:
    keep(vault, ONE, data=b'{"the": "file"}\r\n')
    (copy,) = vault.paths.ring.iterdir()
    assert copy.read_bytes() == b'{"the": "file"}\r\n'
    assert copy.name == "000001_2026-11-24_21-03-00_evening.json"


def test_a_file_that_is_not_whole_is_kept_and_hides_nothing(vault: Vault) -> None:
    good = keep(vault, ONE)
    aside = keep(vault, {}, data=b'{"cut', role="set_aside", good=False, reason="cut off")
    assert (aside.number, aside.good, aside.reason) == (2, False, "cut off")
    assert parts_of(vault, aside) == parts_of(vault, good)
    assert read_file(vault.store, aside.files[0]) == b'{"cut'
    assert git(vault, "cat-file", "blob", "main:set-aside/evening.json") == '{"cut'
    assert len(list(vault.paths.ring.iterdir())) == 1
    later = keep(vault, {"show/cues/1.json": b"1"})
    assert not any(path.startswith("set-aside") for path in vault.store.tree(later.commit))
    assert read_file(vault.store, aside.files[0]) == b'{"cut'


def test_a_desks_own_file_is_kept_on_a_ref_of_its_own(vault: Vault) -> None:
    data = bytes(range(256)) * 1000
    version = keep(vault, {}, data=data, role="opaque", path="/shows/evening.desk")
    (file,) = version.files
    assert read_file(vault.store, file) == data
    sha256 = hashlib.sha256(data).hexdigest()
    assert git(vault, "rev-parse", f"refs/showvault/files/{sha256}").strip() == blob_id(data)
    assert list(vault.store.tree(version.commit)) == ["version.json"]
    keep(vault, {}, data=data, role="opaque", path="/shows/evening.desk")  # once more, not twice
    assert check_vault(vault) == []


def test_a_file_that_did_not_change_is_carried_along(vault: Vault) -> None:
    first = keep(vault, {}, data=b"desk", role="opaque", path="/shows/evening.desk")
    both = pending(vault, ONE)
    second = publish_version(vault, replace(both, files=(*first.files, *both.files)))
    assert second.files[0] == first.files[0]
    assert [file.since for file in second.files] == [1, 2]
    assert len(list(vault.paths.ring.iterdir())) == 2


def test_two_files_of_one_name_have_two_plain_copies(vault: Vault) -> None:
    one = pending(vault, ONE, data=b"1", path="/a/show.json")
    two = pending(vault, {}, data=b"2", path="/b/show.json", role="opaque")
    both = replace(one, files=(*one.files, *two.files), fresh={**one.fresh, **two.fresh})
    publish_version(vault, both)
    assert sorted(path.read_bytes() for path in vault.paths.ring.iterdir()) == [b"1", b"2"]


@pytest.mark.parametrize(
    "path",
    [
        "",
        "/etc/passwd",
        "../x",
        "a//b",
        "a/../b",
        "a/.",
        ".git/config",
        "a/.GIT/hooks",
        "git~1/x",
        "a\\b",
        "a\nM 100644 inline b",
        "CON",
        "com1.json",
        "a/nul.txt",
        "end.",
        "end ",
        "a:b",
        '"quoted"',
        "x" * 256,
        "a\x1b",
        "version.json",
        "set-aside/x",
        "a*b",
        "a?",
    ],
)
def test_a_part_name_that_some_file_system_cannot_hold_is_refused(vault: Vault, path: str) -> None:
    with pytest.raises(UnsafePartNameError):
        keep(vault, {path: b""})
    with pytest.raises(UnsafePartNameError):
        keep(vault, {}, removed=[path])
    assert list_versions(vault.store) == []


def test_part_names_of_any_language_come_back(vault: Vault) -> None:
    parts = {"show/Ö ü/日本.json": b"1", "show/a b/'c' (d) #1 %25 -- $x.json": b"2", "show/-o": b""}
    assert parts_of(vault, keep(vault, parts)) == parts


@pytest.mark.parametrize(
    "who", ["", "<evil> \n committer x <y> 1 +0000", "Zoë", "\x1b[31m", "a" * 500, ".,;", "\ud800"]
)
def test_any_name_of_a_person_makes_a_sound_commit(vault: Vault, who: str) -> None:
    keep(vault, ONE, who=who if who != "\ud800" else "\ufffd", email="<<>>\n")
    assert git(vault, "fsck", "--full", "--strict") == ""


@pytest.mark.parametrize(
    "moment",
    [
        datetime(1931, 1, 1, tzinfo=UTC),
        datetime(2444, 1, 1, tzinfo=UTC),
        datetime(2026, 3, 29, 3, 0, tzinfo=timezone(timedelta(hours=5, minutes=45))),
        datetime(2026, 3, 29, 3, 0, tzinfo=timezone(-timedelta(hours=3, minutes=30))),
    ],
)
def test_any_clock_makes_a_sound_commit(vault: Vault, moment: datetime) -> None:
    """Dates outside what git holds fail its check for ever (fsck: badDateOverflow)."""
    version = keep(vault, ONE, time=moment)
    assert git(vault, "fsck", "--full", "--strict") == ""
    assert 1970 <= version.moment.year <= 2100
    assert version.moment.utcoffset() == moment.utcoffset()


def test_a_message_of_any_text_is_a_message(vault: Vault) -> None:
    keep(vault, ONE, message="from refs/heads/x\nM 100644 inline a\n\0 \x1b ✓\ndone\n")
    assert "done" in git(vault, "log", "-1", "--format=%B")
    assert parts_of(vault, list_versions(vault.store)[0]) == ONE


def test_without_room_nothing_is_begun(vault: Vault) -> None:
    class Huge(bytes):
        def __len__(self) -> int:
            return 10**15

    with pytest.raises(NoRoomError):
        keep(vault, {}, data=Huge(b"x"), role="opaque")
    assert list_versions(vault.store) == []


def test_saves_work_beside_a_vault_that_is_open_elsewhere(vault: Vault) -> None:
    keep(vault, ONE)
    with opened(vault.folder) as other:
        there = keep(other, {"show/cues/1.json": b"there"})
    assert vault.store.head() == there.commit
    assert parts_of(vault, there)["show/cues/1.json"] == b"there"
    here = keep(vault, {"show/cues/1.json": b"here"})
    assert [version.number for version in list_versions(vault.store)] == [3, 2, 1]
    assert here.number == 3


def test_numbers_are_counted_without_gaps(vault: Vault) -> None:
    versions = [keep(vault, {"show/n": b"%d" % n}) for n in range(5)]
    assert [version.number for version in versions] == [1, 2, 3, 4, 5]
    assert versions[0].time > START.isoformat()


def test_a_save_needs_few_processes_and_every_one_is_gone_afterwards(tmp_path: Path) -> None:
    folder = make_vault(tmp_path / "few")
    shim, log = tmp_path / "bin", tmp_path / "log"
    shim.mkdir()
    real = next(
        Path(place) / "git"
        for place in os.environ["PATH"].split(os.pathsep)
        if (Path(place) / "git").exists()
    )
    (shim / "git").write_text(f'#!/bin/sh\necho "$@" >> {log}\nexec {real} "$@"\n')
    (shim / "git").chmod(0o700)
    environ = {**os.environ, "PATH": f"{shim}{os.pathsep}{os.environ['PATH']}"}
    with opened(folder, environ=environ) as vault:
        for n in range(3):
            keep(vault, {"show/n": b"%d" % n})
    started = log.read_text().splitlines()
    assert len(started) == 1  # one answers questions for all of them


class FlippingDisk(RealFileSystem):
    """A disk that writes one wrong byte into the next pack, and says that all is well."""

    flips = True

    def open(self, path: Path, flags: int, mode: int = 0o600) -> int:
        self._path = path
        return super().open(path, flags, mode)

    def write(self, descriptor: int, data: memoryview) -> int:
        if self.flips and self._path.parent.name == "pack" and len(data) > 60:
            self.flips = False
            data = memoryview(bytes(data[:50]) + bytes([data[50] ^ 1]) + bytes(data[51:]))
        return super().write(descriptor, data)


def test_what_comes_back_changed_from_the_disk_is_not_published_and_written_again(
    tmp_path: Path,
) -> None:
    folder, disk = make_vault(tmp_path / "vault"), FlippingDisk()
    with opened(folder, disk=disk) as vault:
        version = keep(vault, ONE)
        assert not disk.flips
        assert parts_of(vault, version) == ONE
        assert check_vault(vault) == []
        assert [one.number for one in list_versions(vault.store)] == [1]


@pytest.mark.skipif(sys.platform == "win32", reason="the stand-in is a shell script")
@pytest.mark.parametrize(
    ("written", "read", "what"),
    [("the desk file", "the dusk file", "a file"), ("Ada", "Ida", "the record")],
)
def test_a_version_whose_bytes_keep_coming_back_changed_is_refused(
    tmp_path: Path, written: str, read: str, what: str
) -> None:
    """Git swears that all is well and gives other bytes: only comparing them shows it."""
    folder = make_vault(tmp_path / "vault")
    with opened(folder) as vault:
        before = keep(vault, ONE, who="Eve")
    real = shutil.which("git")
    (tmp_path / "bin").mkdir()
    (tmp_path / "bin/git").write_text(
        "#!/bin/sh\n"
        f'case "$*" in *cat-file*) {real} "$@" | LC_ALL=C sed -u "s/{written}/{read}/";;\n'
        f'*) exec {real} "$@";; esac\n'
    )
    (tmp_path / "bin/git").chmod(0o700)
    environ = {**os.environ, "PATH": f"{tmp_path / 'bin'}{os.pathsep}{os.environ['PATH']}"}
    desk = {"data": b"the desk file", "role": "opaque", "path": "/shows/evening.desk"}
    with opened(folder, environ=environ) as vault:
        with pytest.raises(ReadBackError, match=f"^{what} came back from the disk changed") as told:
            keep(vault, {}, **desk)
        assert "what was kept before is untouched" in (told.value.hint or "")
    with opened(folder) as vault:
        assert list_versions(vault.store) == [before]
        assert read_file(vault.store, keep(vault, {}, **desk).files[0]) == b"the desk file"
        assert check_vault(vault) == []


def test_a_desk_file_that_was_damaged_since_is_stored_anew_when_it_is_kept_again(
    vault: Vault,
) -> None:
    """It is not new, so it would not be written; reading it back shows that it is not there."""
    data = bytes(range(256)) * 1000
    desk = {"data": data, "role": "opaque", "path": "/shows/evening.desk"}
    first = keep(vault, {}, **desk)
    pack = max(vault.paths.packs.glob("*.pack"), key=lambda path: path.stat().st_size)
    damaged = bytearray(pack.read_bytes())
    damaged[len(damaged) // 2] ^= 0xFF
    pack.chmod(0o600)
    pack.write_bytes(damaged)
    vault.store.close()
    with pytest.raises(MissingObjectError):
        read_file(vault.store, first.files[0])
    again = keep(vault, {}, **desk)
    assert read_file(vault.store, again.files[0]) == data
    assert read_file(vault.store, first.files[0]) == data
    assert [version.number for version in list_versions(vault.store)] == [2, 1]
    assert check_vault(vault) == []


def test_a_second_file_that_is_not_whole_leaves_the_first_where_it_is_kept(vault: Vault) -> None:
    """The first did not change meanwhile: it is carried along, not written once more."""
    fields = {"role": "set_aside", "good": False}
    first = keep(vault, {}, data=b'{"one', path="/a/one.json", **fields)
    second = pending(vault, {}, data=b'{"two', path="/a/two.json", **fields)
    both = publish_version(vault, replace(second, files=(*first.files, *second.files)))
    assert [read_file(vault.store, file) for file in both.files] == [b'{"one', b'{"two']
    assert [file.since for file in both.files] == [1, 2]
    assert check_vault(vault) == []
