"""Whole and understood are two facts; hostile input gets a clear message and harms nothing."""

import json

import pytest

from showvault.show.reading import (
    DEEPEST,
    NotUnderstoodError,
    NotWholeError,
    decode_show,
    find_faults,
    judge_whole,
    parse_tree,
)
from tests.builders import a_cue, a_full_show, a_show, a_show_of_cues, as_bytes

SHOW = as_bytes(a_full_show())
HEAD = b'{"format": "neutral-show", "format_version": 1, '


def the_one_fault(data: bytes) -> str:
    faults = find_faults(data)
    assert len(faults) == 1, [fault.text for fault in faults]
    return faults[0].text


def test_a_full_show_is_whole_and_understood() -> None:
    assert judge_whole(SHOW).state == "whole"
    assert find_faults(SHOW) == []
    assert decode_show(SHOW).title == "The Long Night"


def test_a_show_cut_off_after_any_byte_is_broken() -> None:
    """No prefix of a JSON object parses: parsing to the end proves that the file is complete."""
    whole = SHOW.rstrip()
    for end in range(len(whole)):
        judged = judge_whole(whole[:end])
        assert judged.state == "broken", end
        assert end == 0 or "ends in the middle" in judged.reason, judged.reason
        with pytest.raises(NotWholeError):
            decode_show(whole[:end])


def test_a_show_cut_off_inside_a_word_a_number_or_an_escape_is_said_to_end_there() -> None:
    whole = b'{"a": [true, false, null, -1.5e+10, NaN, -Infinity, "\\u00e9 \\n \\ud834\\udd1e"]}'
    for end in range(1, len(whole)):
        assert "ends in the middle" in judge_whole(whole[:end]).reason, whole[:end]


@pytest.mark.parametrize(
    ("data", "reason"),
    [
        (b"", "the file is empty"),
        (b"\0" * 4096, "the file is 4,096 NUL bytes"),
        (b"   \n", "ends in the middle"),
        (b"Cue 1 Up 3", "it is not JSON at line 1, column 1"),
        (b"PK\x03\x04 a stranger's archive", "it is not JSON at line 1, column 1"),
        (SHOW + b"}", "it is not JSON at line"),
        (SHOW + SHOW, "it is not JSON at line"),
        (SHOW[:-2] + b"\0" * 512, ""),
        (b"{'format': 1}", "it is not JSON at line 1, column 2"),
        (b'{"a": 1,}', "it is not JSON at line 1"),
        (b'{"a": 01}', "it is not JSON at line 1"),
        (b'{"a": .5}', "it is not JSON at line 1"),
        (b'{"a": tru', "ends in the middle"),
        (b'{"a": "storm', "ends in the middle"),
        (b"[" * 100_000, "ends in the middle"),
    ],
)
def test_what_is_not_whole_says_why(data: bytes, reason: str) -> None:
    judged = judge_whole(data)
    assert judged.state == "broken"
    assert reason in judged.reason


@pytest.mark.parametrize("tree", [[], "text", 7, None, True, {"cue": 1}])
def test_a_whole_document_that_is_no_show_is_whole_and_not_understood(tree: object) -> None:
    data = json.dumps(tree).encode()
    assert judge_whole(data).state == "whole"
    assert find_faults(data)
    with pytest.raises(NotUnderstoodError):
        decode_show(data)


# What a reader must take or tell: the inputs on which common JSON readers differ. The cases are
# those that "Parsing JSON is a Minefield" and RFC 8259, sections 4, 6, 7 and 8, name (from memory).


def test_a_key_given_twice_is_told_with_its_place() -> None:
    data = as_bytes(a_show_of_cues({"5": a_cue({"1": {"Dimmer": 5}})}))
    data = data.replace(b'"fade_in": 3', b'"fade_in": 3, "fade_in": 4')
    assert judge_whole(data).state == "whole"
    (fault,) = find_faults(data)
    assert fault.pointer == "/cue_lists/1/cues/5/fade_in"
    assert fault.place == "list 1 cue 5, fade in"
    assert "more than once" in fault.text


def test_a_cue_given_twice_is_told() -> None:
    data = HEAD + b'"cue_lists": {"1": {"cues": {"5": {}, "5": {"label": "x"}, "5": {}}}}}'
    assert the_one_fault(data).startswith("list 1 cue 5: found")


def test_a_key_given_twice_inside_extra_is_told() -> None:
    assert "more than once" in the_one_fault(HEAD + b'"extra": {"a": {"b": 1, "b": 2}}}')


