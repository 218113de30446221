"""The show fits the desk, where it says what the desk holds. Common practice, no source."""

from showvault.check.capacity import find_places_beyond_capacity, find_universes_beyond_capacity
from tests.builders import a_fixture, a_rig
from tests.check.rules import found, sentences


def test_a_universe_beyond_the_desk_is_an_error_once_naming_its_fixtures() -> None:
    show = a_rig(
        capacity={"universes": 2},
        patch={str(n): a_fixture(universe=n, address=n) for n in (1, 2)}
        | {str(n): a_fixture(universe=3, address=n) for n in (7, 8)},
    )
    assert found(find_universes_beyond_capacity, show) == [
        ("error", "universe-beyond-capacity", "/patch/7/addresses/0/universe")
    ]
    assert sentences(find_universes_beyond_capacity, show)[0].endswith(
        "the desk has 2 universes, and fixtures 7, 8 in universe 3"
    )


def test_nothing_is_beyond_a_capacity_that_nobody_told() -> None:
    show = a_rig(capacity={}, groups={"999.999": {}}, playbacks={"999.999": {}})
    assert found(find_places_beyond_capacity, show) == []
    assert found(find_universes_beyond_capacity, a_rig()) == []


def test_pages_and_slots_beyond_the_desk_are_errors_for_everything_that_has_a_page() -> None:
    show = a_rig(
        capacity={"pages": 2, "slots_per_page": 10, "playbacks_per_page": 4},
        groups={"2.10": {}, "3.1": {}, "77": {}},
        presets={"Color": {"1.11": {}}},
        effects={"3.1": {}},
        macros={"1.11": {}},
        submasters={"3.11": {}},
        playbacks={"2.4": {}, "2.5": {}},
    )
    assert found(find_places_beyond_capacity, show) == [
        ("error", "page-beyond-capacity", "/groups/3.1"),
        ("error", "slot-beyond-capacity", "/presets/Color/1.11"),
        ("error", "page-beyond-capacity", "/effects/3.1"),
        ("error", "slot-beyond-capacity", "/macros/1.11"),
        ("error", "page-beyond-capacity", "/submasters/3.11"),
        ("error", "slot-beyond-capacity", "/submasters/3.11"),
        ("error", "slot-beyond-capacity", "/playbacks/2.5"),
    ]
