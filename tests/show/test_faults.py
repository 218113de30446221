"""Every fault says where it is, what was found and what was expected, in words for people."""

from decimal import Decimal

import pytest

from showvault.show.faults import Fault, find_faults_in
from showvault.show.model import Cue, Show
from showvault.show.trees import Doubled, NonFinite, Tree
from tests.builders import a_cue, a_full_show, a_show, a_show_of_cues

KINDS = (None, True, 7, Decimal("0.5"), "text", [], {}, [1, 2], {"a": 1})


def faults_of(show: Tree) -> list[tuple[str, str, str]]:
    return [(f.pointer, f.found, f.expected) for f in find_faults_in(show, Show)]


def test_a_fault_carries_its_facts_and_one_sentence() -> None:
    assert find_faults_in(a_show_of_cues({"12.5": a_cue(fade_in=-1)}), Show) == [
        Fault(
            "list 1 cue 12.5, fade in",
            "/cue_lists/1/cues/12.5/fade_in",
            "-1",
            "a number, 0 or more",
            "list 1 cue 12.5, fade in: found -1, expected a number, 0 or more",
        )
    ]


@pytest.mark.parametrize(
    ("label", "found"),
    [
        (None, "null"),
        (True, "true"),
        (7, "7"),
        (Decimal("0.50"), "0.50"),
        ([1, 2], "a list of 2"),
        ({}, "an empty entry"),
        ({"level": 50, "preset": "Color 1"}, "level and preset"),
        ({str(n): n for n in range(9)}, "an entry with 9 values"),
        (NonFinite("NaN"), "NaN"),
        (10**60, "10000000000000000000… (61 characters)"),
    ],
)
def test_what_was_found_is_said_in_few_words(label: Tree, found: str) -> None:
    assert faults_of(a_show(title=label)) == [("/title", found, "text")]


def test_a_long_text_is_cut_short_in_the_sentence() -> None:
    ((_, found, _),) = faults_of(a_show(capacity="x" * 1000))
    assert found == '"' + "x" * 39 + '…"'


def test_a_pointer_spells_slashes_and_tildes() -> None:
    """RFC 6901, section 4."""
    show = a_show(fixture_types={"a/b~c": {"name": 1}})
    assert faults_of(show)[0][0] == "/fixture_types/a~1b~0c/name"


@pytest.mark.parametrize(
    ("universe", "right"),
    [(0, False), (1, True), (63999, True), (64000, False), (-1, False), (Decimal("1.5"), False)],
)
def test_universes_run_from_1_to_63999(universe: Tree, right: bool) -> None:
    """ANSI E1.31: 0 and 64000 to 65535 are reserved."""
    show = a_full_show()
    show["patch"]["101"]["addresses"][0]["universe"] = universe
    assert (faults_of(show) == []) is right


@pytest.mark.parametrize(
    ("address", "right"), [(0, False), (1, True), (512, True), (513, False), (True, False)]
)
def test_addresses_run_from_1_to_512(address: Tree, right: bool) -> None:
    """ANSI E1.11 (DMX512-A)."""
    show = a_full_show()
    show["patch"]["101"]["addresses"][0]["address"] = address
    assert (faults_of(show) == []) is right


@pytest.mark.parametrize(("priority", "right"), [(0, True), (200, True), (201, False), (-1, False)])
def test_priorities_run_from_0_to_200(priority: int, right: bool) -> None:
    """ANSI E1.31: priority 0 to 200."""
    assert (faults_of(a_show(playbacks={"1": {"priority": priority}})) == []) is right


@pytest.mark.parametrize(
    ("level", "expected"),
    [
        (0, None),
        (100, None),
        (Decimal("99.999999"), None),
        (Decimal("50.0000000000"), None),
        (Decimal("1E+2"), None),
        (Decimal("-0.0"), None),
        (Decimal("99.9999999"), "at most 6 decimal places"),
        (Decimal("100.000001"), "a number from 0 to 100"),
        (Decimal("1E-400"), "at most 6 decimal places"),
        (Decimal("0.5000000000000000000000000000000000001"), "at most 6 decimal places"),
        (-1, "a number from 0 to 100"),
    ],
)
def test_levels_are_percents_with_at_most_six_places(level: Tree, expected: str | None) -> None:
    show = a_show_of_cues({"1": a_cue({"101": {"Dimmer": level}})})
    assert [fault[2] for fault in faults_of(show)] == ([expected] if expected else [])


