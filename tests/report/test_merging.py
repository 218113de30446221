"""What merging and bringing back say. No source: our own wording."""

from showvault.report.merging import effect_lines
from showvault.review.effect import CueEffect, Shift
from showvault.show.addressing import Thing

HIGHER = Shift("103", "Dimmer", 10_000_000, 20_000_000)
LOWER = Shift("103", "Dimmer", 20_000_000, 10_000_000)


def differs(cue: str, *shifts: Shift) -> CueEffect:
    return CueEffect(Thing("cue", cue, "1"), shifts, ())


def test_cues_in_which_the_same_looks_different_are_one_line():
    effects = [
        differs("5", HIGHER),
        differs("6", HIGHER),
        differs("7", LOWER),
        differs("8", HIGHER),
    ]
    assert effect_lines("looks different:", effects) == [
        "looks different:",
        "  list 1 cues 5, 6, 8: fixture 103 intensity 10 % → 20 %",
        "  list 1 cue 7: fixture 103 intensity 20 % → 10 %",
    ]
    assert effect_lines("looks different:", []) == []
