"""Values as JSON for other programs; which keys stay is written in the README."""

import re
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

import msgspec

from showvault.vault.versions import Version

_ENCODER = msgspec.json.Encoder(decimal_format="number")
_AMBIGUOUS = re.compile("[\x7f-\x9f\u061c\u200b-\u200f\u2028-\u202e\u2060-\u2069\ufeff]")


def as_json(value: Any) -> str:
    """Return a value as JSON with two spaces of indent; decimals are exact.

    Characters that could turn a terminal's head are written as ``\\uXXXX``.
    """
    text = msgspec.json.format(_ENCODER.encode(_encodable(value)), indent=2).decode()
    return _AMBIGUOUS.sub(_escape, text)


def as_json_line(value: Any) -> str:
    """Return a value as JSON on one line."""
    return _AMBIGUOUS.sub(_escape, _ENCODER.encode(_encodable(value)).decode())


def version_record(version: Version) -> dict[str, Any]:
    """Return a version as ``list`` gives it."""
    return {
        "number": version.number,
        "time": version.time,
        "local_time": version.moment.isoformat(),
        "label": version.label or None,
        "labels": list(version.labels),
        "who": version.who,
        "good": version.good,
        "understood": version.understood,
        "summary": version.summary,
        "note": version.note or None,
        "reason": version.reason or None,
        "reader": version.reader or None,
        "commit": version.commit,
        "files": [
            {
                "path": file.path,
                "name": file.name,
                "size": file.size,
                "sha256": file.sha256,
                "role": file.role,
            }
            for file in version.files
        ],
    }


def _encodable(value: Any) -> Any:
    """Replace what JSON in UTF-8 cannot hold: lone surrogates, NaN."""
    match value:
        case str():
            return value.encode("utf-8", "backslashreplace").decode()
        case Mapping():
            return {_encodable(str(key)): _encodable(member) for key, member in value.items()}
        case list() | tuple():
            return [_encodable(item) for item in value]
        case Decimal() if not value.is_finite():
            return str(value)
        case msgspec.Struct():
            return _encodable(msgspec.to_builtins(value))
        case _:
            return value


def _escape(match: re.Match[str]) -> str:
    return f"\\u{ord(match.group()):04x}"
