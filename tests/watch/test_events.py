"""The keys of `ready`, `kept` and `set_aside` are what other programs rely on."""

import json
import os
from datetime import UTC, datetime
from pathlib import Path

from showvault.watch.events import Kept, Ready, SetAside, SlowToSettle, event_as_json

NOW = datetime(2026, 11, 25, 20, 0, tzinfo=UTC)


def test_a_kept_version_says_number_path_hash_and_summary() -> None:
    kept = Kept(time=NOW, number=7, path=Path("/shows/a.json"), sha256="ab", summary="1 cue")
    assert json.loads(event_as_json(kept)) == {
        "event": "kept",
        "time": "2026-11-25T20:00:00Z",
        "number": 7,
        "path": "/shows/a.json",
        "sha256": "ab",
        "summary": "1 cue",
        "notes": [],
        "of_the_show": True,
    }


def test_a_file_set_aside_says_number_path_and_reason() -> None:
    aside = SetAside(time=NOW, number=8, path=Path("/shows/a.json"), reason="it ends early")
    told = json.loads(event_as_json(aside))
    assert (told["event"], told["number"], told["reason"]) == ("set_aside", 8, "it ends early")


def test_ready_has_its_time() -> None:
    told = json.loads(event_as_json(Ready(time=NOW, watched=(Path("/shows"),), polling=False)))
    assert (told["event"], told["time"]) == ("ready", "2026-11-25T20:00:00Z")


def test_names_are_the_words_of_the_class_in_small_letters() -> None:
    slow = SlowToSettle(time=NOW, path=Path("/a"), seconds=60.0)
    assert json.loads(event_as_json(slow))["event"] == "slow_to_settle"


def test_a_name_with_control_characters_or_without_unicode_stays_on_its_line() -> None:
    path = Path(os.fsdecode(b"/shows/a\n\x1b]52;\xff.json"))
    line = event_as_json(SlowToSettle(time=NOW, path=path, seconds=60.0))
    assert b"\n" not in line
    assert b"\x1b" not in line
    assert json.loads(line)["path"] == "/shows/a\n\x1b]52;\\udcff.json"
