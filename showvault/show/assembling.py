"""A show as values from its things alone, so that a stored one need not be joined and read anew."""

from collections import defaultdict
from typing import Any

import msgspec

from showvault.show.addressing import Kind
from showvault.show.faults import Fault
from showvault.show.model import Show
from showvault.show.outlines import SECTIONS
from showvault.show.parts import ShowParts
from showvault.show.places import path_to, pointer_to, say_pointer
from showvault.show.reading import NotUnderstoodError
from showvault.show.trees import encode_tree
from showvault.show.understanding import MODELS

_DECODERS: dict[Kind, msgspec.json.Decoder[Any]] = {
    kind: msgspec.json.Decoder(model) for kind, model in MODELS.items()
}
_SHOW = msgspec.json.Decoder(Show)


def decode_parts(show: ShowParts, name: str = "the show") -> Show:
    """Return the show that these things make. Raises NotUnderstoodError."""
    things: dict[str, dict[str, Any]] = defaultdict(dict)
    presets: dict[str, dict[str, Any]] = defaultdict(dict)
    cues: dict[str, dict[str, Any]] = defaultdict(dict)
    for thing, part in show.parts.items():
        path = path_to(thing)
        try:
            value = _DECODERS[thing.kind].decode(part.data)
        except (msgspec.DecodeError, UnicodeDecodeError, RecursionError) as error:
            raise NotUnderstoodError([_fault(path, error)], name) from None
        match path:
            case ("cue_lists", number, "cues", cue):
                cues[number][cue] = value
            case ("presets", group, place):
                presets[group][place] = value
            case (section, key):
                things[section][key] = value
    return _with_outline(show, things, presets, cues, name)


def _with_outline(
    show: ShowParts,
    things: dict[str, dict[str, Any]],
    presets: dict[str, dict[str, Any]],
    cues: dict[str, dict[str, Any]],
    name: str,
) -> Show:
    outline = dict(show.outline) if isinstance(show.outline, dict) else {}
    for section in (*SECTIONS, "presets"):
        outline.pop(section, None)
    lists = outline.get("cue_lists", {})
    try:
        if isinstance(lists, dict):
            outline["cue_lists"] = {
                number: {key: value for key, value in held.items() if key != "cues"}
                for number, held in lists.items()
            }
        # Not converted: its numbers are to be those that the file would give.
        decoded = _SHOW.decode(encode_tree(outline))
    except (msgspec.DecodeError, RecursionError, AttributeError) as error:
        raise NotUnderstoodError([_fault((), error)], name) from None
    cue_lists = {
        number: msgspec.structs.replace(held, cues=cues[number])
        for number, held in (decoded.cue_lists or {}).items()
    }
    return msgspec.structs.replace(decoded, **things, presets=presets, cue_lists=cue_lists)


def _fault(path: tuple[str, ...], error: Exception) -> Fault:
    place = say_pointer(path)
    return Fault(place, pointer_to(path), "", "", f"{place}: {error}")
