"""The neutral show as frozen values: the contract that readers, checks and comparisons share.

Levels are percents of an attribute's whole range, 0 to 100, with at most six places: a double
tells any two of them apart, so equality is exact. Times are seconds with at most three places.
``UNSET`` is what the file does not say, which is not zero; a null is not allowed. Every object may
carry ``extra``, which is kept, compared and merged, and never interpreted.

The notes in ``Meta(extra=…)`` are rules that a JSON type cannot say: ``keys`` names the form of a
map's keys (addressing.KEY_PATTERNS), ``places`` the decimals a number may have.
"""

from typing import Annotated, Any, Literal

import msgspec
from msgspec import UNSET, Meta, UnsetType

from showvault.show.addressing import KEY_PATTERNS
from showvault.show.attributes import FeatureGroup

FORMAT_VERSION = 1
"""The version of the neutral show that this release writes, and the newest it reads."""


def _keys(form: str) -> Meta:
    names = {"propertyNames": {"pattern": KEY_PATTERNS[form]}}
    return Meta(extra_json_schema=names, extra={"keys": form})


Level = Annotated[float, Meta(ge=0, le=100, extra={"places": 6})]
Signed = Annotated[float, Meta(ge=-100, le=100, extra={"places": 6})]
Seconds = Annotated[float, Meta(ge=0, extra={"places": 3})]
Universe = Annotated[int, Meta(ge=1, le=63999)]
"""ANSI E1.31: 1 to 63999."""
Address = Annotated[int, Meta(ge=1, le=512)]
"""ANSI E1.11 (DMX512-A): 1 to 512."""
Count = Annotated[int, Meta(ge=0)]
FixtureKey = Annotated[str, Meta(pattern=KEY_PATTERNS["fixture or cell"])]
FixtureNumber = Annotated[int, Meta(ge=1, le=999_999_999)] | FixtureKey
Hazard = Literal[
    "moving",
    "strobe",
    "laser",
    "flame",
    "pyrotechnic",
    "fog",
    "haze",
    "uv",
    "motor",
    "non_dim",
    "house",
    "emergency",
]


