"""A finding says where it is in words and as a pointer."""

from showvault.check.finding import Finding, name_fixtures, warning


def test_a_finding_carries_its_place_in_words_as_a_pointer_and_in_its_sentence() -> None:
    assert warning("empty-list", ("fixture_types", "a/b~c"), "it is odd") == Finding(
        "warning",
        "empty-list",
        "fixture type a/b~c",
        "/fixture_types/a~1b~0c",
        "fixture type a/b~c: it is odd",
    )


def test_fixtures_are_named_in_the_order_of_their_numbers() -> None:
    assert name_fixtures(["10", "9", "101.2"]) == "fixtures 9, 10, 101 cell 2"
    assert name_fixtures(["9"]) == "fixture 9"


def test_many_fixtures_are_counted_after_the_first_eight() -> None:
    assert name_fixtures([str(n) for n in range(1, 12)]) == (
        "fixtures 1, 2, 3, 4, 5, 6, 7, 8 and 3 more"
    )
