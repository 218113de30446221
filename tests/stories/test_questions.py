"""Compare, check and schema, through the real command line."""

import json
import sys
from decimal import Decimal

import jsonschema
import pytest

from tests.stories.desk import SAMPLES

EVENING = SAMPLES / "harvest_musical_evening.json"
MORNING = SAMPLES / "harvest_musical_morning.json"
OBJECTS = {
    "cue", "preset", "fixture", "group", "effect", "macro", "submaster", "curve", "playback",
    "cue_list", "fixture_type", "show",
}  # fmt: skip


@pytest.fixture
def overnight(desk):
    answer = desk.run("compare", EVENING, MORNING, "--format", "json")
    assert answer.code == 0, answer.err
    return answer.json


def test_two_show_files_are_compared_without_a_vault(overnight, desk):
    assert {"old", "new", "changes"} <= set(overnight)
    assert {change["object"] for change in overnight["changes"]} <= OBJECTS
    assert all(change["text"] for change in overnight["changes"])
    assert {change["change"] for change in overnight["changes"]} <= {
        "added", "removed", "changed", "moved", "copied",
    }  # fmt: skip
    assert not desk.vault.exists()


def test_the_overnight_session_is_told_change_by_change(overnight):
    def find(**wanted):
        return [
            change
            for change in overnight["changes"]
            if all(change.get(key) == value for key, value in wanted.items())
        ]

    assert find(object="cue", list="1", id="34.2", change="added")
    assert find(object="cue", list="1", id="72", change="removed")
    (follow,) = find(object="cue", list="1", id="117", change="changed")
    assert follow["before"] != follow["after"]
    trimmed = find(object="cue", list="1", id="21", fixture="2", attribute="Dimmer")
    assert [(change["before"], change["after"]) for change in trimmed] == [(30, 20)]
    washes = {change["id"] for change in find(object="fixture", field="addresses")}
    assert {str(number) for number in range(201, 213)} <= washes
    assert find(object="group", id="2.3")
    assert find(object="effect", id="1.1", field="cycle_seconds", before=1.2, after=1.4)


def test_the_moved_preset_is_one_change_and_its_references_are_none(overnight):
    moved = [
        change
        for change in overnight["changes"]
        if change["object"] == "preset" and change["change"] == "moved"
    ]
    assert [(change["from"], change["id"]) for change in moved] == [("Color 1.9", "Color 1.20")]
    cues = [change for change in overnight["changes"] if change["object"] == "cue"]
    assert not [change for change in cues if change.get("after") == {"preset": "Color 1.20"}]


def test_what_compare_prints_keeps_its_published_schema(overnight, desk):
    schema = desk.run("schema", "compare").json
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.Draft202012Validator(schema).validate(overnight)


def test_compare_tells_people_the_same(desk):
    answer = desk.run("compare", EVENING, MORNING)
    assert answer.code == 0
    assert "34.2" in answer.out and "universe" in answer.out.lower()


@pytest.mark.parametrize(("new", "code"), [(MORNING, 1), (EVENING, 0)])
def test_the_exit_code_answers_whether_they_differ_when_asked(desk, new, code):
    assert desk.run("compare", EVENING, new, "--exit-code").code == code


def test_formatting_and_order_of_keys_are_no_change(desk):
    show = json.loads(EVENING.read_bytes())
    path = desk.save("other.json", json.dumps(dict(reversed(show.items()))).encode())
    answer = desk.run("compare", EVENING, path, "--format", "json")
    assert answer.json["changes"] == []


def test_versions_and_files_can_be_compared_with_each_other(desk, play, edited):
    desk.snapshot("play.json", play)
    desk.snapshot("play.json", edited(61))
    other = desk.save("other.json", edited(62))
    kept = desk.ask("compare", "previous", "latest")["changes"]
    beside = desk.ask("compare", "1", other)["changes"]
    for changes, level in ((kept, 61), (beside, 62)):
        (change,) = changes
        assert (change["object"], change["list"], change["id"]) == ("cue", "1", "4")
        assert (change["fixture"], change["attribute"], change["after"]) == ("20", "Dimmer", level)
        assert change["before"] == 55


@pytest.mark.parametrize(
    ("sample", "code"),
    [
        ("lighthouse_play", 0),
        ("harvest_musical_evening", 0),
        ("harvest_musical_morning", 0),
        ("faulty", 1),
        ("faulty_format", 1),
    ],
)
def test_the_check_answers_by_its_exit_code_whether_there_are_errors(desk, sample, code):
    answer = desk.run("check", SAMPLES / f"{sample}.json", "--format", "json")
    findings = answer.json["findings"]
    errors = [finding for finding in findings if finding["severity"] == "error"]
    assert (answer.code, bool(errors)) == (code, bool(code)), errors
    for finding in findings:
        assert {"severity", "rule", "place", "pointer", "text"} <= set(finding)
        assert finding["severity"] in {"error", "warning", "note"}


def test_the_check_finds_each_fault_of_the_faulty_show(desk):
    findings = desk.run("check", SAMPLES / "faulty.json", "--format", "json").json["findings"]
    told = {finding["pointer"]: finding["severity"] for finding in findings}
    everything = json.dumps(findings)
    cues = "/cue_lists/1/cues"
    for place in (
        f"{cues}/5/levels/95",
        f"{cues}/7/levels/1/Pan",
        f"{cues}/8/levels/41/ColorAdd_R",
        f"{cues}/9/levels/31/ColorAdd_R",
        f"{cues}/10/parts/2",
        f"{cues}/11/link",
        f"{cues}/12/also_go/0",
        f"{cues}/15/effects/4",
        f"{cues}/18/levels/31.5",
        "/groups/6",
        "/playbacks/7",
        "/patch/43",
        "/patch/47",
        "/patch/48",
        "/patch/49",
        "/patch/50",
    ):
        assert any(
            pointer.startswith(place) and severity == "error" for pointer, severity in told.items()
        ), place
    assert '"note"' in everything and '"warning"' in everything


