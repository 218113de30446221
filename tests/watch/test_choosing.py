from pathlib import Path
from typing import Literal

import pytest

from showvault.files.places import Storage
from showvault.watch.choosing import notifier_for
from showvault.watch.notices import NoNotices, SystemNotices


def on(kind: Literal["fixed", "removable", "network"]) -> Storage:
    return Storage(kind, "", Path("/"))


def test_a_fixed_drive_has_notices() -> None:
    notifier, reason = notifier_for([Path("/shows")], storage=lambda path: on("fixed"))
    assert isinstance(notifier, SystemNotices)
    assert reason == ""


@pytest.mark.parametrize("kind", ["network", "removable"])
def test_other_drives_are_polled_and_the_reason_names_the_place(
    kind: Literal["network", "removable"],
) -> None:
    notifier, reason = notifier_for(
        [Path("/shows"), Path("/stick")],
        storage=lambda path: on(kind if path == Path("/stick") else "fixed"),
    )
    assert isinstance(notifier, NoNotices)
    assert "/stick" in reason


def test_polling_can_be_asked_for_anywhere() -> None:
    notifier, reason = notifier_for(
        [Path("/shows")], force_polling="as you asked", storage=lambda path: on("fixed")
    )
    assert isinstance(notifier, NoNotices)
    assert reason == "as you asked"