@pytest.mark.parametrize("word", [b"NaN", b"Infinity", b"-Infinity"])
def test_numbers_that_json_has_no_word_for_are_told(word: bytes) -> None:
    data = HEAD + b'"extra": {"seen": ' + word + b"}}"
    assert judge_whole(data).state == "whole"
    assert f"found {word.decode()}" in the_one_fault(data)
    with pytest.raises(NotUnderstoodError):
        decode_show(data)


@pytest.mark.parametrize("number", [b"1e400", b"-1e400", b"1" + b"0" * 400, b"9" * 5000])
def test_a_number_beyond_any_range_is_told_and_not_rounded(number: bytes) -> None:
    data = HEAD + b'"cue_lists": {"1": {"cues": {"5": {"fade_in": ' + number + b"}}}}}"
    assert judge_whole(data).state == "whole"
    assert the_one_fault(data).startswith("list 1 cue 5, fade in: found")
    assert len(the_one_fault(data)) < 200
    with pytest.raises(NotUnderstoodError):
        decode_show(data)


def test_a_number_of_two_million_digits_is_told_quickly() -> None:
    data = HEAD + b'"cue_lists": {"1": {"cues": {"5": {"fade_in": ' + b"7" * 2_000_000 + b"}}}}}"
    assert judge_whole(data).state == "whole"
    assert "2000000 characters" in the_one_fault(data)


def test_a_number_with_more_places_than_it_may_have_is_told_though_a_double_would_hide_it() -> None:
    data = HEAD + b'"cue_lists": {"1": {"cues": {"5": {"fade_in": 0.1000000000000000055}}}}}'
    assert "at most 3 decimal places" in the_one_fault(data)


@pytest.mark.parametrize("depth", [1_000, 100_000])
def test_a_nesting_no_show_has_is_told(depth: int) -> None:
    data = HEAD + b'"extra": ' + b"[" * depth + b"]" * depth + b"}"
    assert judge_whole(data).state in ("whole", "unproven")
    assert f"too many levels deep to be followed: {DEEPEST} always are" in the_one_fault(data)
    with pytest.raises(NotUnderstoodError):
        parse_tree(data)


def test_brackets_inside_a_text_are_no_nesting() -> None:
    data = HEAD + b'"notes": "' + b'[{\\"' * 1000 + b'"}'
    assert find_faults(data) == []


def test_a_byte_order_mark_is_told_and_the_rest_is_looked_at() -> None:
    """RFC 8259, section 8.1: JSON text must not begin with a byte order mark."""
    data = b"\xef\xbb\xbf" + SHOW
    assert judge_whole(data).state == "whole"
    assert "byte order mark" in the_one_fault(data)
    broken = b"\xef\xbb\xbf" + SHOW[:-5]
    assert judge_whole(broken).state == "broken"


@pytest.mark.parametrize(
    "encoding", ["utf-16", "utf-16-le", "utf-16-be", "utf-32", "utf-32-le", "utf-32-be"]
)
def test_another_unicode_encoding_is_named_and_the_rest_is_looked_at(encoding: str) -> None:
    """RFC 8259, section 8.1: JSON text is encoded in UTF-8."""
    data = SHOW.decode().encode(encoding)
    assert judge_whole(data).state == "whole"
    assert encoding.upper()[:6] in the_one_fault(data)
    assert judge_whole(data[:-40]).state == "broken"


def test_bytes_that_are_no_utf_8_are_told_with_their_place() -> None:
    data = SHOW.replace(b"The Long Night", b"The L\xf6ng Night")
    assert judge_whole(data).state == "whole"
    texts = [fault.text for fault in find_faults(data)]
    assert texts[0] == f"the text is not UTF-8 at byte {data.index(0xF6):,}"
    with pytest.raises(NotUnderstoodError):
        decode_show(data)


def test_a_lone_surrogate_is_told_and_printable() -> None:
    data = HEAD + b'"title": "\\ud800", "patch": {"1\\udfff": {"type": "a", "mode": "b"}}}'
    assert judge_whole(data).state == "whole"
    faults = find_faults(data)
    assert {fault.pointer for fault in faults} == {"/title", "/patch/1\\udfff"}
    for fault in faults:
        fault.text.encode("utf-8")


def test_a_pair_of_surrogates_is_one_character() -> None:
    """RFC 8259, section 7: a character beyond the basic plane is written as two escapes."""
    assert decode_show(HEAD + b'"title": "\\ud834\\udd1e"}').title == "\U0001d11e"


