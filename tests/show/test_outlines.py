"""Where things stand in the bytes of a show file."""

from hypothesis import given

from showvault.show.addressing import Thing
from showvault.show.outlines import Span, find_spans
from showvault.show.trees import parse_part
from tests.builders import a_full_show, as_bytes
from tests.strategies import Tree, shows


def test_each_thing_stands_where_its_own_bytes_are() -> None:
    data = b'{"patch": {"1": {} , "2": {}}, "groups": {"7": {"name": "{}"}}}'
    assert find_spans(data) == [
        Span(16, 18, Thing("fixture", "1")),
        Span(26, 28, Thing("fixture", "2")),
        Span(47, 61, Thing("group", "7")),
    ]


def test_a_number_given_twice_means_the_later_thing() -> None:
    assert find_spans(b'{"patch":{"1":{},"1":[]}}') == [Span(21, 23, Thing("fixture", "1"))]


def test_bytes_without_an_outline_have_no_spans() -> None:
    whole = as_bytes(a_full_show())
    assert find_spans(whole) is not None
    assert [find_spans(data) for data in (whole[:-2], b"[]", b"\xef\xbb\xbf" + whole)] == [None] * 3


@given(shows)
def test_spans_follow_each_other_and_hold_one_value_each(show: Tree) -> None:
    data = as_bytes(show)
    end = 0
    for span in find_spans(data) or []:
        assert end <= span.start < span.end
        parse_part(data[span.start : span.end])
        end = span.end
