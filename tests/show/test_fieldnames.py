"""Which fields a show can have. Source: the rules of the neutral show, which are our own."""

import pytest

from showvault.show.fieldnames import NoSuchFieldError, require_field


@pytest.mark.parametrize(
    "path",
    [
        "label",
        "fade_in",
        "title",
        "extra",
        "extra.saved_at",
        "extra.a.b.c",
        "levels.101.Pan",
        "levels.*.Pan",
        "levels.101.Pan.fade",
        "levels.*.*.preset",
        "times.Position.fade",
        "files.desk.sha256",
        "capacity.universes",
        "addresses.0.universe",
        "parts.2.label",
        "*",
    ],
)
def test_a_field_that_something_can_have_is_accepted(path: str) -> None:
    require_field(path)


@pytest.mark.parametrize(
    ("path", "near"),
    [
        ("lable", "label"),
        ("fadein", "fade_in"),
        ("cue.label", "label"),
        ("extras.saved_at", "extra"),
        ("times.Colour.fade", ""),
        ("levels.101.Pan.fad", "fade"),
        ("label.text", "label"),
        ("cue_lists", ""),
        ("", ""),
        ("extra.", ""),
    ],
)
def test_a_field_that_nothing_can_have_is_refused_with_near_names(path: str, near: str) -> None:
    with pytest.raises(NoSuchFieldError) as caught:
        require_field(path)
    assert caught.value.exit_code == 2
    assert near in (caught.value.hint or "")