class _Object(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    extra: Any | UnsetType = UNSET
    """What a source needs to keep; never interpreted."""


class Capacity(_Object, frozen=True, kw_only=True):
    """What the show's desk can hold."""

    universes: Count | UnsetType = UNSET
    pages: Count | UnsetType = UNSET
    slots_per_page: Count | UnsetType = UNSET
    playbacks_per_page: Count | UnsetType = UNSET


class Curve(_Object, frozen=True, kw_only=True):
    """A transfer curve: pairs of level in, level out (percents), straight between them."""

    name: str | UnsetType = UNSET
    points: list[tuple[Level, Level]] | UnsetType = UNSET


class ChannelFunction(_Object, frozen=True, kw_only=True):
    """What part of a channel's range does; ``from`` and ``to`` are percents of the range."""

    name: str | UnsetType = UNSET
    from_: Level | UnsetType = msgspec.field(name="from", default=UNSET)
    to: Level | UnsetType = UNSET
    physical: tuple[float, float] | UnsetType = UNSET
    """The physical values at ``from`` and ``to``, in ``unit``."""
    unit: str | UnsetType = UNSET


class Channel(_Object, frozen=True, kw_only=True):
    """One channel of a mode."""

    attribute: str
    slots: list[Address]
    """Offsets from the start address, coarse first (GDTF table 58); empty: a virtual channel."""
    default: Level | UnsetType = UNSET
    highlight: Level | UnsetType = UNSET
    snap: bool | UnsetType = UNSET
    range: tuple[float, float] | UnsetType = UNSET
    """The physical values at 0 and 100 percent, in ``unit``."""
    unit: str | UnsetType = UNSET
    break_: Annotated[int, Meta(ge=1)] | UnsetType = msgspec.field(name="break", default=UNSET)
    """Which of the fixture's start addresses counts; absent is 1 (GDTF DMXBreak)."""
    functions: list[ChannelFunction] | UnsetType = UNSET


class Cell(_Object, frozen=True, kw_only=True):
    """One cell of a mode, with channels of its own."""

    channels: list[Channel] | UnsetType = UNSET


class Mode(_Object, frozen=True, kw_only=True):
    """One mode of a fixture type."""

    channels: list[Channel] | UnsetType = UNSET
    cells: Annotated[dict[str, Cell], _keys("number")] | UnsetType = UNSET


class FixtureType(_Object, frozen=True, kw_only=True):
    """What a fixture is: its modes and hazards."""

    name: str | UnsetType = UNSET
    hazards: list[Hazard] | UnsetType = UNSET
    modes: dict[str, Mode] | UnsetType = UNSET


class StartAddress(_Object, frozen=True, kw_only=True):
    """Where one break of a fixture starts in the patch."""

    universe: Universe
    address: Address
    break_: Annotated[int, Meta(ge=1)] | UnsetType = msgspec.field(name="break", default=UNSET)
    scale: Level | UnsetType = UNSET
    curve: Annotated[str, Meta(pattern=KEY_PATTERNS["place"])] | UnsetType = UNSET


class Fixture(_Object, frozen=True, kw_only=True):
    """One fixture of the patch; without addresses it is not patched."""

    type: str
    mode: str
    name: str | UnsetType = UNSET
    addresses: list[StartAddress] | UnsetType = UNSET
    position: str | UnsetType = UNSET
    unit_number: str | UnsetType = UNSET
    purpose: str | UnsetType = UNSET
    color: str | UnsetType = UNSET
    gobo: str | UnsetType = UNSET
    accessories: str | UnsetType = UNSET
    circuit: str | UnsetType = UNSET
    load: Annotated[float, Meta(ge=0)] | UnsetType = UNSET
    """Watts."""
    invert: list[str] | UnsetType = UNSET
    swap_pan_tilt: bool | UnsetType = UNSET
    notes: str | UnsetType = UNSET


class Group(_Object, frozen=True, kw_only=True):
    """Fixtures that are called together; their order counts."""

    name: str | UnsetType = UNSET
    fixtures: list[FixtureNumber] | UnsetType = UNSET


PlainLevels = Annotated[dict[str, dict[str, Level]], _keys("fixture or cell")]


class Preset(_Object, frozen=True, kw_only=True):
    """Values to refer to: a fixture's own, else its type's, else one for all."""

    name: str | UnsetType = UNSET
    all: dict[str, Level] | UnsetType = UNSET
    types: dict[str, dict[str, Level]] | UnsetType = UNSET
    levels: PlainLevels | UnsetType = UNSET


class EffectRange(_Object, frozen=True, kw_only=True):
    """How an effect moves one attribute: percents, of the level under it when relative."""

    low: Signed | UnsetType = UNSET
    high: Signed | UnsetType = UNSET
    relative: bool | UnsetType = UNSET


class Effect(_Object, frozen=True, kw_only=True):
    """A wave over fixtures; ``spread`` is in degrees over all of them."""

    name: str | UnsetType = UNSET
    wave: str | UnsetType = UNSET
    cycle_seconds: Seconds | UnsetType = UNSET
    spread: float | UnsetType = UNSET
    attributes: dict[str, EffectRange] | UnsetType = UNSET
    fixtures: list[FixtureNumber] | UnsetType = UNSET


class Macro(_Object, frozen=True, kw_only=True):
    """Steps a desk carries out; never carried out here."""

    name: str | UnsetType = UNSET
    steps: list[str] | UnsetType = UNSET


PresetName = Annotated[
    str,
    Meta(
        pattern=r"^(Dimmer|Position|Gobo|Color|Beam|Focus|Control|Shapers|Video) "
        + KEY_PATTERNS["place"].lstrip("^")
    ),
]


# A show has many thousands of these, and none can lead back to itself: the collector may pass by.
class StoredValue(_Object, frozen=True, kw_only=True, gc=False):
    """A stored level, preset reference or release (exactly one of them), with its own times."""

    level: Level | UnsetType = UNSET
    preset: PresetName | UnsetType = UNSET
    """Feature group and place: "Color 1.3"."""
    release: Literal[True] | UnsetType = UNSET
    fade: Seconds | UnsetType = UNSET
    delay: Seconds | UnsetType = UNSET


Value = Level | StoredValue
Levels = Annotated[dict[str, dict[str, Value]], _keys("fixture or cell")]


class Submaster(_Object, frozen=True, kw_only=True):
    """Levels on a handle of their own."""

    name: str | UnsetType = UNSET
    mode: str | UnsetType = UNSET
    levels: Levels | UnsetType = UNSET


class ClassTimes(_Object, frozen=True, kw_only=True):
    """Times of one feature group, in seconds."""

    fade: Seconds | UnsetType = UNSET
    delay: Seconds | UnsetType = UNSET


class Follow(_Object, frozen=True, kw_only=True):
    """The next cue goes by itself, so many seconds after the go or after the end of all fades."""

    from_: Literal["go", "end"] | UnsetType = msgspec.field(name="from", default=UNSET)
    seconds: Seconds | UnsetType = UNSET


class Link(_Object, frozen=True, kw_only=True):
    """A cue to go to; without a list, one of the same list."""

    list: Annotated[str, Meta(pattern=KEY_PATTERNS["place"])] | UnsetType = UNSET
    cue: Annotated[str, Meta(pattern=KEY_PATTERNS["cue"])] | UnsetType = UNSET


class Trigger(_Object, frozen=True, kw_only=True):
    """What starts a cue other than a hand."""

    kind: str | UnsetType = UNSET
    at: str | UnsetType = UNSET
    rate: Annotated[float, Meta(ge=0)] | UnsetType = UNSET
    """Frames a second, for timecode."""


class CueEffect(_Object, frozen=True, kw_only=True):
    """What a cue does to an effect."""

    state: Literal["start", "stop", "release"] | UnsetType = UNSET
    rate: Annotated[float, Meta(ge=0)] | UnsetType = UNSET
    size: Annotated[float, Meta(ge=0)] | UnsetType = UNSET


class Part(_Object, frozen=True, kw_only=True):
    """What cues and parts of cues have in common: levels, effects, and times in seconds."""

    label: str | UnsetType = UNSET
    notes: str | UnsetType = UNSET
    fade_in: Seconds | UnsetType = UNSET
    fade_out: Seconds | UnsetType = UNSET
    delay_in: Seconds | UnsetType = UNSET
    delay_out: Seconds | UnsetType = UNSET
    times: dict[FeatureGroup, ClassTimes] | UnsetType = UNSET
    levels: Levels | UnsetType = UNSET
    effects: Annotated[dict[str, CueEffect], _keys("place")] | UnsetType = UNSET


class Cue(Part, frozen=True, kw_only=True):
    """One cue; its own levels and times are part 1."""

    scene: str | UnsetType = UNSET
    script_page: str | UnsetType = UNSET
    called_on: str | UnsetType = UNSET
    block: bool | UnsetType = UNSET
    follow: Follow | UnsetType = UNSET
    link: Link | UnsetType = UNSET
    trigger: Trigger | UnsetType = UNSET
    also_go: list[Link] | UnsetType = UNSET
    parts: Annotated[dict[str, Part], _keys("number")] | UnsetType = UNSET


class CueList(_Object, frozen=True, kw_only=True):
    """Cues in number order; ``tracking`` absent is true."""

    name: str | UnsetType = UNSET
    tracking: bool | UnsetType = UNSET
    dark_moves: Literal["as_stored", "automatic"] | UnsetType = UNSET
    cues: Annotated[dict[str, Cue], _keys("cue")] | UnsetType = UNSET


class Playback(_Object, frozen=True, kw_only=True):
    """A handle that runs a cue list; priority 0 to 200 (ANSI E1.31)."""

    name: str | UnsetType = UNSET
    cue_list: Annotated[str, Meta(pattern=KEY_PATTERNS["place"])] | UnsetType = UNSET
    intensity: Literal["highest", "latest"] | UnsetType = UNSET
    priority: Annotated[int, Meta(ge=0, le=200)] | UnsetType = UNSET


class OpaqueFile(_Object, frozen=True, kw_only=True):
    """A desk's own file that belongs to the show, kept byte for byte beside it."""

    name: str | UnsetType = UNSET
    size: Count | UnsetType = UNSET
    sha256: Annotated[str, Meta(pattern="^[0-9a-f]{64}$")] | UnsetType = UNSET


class Show(_Object, frozen=True, kw_only=True):
    """One show."""

    format: Literal["neutral-show"]
    format_version: Literal[1]
    title: str | UnsetType = UNSET
    venue: str | UnsetType = UNSET
    notes: str | UnsetType = UNSET
    capacity: Capacity | UnsetType = UNSET
    curves: Annotated[dict[str, Curve], _keys("place")] | UnsetType = UNSET
    fixture_types: dict[str, FixtureType] | UnsetType = UNSET
    patch: Annotated[dict[str, Fixture], _keys("fixture")] | UnsetType = UNSET
    groups: Annotated[dict[str, Group], _keys("place")] | UnsetType = UNSET
    presets: dict[FeatureGroup, Annotated[dict[str, Preset], _keys("place")]] | UnsetType = UNSET
    effects: Annotated[dict[str, Effect], _keys("place")] | UnsetType = UNSET
    macros: Annotated[dict[str, Macro], _keys("place")] | UnsetType = UNSET
    submasters: Annotated[dict[str, Submaster], _keys("place")] | UnsetType = UNSET
    cue_lists: Annotated[dict[str, CueList], _keys("place")] | UnsetType = UNSET
    playbacks: Annotated[dict[str, Playback], _keys("place")] | UnsetType = UNSET
    files: dict[str, OpaqueFile] | UnsetType = UNSET
