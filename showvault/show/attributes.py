"""Which feature group an attribute belongs to: the classes of presets and of class times.

The groups and attribute names are those of GDTF 1.2 (DIN SPEC 15800:2022-02), Annex A and B.
Names are compared without regard to case; ``(n)`` stands for a number. What no rule knows is
Control.
"""

import re
from functools import lru_cache
from typing import Literal

FeatureGroup = Literal[
    "Dimmer", "Position", "Gobo", "Color", "Beam", "Focus", "Control", "Shapers", "Video"
]

FEATURE_GROUPS: tuple[FeatureGroup, ...] = FeatureGroup.__args__  # type: ignore[attr-defined]

_RULES: tuple[tuple[FeatureGroup, str], ...] = (
    ("Dimmer", r"dimmer"),
    ("Position", r"(pan|tilt|panrotate|tiltrotate|positioneffect.*|xyz_[xyz]|rot_[xyz]|scale_\w+)"),
    (
        "Gobo",
        r"(gobo\d*.*|animation(wheel|system)\d*.*|media(folder|content)\d*|model(folder|content)\d*"
        r"|playmode|playbegin|playend|playspeed)",
    ),
    (
        "Color",
        r"(color(?!mixmode|wheel\w*mspeed|mix\w*|macromode|calibration\w*|control\w*|model\w*|settings\w*|uniformity\w*).*"
        r"|ct[ocb]|tint|hsb_\w+|cie_\w+|videoboost_[rgb]|videohueshift|videosaturation"
        r"|videobrightness|videocontrast|videokeycolor_[rgb]|videocolorkey_\w+"
        r"|videokeyintensity|videokeytolerance)",
    ),
    ("Focus", r"(zoom(?!mspeed|.*reset)\w*|digitalzoom|focus\d*(adjust|distance)?)"),
    (
        "Beam",
        r"(shutter\d*.*|strobe(?!mode|.*rate$)\w*|strobefrequency|strobeduration|strobe_?rate"
        r"|iris(?!mode|mspeed|reset).*|frost\d*(?!mspeed).*"
        r"|prism\d*(?!mspeed).*|effects\d*.*|beamshaper(?!reset)\w*)",
    ),
    (
        "Shapers",
        r"(blade(n|\d*)[ab]|blade\d*rot|shaperrot|shapermacros(speed)?|bladesoft\d*[ab]"
        r"|keystone\d*[ab])",
    ),
    (
        "Video",
        r"(video|videoeffect\d+\w*|videocamera\d*|videoblendmode|videoeffect\w*"
        r"|fieldofview|inputsource)",
    ),
)
_COMPILED = tuple((group, re.compile(pattern, re.IGNORECASE)) for group, pattern in _RULES)


@lru_cache(maxsize=4096)
def feature_group(attribute: str) -> FeatureGroup:
    """Return the feature group of an attribute; names that GDTF does not list are Control."""
    for group, pattern in _COMPILED:
        if pattern.fullmatch(attribute):
            return group
    return "Control"
