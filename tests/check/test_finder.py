"""The check says everything in one go, in an order that depends on the show alone."""

import random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from showvault.check.finder import RULES, find_problems, find_problems_of_file
from showvault.check.finding import SEVERITIES, Finding
from showvault.show.reading import NotWholeError, parse_tree
from showvault.show.trees import Tree
from tests.builders import a_cue, a_fixture, a_full_show, a_rig, a_show, a_show_of_cues, as_bytes
from tests.strategies import damaged, shows, spell


def rules_found(data: bytes) -> list[str]:
    return [finding.rule for finding in find_problems(data)]


def test_a_sound_show_has_no_problem() -> None:
    assert find_problems(as_bytes(a_full_show())) == []


def test_a_show_with_nothing_in_it_has_no_problem() -> None:
    assert find_problems(as_bytes(a_show())) == []


def test_faults_of_the_format_are_errors_with_the_place_in_words_and_as_a_pointer() -> None:
    data = as_bytes(a_show_of_cues({"12.5": a_cue(fade_in=-1)}))
    assert find_problems(data)[0] == Finding(
        "error",
        "format",
        "list 1 cue 12.5, fade in",
        "/cue_lists/1/cues/12.5/fade_in",
        "list 1 cue 12.5, fade in: found -1, expected a number, 0 or more",
    )


def test_a_file_that_is_not_whole_is_refused_with_a_way_forward() -> None:
    with pytest.raises(NotWholeError) as caught:
        find_problems(as_bytes(a_full_show())[:-10])
    assert caught.value.hint


def test_errors_come_first_then_warnings_then_notes() -> None:
    show = a_show_of_cues({"1": a_cue({"9": {"Dimmer": 1}}, link={"cue": "1"})})
    show["cue_lists"]["2"] = {}
    severities = [finding.severity for finding in find_problems(as_bytes(show))]
    assert severities == ["error", "warning", "note"]


def test_what_is_understood_of_a_faulty_show_is_checked_and_the_rest_is_named() -> None:
    show = a_show_of_cues({"1": a_cue({"9": {"Dimmer": 1}}), "2": a_cue(label=7)})
    findings = find_problems(as_bytes(show))
    assert [(finding.rule, finding.pointer) for finding in findings] == [
        ("format", "/cue_lists/1/cues/2/label"),
        ("missing-fixture", "/cue_lists/1/cues/1/levels/9"),
        ("not-looked-at", ""),
    ]
    assert findings[-1].text.endswith("was not looked at, nor any look: list 1 cue 2")


def test_a_fixture_under_a_number_that_is_none_is_told_and_harms_nothing() -> None:
    show = a_show_of_cues({"1": a_cue({"1": {"Dimmer": 5}})})
    show["patch"]["1.5"] = a_fixture(address=9)
    del show["patch"]["1"]
    assert rules_found(as_bytes(show)) == ["format", "missing-fixture", "not-looked-at"]


def test_what_is_there_but_not_understood_is_not_called_missing() -> None:
    """A fixture with one bad field is a fixture all the same, and so are a preset and a cue."""
    show = a_full_show()
    show["patch"]["101"]["name"] = 5
    show["presets"]["Color"]["1.4"] = {"name": 5}
    show["cue_lists"]["1"]["cues"]["2.5"]["levels"]["103"] = {"Pan": {"preset": "Color 1.4"}}
    show["fixture_types"]["dimmer"]["name"] = 5
    show["effects"]["1.1"]["name"] = 5
    show["cue_lists"]["1"]["cues"]["2"]["also_go"] = [{"cue": "1"}]
    show["cue_lists"]["1"]["cues"]["1"]["label"] = 5
    show["cue_lists"]["1"]["name"] = 5
    assert set(rules_found(as_bytes(show))) == {"format", "not-looked-at"}


def test_only_the_format_is_looked_at_where_the_file_cannot_be_cut() -> None:
    data = as_bytes(a_full_show()).decode().encode("utf-16")
    assert rules_found(data) == ["format", "not-looked-at"]


