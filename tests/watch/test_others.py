"""What another process keeps in the same vault is told once, and never ends the watching."""

from showvault.vault.versions import Version
from showvault.watch.events import Kept, KeptElsewhere, Note, Ready, SavedUnchanged
from tests.watch.evening import Evening
from tests.watch.keepers import full_disk

RESTORED = Version(number=7, time="2026-11-25T20:00:00Z", summary="version 2 restored")


def test_a_version_that_another_command_kept_is_told_once(evening: Evening) -> None:
    evening.begin()
    evening.run(2)
    evening.keeper.elsewhere = RESTORED
    evening.run(5)
    (told,) = evening.of(KeptElsewhere)
    assert isinstance(told, KeptElsewhere)
    assert (told.number, told.summary) == (7, "version 2 restored")


def test_versions_from_before_the_watching_are_not_told(evening: Evening) -> None:
    evening.keeper.elsewhere = RESTORED
    evening.begin()
    evening.run(5)
    assert evening.kinds() == [Ready]


def test_a_version_of_our_own_is_not_told_twice(evening: Evening) -> None:
    evening.begin()
    evening.run(1)
    evening.save("evening.json", "{}")
    evening.run(5)
    (kept,) = evening.of(Kept)
    assert isinstance(kept, Kept)
    evening.keeper.elsewhere = Version(number=kept.number, time="2026-11-25T20:00:00Z")
    evening.run(5)
    assert evening.of(KeptElsewhere) == []


def test_a_vault_that_cannot_be_looked_at_is_told_once_and_the_watching_goes_on(
    evening: Evening,
) -> None:
    evening.begin()
    evening.run(1)
    evening.keeper.broken = full_disk(evening.folder)
    evening.run(20)
    assert len(evening.of(Note)) == 1
    evening.keeper.broken = None
    evening.save("evening.json", "{}")
    evening.run(5)
    assert len(evening.of(Kept)) == 1
    assert evening.of(SavedUnchanged) == []
