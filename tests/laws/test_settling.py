"""Whatever a writer does: what is handed over has rested, and the last state always is."""

from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from showvault.files.reading import FileIdentity
from showvault.watch.settling import REST_CLOSED, REST_PROVING, Settled, Settling

SHOW = Path("/shows/evening.json")
steps = st.lists(st.tuples(st.integers(1, 30), st.booleans(), st.booleans()), max_size=30)


@given(steps=steps)
def test_only_what_rested_is_handed_over_and_the_last_state_always_is(
    steps: list[tuple[int, bool, bool]],
) -> None:
    """Each step: tenths of a second until the next write, whether it is told, whether closed."""
    now = 0.0
    identities: dict[Path, FileIdentity] = {}
    settling = Settling(identities.get, lambda path: False, lambda path: "proving")
    written = 0.0
    handed: list[FileIdentity] = []

    def look() -> None:
        for one in settling.tick(now):
            assert isinstance(one, Settled)
            assert now - written >= min(REST_CLOSED, REST_PROVING) - 1e-9
            assert one.identity == identities[SHOW]
            handed.append(one.identity)
            settling.done(SHOW, one.identity, now)

    for number, (tenths, told, closed) in enumerate(steps):
        identities[SHOW] = FileIdentity(1, 2, number, number, number)
        written = now
        if told or number == 0:
            settling.touched(SHOW, now, closed=closed)
        for _ in range(tenths):
            now += 0.1
            look()
    for _ in range(150):  # the look five seconds after each save finds what nobody told of
        now += 0.1
        look()
    assert handed[-1:] == ([identities[SHOW]] if steps else [])
