"""What a look at the whole vault is told as: damage, repairs, and what is left, in that order."""

import pytest

from showvault.flows.mending import Mended
from showvault.flows.outcomes import Kept
from showvault.report.mending import mended_record, mended_text
from showvault.vault.checking import Damage
from showvault.vault.quarantine import Repair
from showvault.vault.versions import Version

FOUND = (Damage("history", "a pack is damaged"), Damage("ring", "the copy 'a\x1b[2J' is changed"))
VERSION = Version(number=9, time="2026-11-24T21:00:00Z", note="brought back\x07")
KEPT = (Kept(VERSION, "/shows/evening.json", "0" * 64, ()),)


def test_a_whole_vault_is_said_in_one_line() -> None:
    whole = Mended((), (), (), ())
    assert mended_text(whole, tried=True) == "everything is as it was kept"
    assert mended_record(whole) == {"damage": [], "repairs": [], "kept_anew": [], "left": []}


def test_a_mere_look_names_the_command_that_mends() -> None:
    lines = mended_text(Mended(FOUND, (), (), FOUND), tried=False).splitlines()
    assert lines[0] == "damaged, history: a pack is damaged"
    assert lines[-1] == "showvault verify --mend mends what can be mended"


def test_repairs_and_what_was_kept_anew_are_told() -> None:
    told = mended_text(Mended(FOUND, (Repair("the pack came back"),), KEPT, ()), tried=True)
    assert told.splitlines()[2:] == [
        "mended: the pack came back",
        "kept anew as version 9: brought back\\x07",
        "all of it is mended",
    ]


def test_what_is_left_is_the_last_and_loudest() -> None:
    told = mended_text(Mended(FOUND, (), (), FOUND[:1]), tried=True)
    assert told.splitlines()[-1] == "LEFT, history: a pack is damaged"


@pytest.mark.parametrize("tried", [True, False])
def test_no_name_can_steer_the_terminal(tried: bool) -> None:
    assert "\x1b" not in mended_text(Mended(FOUND, (), (), FOUND), tried=tried)


def test_programs_are_told_the_same() -> None:
    record = mended_record(Mended(FOUND, (Repair("mended"),), KEPT, FOUND[:1]))
    assert record["damage"][0] == {"where": "history", "text": "a pack is damaged"}
    assert record["repairs"] == ["mended"]
    assert record["kept_anew"][0]["number"] == 9
    assert record["left"] == [{"where": "history", "text": "a pack is damaged"}]
