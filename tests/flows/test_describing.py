import threading

from showvault.flows.describing import Describer
from showvault.show.cutting import cut_into_parts
from showvault.show.parts import ShowParts, parts_of
from tests.flows.rooms import a_save


def show() -> ShowParts:
    cut = cut_into_parts(a_save(50))
    assert cut is not None
    return parts_of(cut)


def test_what_is_said_is_returned():
    describer = Describer(lambda before, after: f"{len(after.parts)} things")
    assert describer.describe(lambda read: (None, show()), lambda blob: b"").endswith("things")


def test_what_fails_is_told_with_its_kind_alone():
    def fail(before, after):
        raise ZeroDivisionError("secret")

    said = Describer(fail).describe(lambda read: (None, show()), lambda blob: b"")
    assert said == "what changed could not be described (ZeroDivisionError)"


def test_a_description_that_is_not_waited_for_reads_nothing_more():
    """Else it would ask the history beside the save that goes on."""
    reads: list[str] = []
    done, refused = threading.Event(), threading.Event()

    def sides(read):
        done.wait(10)
        try:
            read("blob")
        except Exception:
            refused.set()
            raise
        return None, show()

    describer = Describer(lambda before, after: "late", seconds=0.01)
    said = describer.describe(sides, lambda blob: reads.append(blob) or b"")
    assert said == (
        "what changed could not be described within 0.01 s (showvault compare takes its time)"
    )
    done.set()
    assert refused.wait(10)
    assert reads == []
