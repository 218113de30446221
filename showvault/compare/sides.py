"""One show of a comparison as its things, each decoded when it is first asked for."""

from collections.abc import Hashable, Iterator, Mapping

import msgspec

from showvault.compare.glances import Glance, glance_at
from showvault.compare.shape import OWN_THINGS
from showvault.show.addressing import Thing
from showvault.show.moved_presets import PresetMoves
from showvault.show.parts import Part, ShowParts
from showvault.show.reading import parse_tree
from showvault.show.trees import Tree, parse_part

SHOW = Thing("show", "")


class Side:
    """The things of a show: numbered parts, cue lists and the show itself."""

    def __init__(self, show: ShowParts) -> None:
        outline = show.outline if isinstance(show.outline, dict) else {}
        self.parts: Mapping[Thing, Part] = show.parts
        self.cues: dict[Thing, list[Thing]] = {}
        """The cues of each list."""
        self._presets = show.presets
        self._glances: dict[Thing, Glance | None] = {}
        self._trees: dict[Thing, Tree] = {SHOW: _own_fields(outline)}
        lists = outline.get("cue_lists")
        for number, member in lists.items() if isinstance(lists, dict) else ():
            thing = Thing("cue_list", number)
            own = (
                {key: value for key, value in member.items() if not _holds_cues(key, value)}
                if (isinstance(member, dict))
                else member
            )
            self._trees[thing] = own
            self.cues[thing] = []
        held = {thing.id: cues for thing, cues in self.cues.items()}
        for thing in self.parts:
            if thing.kind == "cue":
                held[thing.list].append(thing)

    def __contains__(self, thing: Thing) -> bool:
        return thing in self.parts or thing in self.cues

    def things(self) -> Iterator[Thing]:
        """Yield every numbered thing, cue lists included."""
        yield from self.cues
        yield from self.parts

    def key(self, thing: Thing) -> Hashable:
        """Return what tells the bytes of a part from others."""
        return self.parts[thing].key

    def tree(self, thing: Thing) -> Tree:
        """Return a thing's own fields: a cue list without its cues.

        Raises NotUnderstoodError where they are nested deeper than anything is followed.
        """
        if thing not in self._trees:
            self._trees[thing] = _decode(self.parts[thing].data)
        return self._trees[thing]

    def glance(self, thing: Thing) -> Glance | None:
        """Return the members of a part as they are written; None where it is no object."""
        if thing not in self._glances:
            self._glances[thing] = glance_at(self.parts[thing].data)
        return self._glances[thing]

    def has_read(self, thing: Thing) -> bool:
        """Tell whether a thing is decoded already, or has no bytes of its own."""
        return thing in self._trees or thing not in self.parts

    def preset_moves(self, moved: Mapping[Thing, Thing]) -> PresetMoves:
        """Return what is known of parts that differ in the names of moved presets alone."""
        presets = {old: new for old, new in moved.items() if old.kind == "preset"}
        known = self._presets
        return known if known.moved == presets else PresetMoves(presets)

    def forget(self, thing: Thing) -> None:
        """Let go of a decoded part, which is decoded again when it is asked for."""
        if thing in self.parts:
            self._trees.pop(thing, None)
            self._glances.pop(thing, None)

    def whole(self, thing: Thing, without: frozenset[Thing] = frozenset()) -> Tree:
        """Return a thing as the file has it: a cue list with its cues, but those of ``without``."""
        own = self.tree(thing)
        if thing.kind != "cue_list" or not isinstance(own, dict):
            return own
        cues = {cue.id: self.tree(cue) for cue in self.cues[thing] if cue not in without}
        return {**own, "cues": cues} if cues else own


def _decode(data: bytes) -> Tree:
    try:
        return parse_part(data)
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError):
        return parse_tree(data)


def _own_fields(outline: dict[str, Tree]) -> Tree:
    """Return the show's own fields, and sections that are not the objects they should be."""
    own = {}
    for name, value in outline.items():
        if name == "presets" and isinstance(value, dict):
            strange = {group: held for group, held in value.items() if not isinstance(held, dict)}
            if strange:
                own[name] = strange
        elif name not in OWN_THINGS["show"] or not isinstance(value, dict):
            own[name] = value
    return own


def _holds_cues(name: str, value: Tree) -> bool:
    return name == "cues" and isinstance(value, dict)
