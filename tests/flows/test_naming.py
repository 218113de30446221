"""Giving a version a name."""

import pytest

from showvault.flows.naming import NameTakenError, give_name, on_one_line
from showvault.vault.labels import LabelTakenError
from showvault.vault.opening import open_vault
from showvault.vault.versions import list_versions
from tests.flows.rooms import Room, a_save


def test_a_name_is_kept_on_one_line():
    assert on_one_line(["opening ", "night\n\n", "final"]) == "opening night final"


def test_a_name_that_is_taken_is_told_with_who_has_it_and_how_to_take_it_off(room: Room):
    first = room.keep(room.save(a_save(50))).version
    second = room.keep(room.save(a_save(65))).version
    give_name(room.vault, first, "opening night", who="Ada")
    with pytest.raises(NameTakenError) as caught:
        give_name(room.vault, second, "Opening Night", who="Ada")
    assert str(caught.value).startswith("'Opening Night' already names version 1 of 2026-11-24")
    assert "showvault label 1 --remove Opening Night" in (caught.value.hint or "")
    assert caught.value.holder.number == 1


def test_a_name_whose_version_is_gone_is_told_to_be_taken(room: Room):
    """Its version may come back when the vault is mended; until then nobody knows its number."""
    room.keep(room.save(a_save(50)))
    second = room.keep(room.save(a_save(65))).version
    newest = max(room.vault.paths.packs.glob("*.pack"), key=lambda path: path.stat().st_mtime_ns)
    give_name(room.vault, second, "opening night", who="Ada")
    for path in (newest, newest.with_suffix(".idx")):
        path.unlink()
    room.vault.store.close()
    (first,) = (one for one in list_versions(room.vault.store) if one.number == 1)
    with pytest.raises(LabelTakenError, match="'opening night' already names another version"):
        give_name(room.vault, first, "opening night", who="Ada")
    with open_vault(room.vault.folder, clock=room.clock) as mended:
        (first,) = list_versions(mended.store)
        with pytest.raises(LabelTakenError) as caught:
            give_name(mended, first, "opening night", who="Ada")
        assert "remove that label first" in (caught.value.hint or "")
