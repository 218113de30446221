"""The pictures that ASCII cue data gets are the looks that the cues put on stage.

Outside check: the room ``look`` computes the same levels by another way (arrays, tracked forward);
interchange does not know it.
"""

from decimal import Decimal
from pathlib import Path

import pytest

from showvault.interchange.ascii_cues import AsciiReader
from showvault.interchange.intensities import intensity_channel
from showvault.interchange.neutral import NeutralReader
from showvault.look.tracking import all_looks
from showvault.show.reading import decode_show

SAMPLES = Path(__file__).resolve().parents[2] / "sample_shows"
STEP = Decimal(100) / 255


@pytest.mark.parametrize("name", ["lighthouse_play", "harvest_musical_evening"])
def test_every_cue_of_a_tracking_list_is_written_as_the_look_it_makes(name):
    data = (SAMPLES / f"{name}.json").read_bytes()
    tree = NeutralReader().read(data, {}).show
    written = AsciiReader().write(tree, {"cues": "pictures"})
    read = AsciiReader().read(written.data, {}).show
    show = decode_show(data)
    fixtures = [key for key in tree["patch"] if intensity_channel(tree, key)]
    compared = 0
    for number, cue_list in tree["cue_lists"].items():
        looks = all_looks(show, number)
        for cue in cue_list["cues"]:
            made = read["cue_lists"][number]["cues"][cue]
            pictured = dict(made.get("levels", {}))
            for part in made.get("parts", {}).values():
                pictured |= part.get("levels", {})
            for key in fixtures:
                level = pictured.get(key, {"Dimmer": 0})["Dimmer"]
                assert abs(looks.look(cue).level(key, "Dimmer") - level) <= STEP / 2 + Decimal(
                    "1e-6"
                )
                compared += 1
    assert compared > 500


def test_an_intensity_that_is_up_by_default_stands_in_every_picture():
    """Common practice, no source: what no cue stores is at the channel's default."""
    channel = {"attribute": "Dimmer", "slots": [1], "default": 30}
    tree = {
        "format": "neutral-show",
        "format_version": 1,
        "fixture_types": {"worklight": {"modes": {"8 bit": {"channels": [channel]}}}},
        "patch": {"1": {"type": "worklight", "mode": "8 bit"}},
        "cue_lists": {"1": {"cues": {"1": {}, "2": {"levels": {"1": {"Dimmer": 0}}}, "3": {}}}},
    }
    cues = AsciiReader().read(AsciiReader().write(tree, {}).data, {}).show["cue_lists"]["1"]["cues"]
    assert [cue.get("levels") for cue in cues.values()] == [
        {"1": {"Dimmer": 30}},
        {"1": {"Dimmer": 0}},
        None,
    ]
