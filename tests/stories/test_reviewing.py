"""Questions of the morning after: since when, which cue, what does it look like, what is set."""

import json
import subprocess
import sys

import jsonschema

from tests.stories.desk import SAMPLES, Desk


def kept_overnight(desk: Desk) -> None:
    evening = (SAMPLES / "harvest_musical_evening.json").read_bytes()
    morning = (SAMPLES / "harvest_musical_morning.json").read_bytes()
    desk.save("harvest.json", evening)
    desk.do("snapshot", desk.shows, "--label", "evening")
    desk.save("harvest.json", morning)
    desk.do("snapshot", desk.shows)


def test_an_overnight_session_is_reviewed_in_one_command_on_a_page(desk: Desk):
    kept_overnight(desk)
    page = desk.do("since", "evening").out
    assert "LOOKS DIFFERENT" in page
    assert "PLAYS DIFFERENTLY" in page
    assert "watch first" in page
    assert len(page.splitlines()) <= 75


def test_the_review_as_json_has_every_change_in_one_sentence_and_keeps_its_schema(desk: Desk):
    kept_overnight(desk)
    review = desk.ask("since", "evening")
    told = sorted(index for sentence in review["sentences"] for index in sentence["changes"])
    assert told == list(range(len(review["changes"])))
    assert review["on_stage"]
    jsonschema.validate(review, desk.run("schema", "compare").json)


def test_a_cue_is_followed_to_who_made_it(desk: Desk):
    kept_overnight(desk)
    history = desk.ask("history", "cue", "34.2")["history"]
    assert [moment["version"]["number"] for moment in history] == [2]
    assert history[0]["changes"][0]["change"] == "added"
    renumbered = desk.ask("history", "cue", "150")["history"]
    assert [moment["version"]["number"] for moment in renumbered] == [2, 1]


def test_the_history_of_what_no_version_has_is_said_to_be_none(desk: Desk):
    kept_overnight(desk)
    told = desk.run("history", "cue", "999", "--vault", desk.vault)
    assert (told.code, told.out.strip()) == (1, "there is no list 1 cue 999 in any version")
    desk.do("history", "color", "preset", "page", "1", "slot", "3")


def test_a_look_has_every_fixture_and_the_slots_fit_their_universe(desk: Desk):
    kept_overnight(desk)
    look = desk.ask("look", "evening", "--cue", "35")
    assert look["1"]["Dimmer"] == 10
    slots = desk.ask("look", "evening", "--cue", "35", "--dmx")
    assert {len(universe) for universe in slots.values()} == {512}
    assert slots["1"][0] == 26  # 10 percent of 255 is 25.5, halves up (ANSI E1.11 slots)


def test_what_a_source_counts_by_itself_can_be_left_out_and_is_said_so(desk: Desk):
    kept_overnight(desk)
    desk.do("settings", "--leave-out", "extra.export_counter", "--leave-out", "extra.exported_at")
    review = desk.ask("compare", "1", "2")
    fields = [change.get("field", "") for change in review["changes"]]
    assert not [field for field in fields if field.startswith("extra.export")]
    assert review["left_out"] == ["extra.export_counter", "extra.exported_at"]
    assert "left out of this comparison" in desk.do("compare", "1", "2").out


def test_a_comparison_can_be_had_for_a_spreadsheet_with_no_live_formula(desk: Desk):
    show = json.loads((SAMPLES / "lighthouse_play.json").read_bytes())
    desk.save("play.json", json.dumps(show).encode())
    desk.do("snapshot", desk.shows)
    show["cue_lists"]["1"]["cues"]["4"]["label"] = "=HYPERLINK(1)"
    desk.save("play.json", json.dumps(show).encode())
    desk.do("snapshot", desk.shows)
    table = desk.do("compare", "1", "2", "--format", "csv").out
    assert "'=HYPERLINK" in table
    assert ",=HYPERLINK" not in table


def test_the_recipe_of_the_readme_gives_the_very_bytes_from_a_plain_clone(desk: Desk, tmp_path):
    kept_overnight(desk)
    vault = desk.vault
    clone = tmp_path / "clone"
    subprocess.run(
        ["git", "-c", "safe.directory=*", "clone", "-q", str(vault / "history.git"), str(clone)],
        check=True,
    )
    readme = (SAMPLES.parent / "README.md").read_text()
    recipe = readme.split('python3 -c "')[1].split('" > show.json')[0]
    made = subprocess.run(
        [sys.executable, "-c", recipe], cwd=clone, capture_output=True, check=True
    ).stdout
    assert made == (SAMPLES / "harvest_musical_morning.json").read_bytes()


def test_a_re_patch_is_read_as_a_patch_sheet_on_one_page(desk: Desk):
    kept_overnight(desk)
    sheet = desk.do("compare", "1", "2", "--patch").out
    assert "fixture 201: universe 3 addresses 1–13 → universe 7 addresses 1–13" in sheet
    assert "universe 3 → 7: fixtures 201–212" in sheet
    assert len(sheet.splitlines()) <= 24
    rows = desk.ask("compare", "1", "2", "--patch")["patch"]["rows"]
    assert len(rows) == 13


def test_a_closed_file_is_compared_by_size_hash_and_time(desk: Desk, play):
    desk.save("play.json", play)
    desk.save("play.desk", b"closed" * 100)
    desk.do("snapshot", desk.shows)
    desk.save("play.desk", b"closed" * 200)
    desk.do("snapshot", desk.shows)
    said = desk.do("compare", "1", "2").out
    assert "nothing changed" in said
    assert "file play.desk: 600 B" in said
    (file,) = desk.ask("compare", "1", "2")["files"]
    assert (file["before"]["size"], file["after"]["size"]) == (600, 1200)
    assert desk.run("compare", "1", "2", "--exit-code", "--vault", desk.vault).code == 1


def test_a_commit_of_a_staged_show_with_errors_is_refused_and_says_how_to_commit_all_the_same(
    desk: Desk,
):
    for arguments in (["init", "-q"], ["add", "."]):
        desk.save("faulty.json", (SAMPLES / "faulty.json").read_bytes())
        subprocess.run(["git", *arguments], cwd=desk.shows, env=desk.environment, check=True)
    answer = desk.run("staged", "check", cwd=desk.shows)
    assert answer.code == 1
    assert "faulty.json:" in answer.out
    assert "git commit --no-verify" in answer.out.splitlines()[-1]


def test_a_staged_show_that_is_not_whole_is_named_and_the_others_are_checked_too(desk: Desk):
    desk.save("a_broken.json", (SAMPLES / "half_written.json").read_bytes())
    desk.save("faulty.json", (SAMPLES / "faulty.json").read_bytes())
    for arguments in (["init", "-q"], ["add", "."]):
        subprocess.run(["git", *arguments], cwd=desk.shows, env=desk.environment, check=True)
    answer = desk.run("staged", "check", cwd=desk.shows)
    assert answer.code == 1
    assert answer.out.startswith("a_broken.json:\nerror    the file is not whole")
    assert "faulty.json:" in answer.out
    assert "git commit --no-verify" in answer.out.splitlines()[-1]
