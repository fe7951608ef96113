"""The smallest set of spacers against brute force."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.core.errors import GeometryError
from geometry.mount.spacer_set import catalogue, smallest_set


def _makes(pieces: tuple[float, ...], length: float) -> bool:
    return any(
        abs(sum(some) - length) <= 0.05 + 1e-9
        for count in range(len(pieces) + 1)
        for some in itertools.combinations(pieces, count)
    )


@given(
    st.lists(st.sampled_from((0.5, 1.0, 1.5, 2.0, 3.0, 5.0)), min_size=1, max_size=4, unique=True),
    st.lists(st.integers(1, 16), min_size=1, max_size=3),
)
def test_no_smaller_set_does(sizes: list[float], halves: list[int]) -> None:
    known = [0.5, *sizes]
    lengths = [half / 2.0 for half in halves]
    found = smallest_set(lengths, known=known)
    assert found.exact
    for length, stack in zip(lengths, found.stacks, strict=True):
        assert abs(sum(stack) - length) <= 0.05 + 1e-9
        left = list(found.pieces)
        for piece in stack:
            left.remove(piece)
    for count in range(min(len(found.pieces), 5)):
        for pieces in itertools.combinations_with_replacement(sorted(set(known)), count):
            assert not all(_makes(pieces, length) for length in lengths)


@given(st.lists(st.floats(0.0, 60.0), min_size=1, max_size=5))
def test_every_stack_is_reached_from_the_shipped_catalogue(lengths: list[float]) -> None:
    found = smallest_set(lengths)
    assert set(found.pieces) <= set(catalogue())
    for length, stack in zip(lengths, found.stacks, strict=True):
        assert abs(sum(stack) - length) <= 0.05 + 1e-9


def test_what_takes_too_long_is_said_to_be_a_bound() -> None:
    lengths = [0.7 + 3.13 * i for i in range(14)]
    found = smallest_set(lengths)
    for length, stack in zip(lengths, found.stacks, strict=True):
        assert abs(sum(stack) - length) <= 0.05 + 1e-9
    assert not found.exact


def test_the_thinnest_shim_is_a_piece() -> None:
    """0.05 is one step, and the thinnest piece there can be: 0.15 takes three of them and nothing less."""
    assert smallest_set([0.15], 0.0, known=[0.05]).pieces == (0.05, 0.05, 0.05)


@given(st.integers(2, 1200), st.sampled_from([-1, 1]))
def test_a_stack_that_is_off_by_just_the_tolerance_will_do(steps: int, off: int) -> None:
    """Both are told in steps of 0.05; no rounding of such numbers may take a piece away."""
    piece = round((steps + off) * 0.05, 2)
    assert smallest_set([round(steps * 0.05, 2)], 0.05, known=[piece]).pieces[0] == piece
    if steps > 2:
        with pytest.raises(GeometryError, match=r"spacers\.no_pieces"):
            smallest_set([round(steps * 0.05, 2)], 0.04, known=[round((steps + 2 * steps) * 0.05, 2)])


def test_what_cannot_be_made_is_refused() -> None:
    with pytest.raises(GeometryError, match=r"spacers\.no_pieces\(length=7"):
        smallest_set([7.0], known=[2.0])
    with pytest.raises(GeometryError, match=r"spacers\.nothing_to_fill"):
        smallest_set([-3.0])
    with pytest.raises(GeometryError, match=r"spacers\.catalogue\(step=0\.05\)"):
        smallest_set([3.0], known=[0.33])
    assert smallest_set([0.02]).pieces == ()
