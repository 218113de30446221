"""The neutral show as a format among others."""

import pytest

from showvault.interchange.neutral import NeutralReader
from showvault.show.reading import NotUnderstoodError, NotWholeError

SHOW = b'{"format": "neutral-show", "format_version": 1, "title": "Harbour"}'


def test_reading_and_writing_gives_the_same_show():
    reader = NeutralReader()
    show = reader.read(SHOW, {}).show
    again = reader.read(reader.write(show, {}).data, {})
    assert (again.show, again.losses) == (show, ())


def test_a_show_that_stops_in_the_middle_is_refused():
    with pytest.raises(NotWholeError):
        NeutralReader().read(SHOW[:-4], {})


def test_a_show_with_faults_is_refused_with_all_of_them():
    with pytest.raises(NotUnderstoodError) as refused:
        NeutralReader().read(b'{"format": "neutral-show", "format_version": 1, "a": 1, "b": 2}', {})
    assert len(refused.value.faults) == 2


def test_a_show_in_utf_16_is_known_for_what_it_is():
    """Whole but not understood: JSON travels in UTF-8 (RFC 8259 section 8.1)."""
    assert NeutralReader().sniff("a.json", SHOW.decode().encode("utf-16"))
