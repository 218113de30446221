"""How an attribute is said, and which feature group it is in: the class of presets and times.

The groups and attribute names are those of GDTF 1.2 (DIN SPEC 15800:2022-02), Annex A and B. Names
are compared without regard to case and to the numbers in them (Gobo1Pos, Gobo2Pos). Names that
somebody added to a family of the standard (ColorAdd_X) belong to the family's group; every other
name is Control, which is also where the standard puts modes, resets and movement speeds.
"""

import re
from functools import lru_cache
from typing import Literal

FeatureGroup = Literal[
    "Dimmer", "Position", "Gobo", "Color", "Beam", "Focus", "Control", "Shapers", "Video"
]

FEATURE_GROUPS: tuple[FeatureGroup, ...] = FeatureGroup.__args__  # type: ignore[attr-defined]

_LISTED: dict[FeatureGroup, str] = {
    "Dimmer": "Dimmer",
    "Position": "Pan Tilt PanRotate TiltRotate PositionEffect PositionEffectRate "
    "PositionEffectFade XYZ_X XYZ_Y XYZ_Z Rot_X Rot_Y Rot_Z Scale_X Scale_Y Scale_Z Scale_XYZ",
    "Gobo": "Gobo GoboSelectSpin GoboSelectShake GoboSelectEffects GoboWheelIndex GoboWheelSpin "
    "GoboWheelShake GoboWheelRandom GoboWheelAudio GoboPos GoboPosRotate GoboPosShake "
    "AnimationWheel AnimationWheelAudio AnimationWheelMacro AnimationWheelRandom "
    "AnimationWheelSelectEffects AnimationWheelSelectShake AnimationWheelSelectSpin "
    "AnimationWheelPos AnimationWheelPosRotate AnimationWheelPosShake AnimationSystem "
    "AnimationSystemRamp AnimationSystemShake AnimationSystemAudio AnimationSystemRandom "
    "AnimationSystemPos AnimationSystemPosRotate AnimationSystemPosShake "
    "AnimationSystemPosRandom AnimationSystemPosAudio AnimationSystemMacro MediaFolder "
    "MediaContent ModelFolder ModelContent Playmode PlayBegin PlayEnd PlaySpeed",
    "Color": "Color ColorEffects ColorWheelIndex ColorWheelSpin ColorWheelRandom ColorWheelAudio "
    "ColorMacro ColorMacroRate CTO CTC CTB Tint VideoBoost_R VideoBoost_G VideoBoost_B "
    "VideoHueShift VideoSaturation VideoBrightness VideoContrast VideoKeyColor_R "
    "VideoKeyColor_G VideoColorKey_B VideoKeyIntensity VideoKeyTolerance",
    "Beam": "Shutter ShutterStrobe ShutterStrobePulse ShutterStrobePulseClose "
    "ShutterStrobePulseOpen ShutterStrobeRandom ShutterStrobeRandomPulse "
    "ShutterStrobeRandomPulseClose ShutterStrobeRandomPulseOpen ShutterStrobeEffect "
    "StrobeDuration StrobeRate StrobeFrequency StrobeModeShutter StrobeModeStrobe "
    "StrobeModePulse StrobeModePulseOpen StrobeModePulseClose StrobeModeRandom "
    "StrobeModeRandomPulse StrobeModeRandomPulseOpen StrobeModeRandomPulseClose "
    "StrobeModeEffect Iris IrisStrobe IrisStrobeRandom IrisPulseClose IrisPulseOpen "
    "IrisRandomPulseClose IrisRandomPulseOpen Frost FrostPulseOpen FrostPulseClose FrostRamp "
    "Prism PrismSelectSpin PrismMacro PrismPos PrismPosRotate Effects EffectsRate EffectsFade "
    "EffectsAdjust EffectsPos EffectsPosRotate EffectsSync BeamShaper BeamShaperMacro "
    "BeamShaperPos BeamShaperPosRotate",
    "Focus": "Zoom ZoomModeSpot ZoomModeBeam DigitalZoom Focus FocusAdjust FocusDistance",
    "Shapers": "BladeA BladeB BladeRot ShaperRot ShaperMacros ShaperMacrosSpeed BladeSoftA "
    "BladeSoftB KeyStoneA KeyStoneB",
    "Video": "Video VideoEffectType VideoEffectParameter VideoCamera FieldOfView InputSource "
    "VideoBlendMode VideoSoundVolume",
}
"""Every attribute of Annex B but those of Control, without the numbers."""

_FAMILIES: tuple[tuple[str, FeatureGroup], ...] = (
    ("coloradd_", "Color"),
    ("colorsub_", "Color"),
    ("colorrgb_", "Color"),
    ("hsb_", "Color"),
    ("cie_", "Color"),
    ("xyz_", "Position"),
    ("rot_", "Position"),
    ("scale_", "Position"),
)
_WORDS = {
    "Dimmer": "intensity",
    "Pan": "pan",
    "Tilt": "tilt",
    "Zoom": "zoom",
    "Iris": "iris",
    "ColorAdd_R": "red",
    "ColorAdd_G": "green",
    "ColorAdd_B": "blue",
    "ColorAdd_W": "white",
    "ColorSub_C": "cyan",
    "ColorSub_M": "magenta",
    "ColorSub_Y": "yellow",
}
"""What the trade calls what the standard abbreviates or writes in capitals."""

_GROUP_OF = {name.lower(): group for group, names in _LISTED.items() for name in names.split()}
_NUMBERS = re.compile(r"[0-9]+")


@lru_cache(maxsize=4096)
def feature_group(attribute: str) -> FeatureGroup:
    """Return the feature group of an attribute; names that nobody listed are Control."""
    name = _NUMBERS.sub("", attribute.lower())
    if name in _GROUP_OF:
        return _GROUP_OF[name]
    return next((group for start, group in _FAMILIES if name.startswith(start)), "Control")


def say_attribute(attribute: str) -> str:
    """Say an attribute: "Dimmer" is "intensity"; names that GDTF spells out stay as they are."""
    return _WORDS.get(attribute, attribute)
