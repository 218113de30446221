"""What to say before a show that came back goes near a rig."""

from showvault.compare.differ import compare_shows
from showvault.flows.restore import Restored
from showvault.flows.stored import parts_of_version
from showvault.review.cautions import Caution, cautions_for
from showvault.review.effect import effects_of
from showvault.review.hazards import find_hazards
from showvault.review.suspects import sides_of
from showvault.show.assembling import decode_parts
from showvault.vault.store import Store


def cautions_on_restoring(store: Store, restored: Restored) -> tuple[Caution, ...]:
    """Return the cautions, naming the fixtures that look different once it is loaded.

    Where that cannot be told, what holds of every show is said; of other files, nothing. Whatever
    fails in here, the file is back already.
    """
    now, back = restored.before, restored.source
    if back.show_file is None:
        return ()
    try:
        if now is None:
            return tuple(cautions_for({}))
        before, after = parts_of_version(store, now), parts_of_version(store, back)
        comparison = compare_shows(before, after)
        sides = sides_of(decode_parts(before), decode_parts(after), comparison)
        return tuple(cautions_for(find_hazards(sides, effects_of(sides))))
    except Exception:
        return tuple(cautions_for({}))
