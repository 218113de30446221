"""What the matching of two shows found: who is who, who came and who is gone."""

from dataclasses import dataclass, field

from showvault.compare.renames import Renames
from showvault.show.addressing import Thing


@dataclass
class Matches:
    """Who is who; ``moved`` maps old names to new, ``copied`` new names to old."""

    moved: dict[Thing, Thing] = field(default_factory=dict)
    copied: dict[Thing, Thing] = field(default_factory=dict)
    removed: list[Thing] = field(default_factory=list)
    added: list[Thing] = field(default_factory=list)
    unequal: list[tuple[Thing, Thing]] = field(default_factory=list)
    """Pairs of old and new name whose bytes are not known to be equal."""
    only_followed: dict[tuple[Thing, Thing], frozenset[Thing]] = field(default_factory=dict)
    """Pairs that differ in nothing but the names of presets that moved, and those presets."""

    def lost(self, thing: Thing) -> bool:
        """Tell whether a thing of the old show is gone, by itself or with its whole list."""
        with_list = Thing("cue_list", thing.list) in self.removed
        return thing in self.removed or (with_list and thing not in self.moved)

    @property
    def renames(self) -> Renames:
        """The new names of what moved."""
        return Renames(self.moved)
