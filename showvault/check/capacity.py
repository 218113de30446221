"""Whether the show fits the desk: universes, pages, slots and playbacks, where it says how many.

Universes, pages and slots are counted from 1 up to the capacity. Common practice, no source.
"""

from collections.abc import Iterator

from msgspec import UnsetType

from showvault.check.contents import Contents
from showvault.check.finding import Finding, error, name_fixtures
from showvault.show.addressing import place_order

_PAGED = ("groups", "presets", "effects", "macros", "submasters", "playbacks")


def find_universes_beyond_capacity(contents: Contents) -> Iterator[Finding]:
    """``universe-beyond-capacity``: one finding a universe, at the first fixture in it."""
    capacity = contents.show.capacity
    if isinstance(capacity, UnsetType) or isinstance(capacity.universes, UnsetType):
        return
    used: dict[int, dict[str, int]] = {}
    patch = contents.show.patch or {}
    for number in sorted(patch, key=place_order):
        for index, address in enumerate(patch[number].addresses or []):
            if address.universe > capacity.universes:
                used.setdefault(address.universe, {}).setdefault(number, index)
    for universe in sorted(used):
        number, index = next(iter(used[universe].items()))
        yield error(
            "universe-beyond-capacity",
            ("patch", number, "addresses", str(index), "universe"),
            f"the desk has {_count(capacity.universes, 'universe')}, and "
            f"{name_fixtures(used[universe])} in universe {universe}",
        )


def find_places_beyond_capacity(contents: Contents) -> Iterator[Finding]:
    """``page-beyond-capacity`` and ``slot-beyond-capacity``; a plain number has no page."""
    capacity = contents.show.capacity
    if isinstance(capacity, UnsetType):
        return
    for path in _paged_places(contents):
        page, slot, odd = place_order(path[-1])
        if slot < 0 or odd:
            continue
        playback = path[0] == "playbacks"
        slots = capacity.playbacks_per_page if playback else capacity.slots_per_page
        if not isinstance(capacity.pages, UnsetType) and page > capacity.pages:
            yield error(
                "page-beyond-capacity", path, f"the desk has {_count(capacity.pages, 'page')}"
            )
        if not isinstance(slots, UnsetType) and slot > slots:
            what = _count(slots, "playback" if playback else "slot")
            yield error("slot-beyond-capacity", path, f"a page of the desk has {what}")


def _paged_places(contents: Contents) -> Iterator[tuple[str, ...]]:
    for section in _PAGED:
        if section == "presets":
            for group, presets in sorted((contents.show.presets or {}).items()):
                yield from ((section, group, place) for place in sorted(presets, key=place_order))
        else:
            things = getattr(contents.show, section) or {}
            yield from ((section, place) for place in sorted(things, key=place_order))


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"
