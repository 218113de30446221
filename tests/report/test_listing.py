from datetime import timedelta

from showvault.report.listing import listing_text
from showvault.vault.versions import Version
from tests.vault.builders import START


def test_a_version_whose_record_cannot_be_read_has_no_number_and_no_time():
    whole = Version(number=2, time="2026-11-24T21:00:00Z", who="Ada", summary="cue 1: +5")
    lost = Version(number=0, time="", good=False, reason="the record is damaged", labels=("one",))
    text = listing_text([whole, lost], START + timedelta(minutes=1), 100)
    assert " ".join(text.splitlines()[2].split()) == (
        "? damaged «one» the record is damaged: showvault verify --mend"
    )
    assert "1970" not in text
    assert "older" not in text
