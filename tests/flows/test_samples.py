import pytest

from showvault.flows.samples import NoSuchSampleError, shipped_file


@pytest.mark.parametrize(
    ("folder", "name"), [("sample_shows", "lighthouse_play.json"), ("hooks", "pre-commit")]
)
def test_what_ships_with_showvault_is_found(folder: str, name: str):
    assert shipped_file(folder, name).stat().st_size > 20


def test_what_is_missing_is_told():
    with pytest.raises(NoSuchSampleError, match=r"sample_shows/none\.json is missing"):
        shipped_file("sample_shows", "none.json")