def test_the_check_of_a_half_written_file_says_that_it_is_not_whole(desk):
    answer = desk.run("check", SAMPLES / "half_written.json")
    assert answer.code != 0
    assert "Traceback" not in answer.err
    assert "middle" in answer.out + answer.err


def test_the_schema_of_the_show_holds_for_the_samples(desk):
    schema = desk.run("schema").json
    jsonschema.Draft202012Validator.check_schema(schema)
    validator = jsonschema.Draft202012Validator(schema)
    assert validator.is_valid(json.loads(EVENING.read_bytes()))
    assert not validator.is_valid(json.loads((SAMPLES / "faulty_format.json").read_bytes()))


@pytest.mark.parametrize("arguments", [["--help"], ["--version"], ["list", "--help"]])
def test_help_and_version_answer_without_a_vault(desk, arguments):
    answer = desk.run(*arguments)
    assert answer.code == 0 and answer.out


@pytest.mark.parametrize(
    "arguments",
    [["no-such-command"], ["list", "--no-such-option"], ["compare", "one-only"]],
)
def test_wrong_usage_ends_with_exit_code_2(desk, arguments):
    assert desk.run(*arguments).code == 2


def test_a_vault_that_is_not_there_is_said_and_not_made(desk):
    answer = desk.run("list", "--vault", desk.root / "nowhere")
    assert answer.code >= 3 and answer.err.startswith("error:")
    assert not (desk.root / "nowhere").exists()


def test_a_show_that_is_not_there_is_said(desk):
    for arguments in (["snapshot", "gone.json"], ["check", "gone.json"]):
        answer = desk.run(*arguments, "--vault", desk.vault)
        assert answer.code >= 2 and "Traceback" not in answer.err
        assert "gone.json" in answer.err


def all_defaults(show):
    """Return every parameter of every fixture and cell at its default; absent is 0."""
    look = {}
    for number, fixture in show["patch"].items():
        mode = show["fixture_types"][fixture["type"]]["modes"][fixture["mode"]]
        cells = {f"{number}.{key}": cell for key, cell in mode.get("cells", {}).items()}
        for key, holder in {number: mode, **cells}.items():
            look[key] = {
                channel["attribute"]: channel.get("default", 0) for channel in holder["channels"]
            }
    return look


def held_by_preset(show, name, key, attribute):
    """Return a preset's own value for the fixture, else its type's, else the one for all."""
    group, _, place = name.partition(" ")
    preset = show["presets"][group][place]
    own = preset.get("levels", {}).get(key, {})
    kind = preset.get("types", {}).get(show["patch"][key.partition(".")[0]]["type"], {})
    return {**preset.get("all", {}), **kind, **own}[attribute]


def walked_look(show, cue_list, last):
    """Compute a tracking list's look by a plain walk over the JSON, straight from the rules."""
    look, defaults = all_defaults(show), all_defaults(show)
    cues = show["cue_lists"][cue_list]["cues"]
    for number in sorted((key for key in cues if Decimal(key) <= Decimal(last)), key=Decimal):
        for part in (cues[number], *cues[number].get("parts", {}).values()):
            for key, values in part.get("levels", {}).items():
                for attribute, value in values.items():
                    match value:
                        case {"release": True}:
                            look[key][attribute] = defaults[key][attribute]
                        case {"preset": name}:
                            look[key][attribute] = held_by_preset(show, name, key, attribute)
                        case {"level": level} | level:
                            look[key][attribute] = level
    return look


@pytest.mark.parametrize(
    ("cue_list", "cue"), [("1", "0.5"), ("1", "54"), ("1", "126"), ("2", "11")]
)
def test_a_look_is_what_the_cues_up_to_it_stored(desk, cue_list, cue):
    answer = desk.run("look", EVENING, "--list", cue_list, "--cue", cue, "--format", "json")
    assert answer.code == 0, answer.err
    assert answer.json == walked_look(json.loads(EVENING.read_bytes()), cue_list, cue)


def test_the_check_of_a_file_that_is_not_whole_is_one_error(desk):
    answer = desk.run("check", SAMPLES / "half_written.json", "--format", "json")
    assert answer.code == 1
    (finding,) = answer.json["findings"]
    assert finding["severity"] == "error"
    assert finding["rule"] == "not-whole"


@pytest.mark.skipif(sys.platform == "win32", reason="needs a terminal of its own")
def test_on_a_terminal_long_lines_are_broken_between_words(desk):
    """The story's terminal has 100 columns; its cautions and summaries are longer."""
    desk.snapshot("musical.json", EVENING.read_bytes())
    desk.snapshot("musical.json", MORNING.read_bytes())
    for command in (
        ("status",),
        ("restore", "1"),
        ("history", "cue", "1"),
        ("undo", "2", "--dry-run"),
    ):
        said = desk.said_on_a_terminal(*command, "--vault", desk.vault)
        lines = said.replace("\r", "").split("\n")
        assert all(len(line) <= 100 or " " not in line.strip() for line in lines), command
    assert any(len(line) > 80 for line in lines)