@pytest.mark.parametrize(
    ("seconds", "right"),
    [(0, True), (Decimal("0.001"), True), (Decimal("0.0010"), True), (Decimal("0.0001"), False)],
)
def test_times_are_seconds_with_at_most_three_places(seconds: Tree, right: bool) -> None:
    assert (faults_of(a_show_of_cues({"1": a_cue(fade_in=seconds)})) == []) is right


@pytest.mark.parametrize("missing", ["format", "format_version"])
def test_what_every_show_must_say_is_missed(missing: str) -> None:
    show = a_show()
    del show[missing]
    assert [fault[0] for fault in faults_of(show)] == [f"/{missing}"]


def test_a_fixture_needs_its_type_and_mode_a_channel_its_attribute_and_slots() -> None:
    show = a_show(
        patch={"1": {"addresses": [{}]}},
        fixture_types={"a": {"modes": {"m": {"channels": [{}]}}}},
    )
    assert {fault[0] for fault in faults_of(show)} == {
        "/patch/1/type",
        "/patch/1/mode",
        "/patch/1/addresses/0/universe",
        "/patch/1/addresses/0/address",
        "/fixture_types/a/modes/m/channels/0/attribute",
        "/fixture_types/a/modes/m/channels/0/slots",
    }


@pytest.mark.parametrize("section", sorted(a_full_show()))
def test_wrong_types_everywhere_are_told_and_nothing_else_is(section: str) -> None:
    show = a_full_show()
    right = type(show[section])
    for wrong in KINDS:
        if not isinstance(wrong, right) or isinstance(wrong, bool):
            faults = faults_of({**show, section: wrong})
            assert [fault[0] for fault in faults] == [f"/{section}"], wrong


def test_a_text_that_ends_with_a_line_feed_is_no_number() -> None:
    """A regular expression's end also matches before a last line feed."""
    show = a_show(playbacks={"1": {"cue_list": "1\n"}}, cue_lists={"1\n": {}})
    assert [fault[0] for fault in faults_of(show)] == ["/cue_lists/1\n", "/playbacks/1/cue_list"][
        ::-1
    ]


def test_keys_given_twice_are_told_once_each() -> None:
    doubled = Doubled({"label": "b", "notes": "d"}, ["label", "notes", "label"])
    assert faults_of(a_show_of_cues({"1": doubled})) == [
        ("/cue_lists/1/cues/1/label", '"label" more than once', "each key once"),
        ("/cue_lists/1/cues/1/notes", '"notes" more than once', "each key once"),
    ]


@pytest.mark.parametrize("number", [10**400, -(10**400), Decimal("1E+400"), Decimal("7" * 2000)])
def test_a_number_in_extra_that_no_reader_could_take_is_told(number: Tree) -> None:
    (fault,) = faults_of(a_show(extra={"seen": [number]}))
    assert fault[0] == "/extra/seen/0"
    assert fault[2] == "a number of at most 300 digits"
    assert faults_of(a_show(extra={"seen": [10**300, Decimal("1E-400")]})) == []


def test_a_part_of_a_show_is_held_against_its_own_model_at_its_place() -> None:
    (fault,) = find_faults_in({"fade_in": "x"}, Cue, ("cue_lists", "1", "cues", "5"))
    assert fault.pointer == "/cue_lists/1/cues/5/fade_in"
    assert fault.place == "list 1 cue 5, fade in"


@pytest.mark.parametrize("extra", ["\ud800", ["a", {"b": "x\udfff"}]])
def test_a_lone_surrogate_is_told_where_anything_may_stand_too(extra: Tree) -> None:
    """No file can hold it in UTF-8 (RFC 3629, section 3)."""
    ((pointer, found, expected),) = faults_of(a_show(extra={"note": extra}))
    assert pointer.startswith("/extra/note")
    assert found.isascii()
    assert expected == "text without lone surrogates"


@pytest.mark.parametrize("member", KINDS)
def test_a_member_of_a_group_is_a_number_or_a_cell_and_anything_else_is_told(member: Tree) -> None:
    show = a_show(groups={"1.1": {"fixtures": [member]}})
    right = type(member) is int
    told = {expected for _, _, expected in faults_of(show)}
    assert (told == set()) is right