def test_a_nul_and_every_other_control_character_may_be_written_as_an_escape() -> None:
    assert decode_show(HEAD + b'"title": "\\u0000\\u001b[2J"}').title == "\0\x1b[2J"


def test_a_control_character_that_is_not_escaped_is_no_json() -> None:
    assert judge_whole(HEAD + b'"title": "a\nb"}').state == "broken"


def test_a_text_of_200_million_characters_is_read_and_told_in_a_few_words() -> None:
    data = HEAD + b'"title": "' + b"x" * 200_000_000 + b'", "capacity": 1}'
    assert judge_whole(data).state == "whole"
    assert the_one_fault(data) == "capacity: found 1, expected an entry with named values"


def test_a_newer_format_version_is_refused_with_a_way_forward() -> None:
    data = SHOW.replace(b'"format_version": 1', b'"format_version": 2')
    text = the_one_fault(data)
    assert "format version 2" in text
    assert "a newer showvault is needed" in text
    assert judge_whole(data).state == "whole"


def test_all_faults_are_named_at_once_each_with_its_place() -> None:
    show = a_show_of_cues({"1.2345": a_cue(), "2": a_cue({"0": {"Dimmer": 101}}, fade_in=-1)})
    show["patch"]["1"]["addresses"][0]["address"] = 513
    show["patch"]["2"]["colour"] = "blue"
    told = {fault.pointer: fault.text for fault in find_faults(as_bytes(show))}
    assert told == {
        "/patch/1/addresses/0/address": "fixture 1, start address 1, address: found 513, "
        "expected a whole number from 1 to 512",
        "/patch/2/colour": told["/patch/2/colour"],
        "/cue_lists/1/cues/1.2345": 'list 1 cue 1.2345: found "1.2345", expected a cue number in '
        "its shortest form, such as 12 or 12.5, with at most three places",
        "/cue_lists/1/cues/2/fade_in": "list 1 cue 2, fade in: found -1, expected a number, "
        "0 or more",
        "/cue_lists/1/cues/2/levels/0/Dimmer": "list 1 cue 2, fixture 0 intensity: found 101, "
        "expected a number from 0 to 100",
        "/cue_lists/1/cues/2/levels/0": told["/cue_lists/1/cues/2/levels/0"],
    }
    assert told["/patch/2/colour"].startswith('fixture 2, colour: found the unknown key "colour"')


def test_the_error_for_what_needs_understanding_carries_every_fault() -> None:
    data = as_bytes(a_show(title=1, venue=2))
    with pytest.raises(NotUnderstoodError) as caught:
        decode_show(data, "evening.json")
    assert [fault.pointer for fault in caught.value.faults] == ["/title", "/venue"]
    assert str(caught.value) == (
        "evening.json is not understood: title: found 1, expected text (and 1 more)"
    )
    assert caught.value.hint is not None


def test_every_depth_is_read_or_told_however_near_it_comes_to_the_end_of_the_stack() -> None:
    """One parser gives up a few levels before the other; neither may crash."""
    told = set()
    for depth in range(DEEPEST, 1_050):
        data = HEAD + b'"extra": ' + b"[" * depth + b"]" * depth + b"}"
        try:
            parse_tree(data)
        except NotUnderstoodError as error:
            told.add(depth)
            assert "levels deep" in str(error)
    assert told == set(range(min(told), 1_050))
    assert min(told) > DEEPEST


def test_a_file_that_is_cut_off_deep_inside_is_not_whole() -> None:
    """It is no JSON from its third byte on, and its brackets are left open."""
    data = b"[x" + b"[" * (DEEPEST + 1)
    assert judge_whole(data).state == "broken"
    assert "brackets are left open" in judge_whole(data).reason
    assert "levels deep" in the_one_fault(data)


@pytest.mark.parametrize(
    "data",
    [
        b"\xff\xfe" + b"\x00\xd8" * 2,  # UTF-16 by its mark, but half a surrogate pair
        b"{\0" + SHOW[1:],  # a NUL where UTF-16 would have one
        b"\0\0\0{" + SHOW[1:8],  # three where UTF-32 would have them
    ],
)
def test_what_only_begins_like_another_encoding_is_no_show(data: bytes) -> None:
    """RFC 3629 and RFC 2781: neither decodes."""
    assert judge_whole(data).state == "broken"
    with pytest.raises(NotWholeError):
        decode_show(data)
