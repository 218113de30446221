import gc
from collections.abc import Iterator

import pytest

from showvault.flows.describing import Describer
from showvault.flows.keep import Keeper
from showvault.flows.undisturbed import undisturbed
from showvault.interchange.registry import choose_reader
from tests.flows.rooms import Room, a_save


@pytest.fixture(autouse=True)
def searching() -> Iterator[None]:
    gc.enable()
    yield
    gc.enable()


def test_the_search_goes_on_behind_it_whatever_happens() -> None:
    with undisturbed():
        assert not gc.isenabled()
    assert gc.isenabled()
    with pytest.raises(OSError, match="full"), undisturbed():
        raise OSError("full")
    assert gc.isenabled()


def test_who_keeps_python_from_searching_anyhow_is_left_alone() -> None:
    gc.disable()
    with undisturbed():
        pass
    assert not gc.isenabled()


def test_a_save_is_not_disturbed_while_it_is_described(room: Room) -> None:
    searched: list[bool] = []

    def say(*sides: object) -> str:
        searched.append(gc.isenabled())
        return "something changed"

    room.keeper = Keeper(room.vault, "Ada", choose_reader, Describer(say))
    room.keep(room.save(a_save(50)))
    assert searched == [False]
    assert gc.isenabled()
