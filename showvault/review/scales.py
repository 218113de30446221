"""The unit in which each fixture's attributes are said: what its type and mode give as range."""

from decimal import Decimal

from msgspec import UNSET

from showvault.review.values import Scale, Scales, is_number
from showvault.show.addressing import Thing
from showvault.show.parts import ShowParts
from showvault.show.trees import Tree, parse_part


def scales_of(show: ShowParts) -> Scales:
    """Return the scales of a show; fixtures and types are read when they are first asked for."""
    return _Scales(show).of


class _Scales:
    def __init__(self, show: ShowParts) -> None:
        self._show = show
        self._trees: dict[Thing, Tree] = {}

    def of(self, fixture: str, attribute: str) -> Scale | None:
        """Return the scale of a fixture's or a cell's attribute; None where it has none."""
        number, _, cell = fixture.partition(".")
        patched = self._tree(Thing("fixture", number))
        fixture_type = self._tree(Thing("fixture_type", _field(patched, "type", "")))
        mode = _field(_field(fixture_type, "modes", {}), _field(patched, "mode", ""), {})
        holder = _field(_field(mode, "cells", {}), cell, {}) if cell else mode
        for channel in _field(holder, "channels", []):
            if _field(channel, "attribute", "") == attribute:
                return _scale(channel)
        return None

    def _tree(self, thing: Thing) -> Tree:
        if thing not in self._trees:
            part = self._show.parts.get(thing)
            self._trees[thing] = UNSET if part is None else parse_part(part.data)
        return self._trees[thing]


def _scale(channel: Tree) -> Scale | None:
    ends, unit = _field(channel, "range", []), _field(channel, "unit", "")
    if len(ends) != 2 or not all(map(is_number, ends)) or not unit:
        return None
    return Scale(Decimal(ends[0]), Decimal(ends[1]), unit)


def _field(tree: Tree, name: str, otherwise: Tree) -> Tree:
    """Return a field where it is of the type it should have, else what stands for none."""
    value = tree.get(name, otherwise) if isinstance(tree, dict) else otherwise
    return value if isinstance(value, type(otherwise)) else otherwise