def test_the_findings_do_not_depend_on_spacing_or_the_order_of_keys() -> None:
    show = a_rig(
        patch={str(n): a_fixture("dimmer", address=n // 2 + 1) for n in range(1, 30)},
        groups={"2": {"fixtures": [99]}, "1.10": {"fixtures": [98]}, "1.2": {"fixtures": [97]}},
        capacity={"pages": 0},
    )
    first = find_problems(as_bytes(show))
    assert len(first) > 15
    for roll in range(5):
        assert find_problems(spell(show, random.Random(roll))) == first


HEAD = b'{"format": "neutral-show", "format_version": 1, '


@pytest.mark.parametrize(
    "data",
    [
        b"[]",
        b"7",
        b"\xef\xbb\xbf" + HEAD + b'"notes": ""}',
        HEAD + b'"title": "\\ud800"}',
        HEAD + b'"title": "\xff"}',
        HEAD + b'"title": "a", "title": "b"}',
        HEAD + b'"extra": NaN}',
        HEAD + b'"extra": 1e400}',
        HEAD + b'"extra": ' + b"[" * 100_000 + b"]" * 100_000 + b"}",
        HEAD + b'"cue_lists": {"1": {"cues": {"1.2345": {}}}}}',
        HEAD + b'"cue_lists": {"1": {"cues": {"1": {"fade_in": -1}}}}}',
        HEAD + b'"patch": {"0": {"type": "a", "mode": "b"}}}',
        HEAD + b'"capacity": {"pages": 1}, "groups": {"1.x": {}, "1.99999999999999999999": {}}}',
        HEAD + b'"presets": {"a b": {"1": {}}, "a": {"b 1": {}}}}',
        b'{"format": "neutral-show", "format_version": 2, "new": true}',
    ],
)
def test_hostile_input_is_told_as_errors_of_the_format(data: bytes) -> None:
    findings = find_problems(data)
    assert findings[0].severity == "error"
    assert findings[0].rule == "format"
    assert all(len(finding.text) < 1000 for finding in findings)


def test_every_rule_says_what_it_finds_in_its_docstring() -> None:
    for rule in RULES:
        assert rule.__doc__


laws = settings(deadline=None, suppress_health_check=list(HealthCheck), max_examples=150)


def test_a_number_of_five_thousand_digits_is_a_fault_with_its_place_like_any_other() -> None:
    data = b'{"format": "neutral-show", "format_version": 1, "extra": {"a": ' + b"9" * 5000 + b"}}"
    assert [(f.rule, f.pointer) for f in find_problems(data)][:1] == [("format", "/extra/a")]


def test_that_a_file_is_not_whole_is_a_finding_like_any_other() -> None:
    whole = as_bytes(a_show())
    assert find_problems_of_file(whole) == find_problems(whole)
    (broken,) = find_problems_of_file(whole.rstrip()[:-1])
    assert (broken.severity, broken.rule) == ("error", "not-whole")


@laws
@given(shows)
def test_any_show_can_be_checked_and_every_finding_leads_to_its_place(show: Tree) -> None:
    tree = parse_tree(as_bytes(show))
    for finding in find_problems(as_bytes(show)):
        assert finding.severity in SEVERITIES
        assert finding.text.startswith(f"{finding.place}: ")
        node = tree
        for token in finding.pointer.split("/")[1:]:
            key = token.replace("~1", "/").replace("~0", "~")
            node = node[int(key)] if isinstance(node, list) else node[key]


@laws
@given(shows, st.data())
def test_any_damage_to_a_show_is_told_without_failing(show: Tree, data: st.DataObject) -> None:
    tree = parse_tree(as_bytes(show))
    for _ in range(data.draw(st.integers(1, 3))):
        tree = data.draw(damaged(tree))
    for finding in find_problems(spell(tree, random.Random(1))):
        finding.text.encode("utf-8")
