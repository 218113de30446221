"""Whether a show file is one of another production than the one that a vault keeps."""

from collections.abc import Mapping

from showvault.flows.incoming import IncomingFile, name_of
from showvault.flows.stored import SHOW_FOLDER, SKELETON
from showvault.show.cutting import skeleton_as_json
from showvault.show.trees import parse_part
from showvault.vault.store import Store, blob_id

SHARE = 0.1
"""Below this share of equal parts, a show with another title is another production."""


def say_another_production(one: IncomingFile, tree: Mapping[str, str], store: Store) -> str:
    """Say that a show is another production than the one in a version's tree; empty if not."""
    if one.cut is None or SKELETON not in tree:
        return ""
    ours = _title(store.read_blob(tree[SKELETON]))
    theirs = _title(one.cut.skeleton)
    if not ours or not theirs or ours == theirs:
        return ""
    parts = one.cut.parts
    equal = sum(tree.get(SHOW_FOLDER + name) == blob_id(data) for name, data in parts.items())
    if equal >= SHARE * len(parts):
        return ""
    return (
        f"{name_of(one.file.path.name)} is another production ({theirs!r}, not {ours!r}): its "
        "bytes are kept here, but only a vault of its own will describe it"
    )


def _title(skeleton: bytes) -> str:
    outline = parse_part(skeleton_as_json(skeleton))
    title = outline.get("title") if isinstance(outline, dict) else None
    return title if isinstance(title, str) else ""
