"""Texts and numbers that remember the length they were made of."""

import copy
import pickle

import pytest

from geometry.core.shown import Down, Pieces, Shown, Typed

SHOWN = (Shown("3.30", 3.2958), Down("5.3"), Pieces("10 + 5", (10.0, 5.0)), Typed(15.875, "5/8 in"))


@pytest.mark.parametrize("one", SHOWN, ids=lambda one: type(one).__name__)
def test_a_shown_length_comes_back_whole_from_another_process(one: object) -> None:
    """What cannot be read there is taken by the pool for a process that died."""
    for again in (pickle.loads(pickle.dumps(one)), copy.deepcopy(one)):
        assert again == one and type(again) is type(one)
        for each in getattr(type(one), "__slots__", ()):
            assert getattr(again, each) == getattr(one, each)
