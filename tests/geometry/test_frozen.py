"""Frozen values against the standard library's: whatever that gives a frozen class, ours give too."""

import copy
import dataclasses
import inspect
import math
import pickle
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.core import frozen


def _classes(dataclass: Callable[..., Any]) -> tuple[Any, Any, Any]:
    """Return some classes of the kinds that this program has, made by one of the two."""

    @dataclass(frozen=True, slots=True)
    class Base:
        """A base."""

        first: float
        rest: tuple[float, ...] = dataclasses.field(default_factory=tuple)

    @dataclass(frozen=True, slots=True)
    class More(Base):
        """One that is made of another, and looks at what it was given."""

        told: str = "told"
        unseen: dict[str, int] = dataclasses.field(default_factory=dict, compare=False, repr=False)
        unhashed: list[int] = dataclasses.field(default_factory=list, hash=False)

        def __post_init__(self) -> None:
            if not self.told:
                raise ValueError("told")

    @dataclass(frozen=True, slots=True, kw_only=True)
    class Named:
        """One whose values must be named."""

        only: float

    return Base, More, Named


OURS, THEIRS = _classes(frozen.dataclass), _classes(dataclasses.dataclass)
BASE, MORE, NAMED = OURS


@frozen.dataclass(frozen=True, slots=True)
class Held:
    """One that can be pickled, having a name in this module."""

    one: float
    two: tuple[str, ...] = ()


@frozen.dataclass(frozen=True, slots=True, eq=False)
class Itself:
    """One that is equal to itself alone."""

    one: float


NUMBERS = st.floats(allow_nan=False, width=16)


@given(NUMBERS, NUMBERS, st.lists(NUMBERS, max_size=2).map(tuple), st.sampled_from(["a", "b"]))
def test_values_are_equal_where_the_standard_librarys_are(
    one: float, two: float, rest: tuple[float, ...], told: str
) -> None:
    pairs = []
    for base, more, named in (OURS, THEIRS):
        plain = [base(one), base(two), base(one, rest), more(one, rest, told), more(two), named(only=one)]
        pairs.append([*plain, more(one, unseen={"a": 1}), more(one, unhashed=[1])])
    ours, theirs = ([[a == b for a in made] for b in made] for made in pairs)
    assert ours == theirs
    assert [repr(each) for each in pairs[0]] == [repr(each) for each in pairs[1]]
    for made in pairs:
        assert all(hash(a) == hash(b) for a in made for b in made if a == b)


def test_nan_is_equal_to_itself_as_in_a_tuple() -> None:
    assert NAMED(only=math.nan) == NAMED(only=math.nan)


@pytest.mark.parametrize("kind", [0, 1, 2])
def test_what_init_takes_and_refuses_is_the_same(kind: int) -> None:
    ours, theirs = OURS[kind], THEIRS[kind]
    for values, named in (((), {}), ((1.0,), {"only": 1.0}), ((1.0, (), "", {}, [], 3), {}), ((), {"x": 1})):
        for each in (ours, theirs):
            with pytest.raises((TypeError, ValueError)):
                each(*values, **named)
    good: dict[str, Any] = {"only": 1.0} if kind == 2 else {"first": 1.0}
    assert repr(ours(**good)) == repr(theirs(**good))
    assert list(inspect.signature(ours.__init__).parameters) == list(
        inspect.signature(theirs.__init__).parameters
    )
    assert [each.name for each in dataclasses.fields(ours)] == [
        each.name for each in dataclasses.fields(theirs)
    ]
    assert ours.__match_args__ == theirs.__match_args__ and ours.__slots__ == theirs.__slots__


def test_a_value_cannot_be_changed_and_each_has_its_own_default() -> None:
    one, two = MORE(1.0), MORE(1.0)
    assert one.unseen is not two.unseen
    for change in (lambda: setattr(one, "first", 2.0), lambda: delattr(one, "first")):
        with pytest.raises(dataclasses.FrozenInstanceError):
            change()
    assert one.first == 1.0 and not hasattr(one, "__dict__")
    with pytest.raises(ValueError, match="told"):
        MORE(1.0, told="")
    assert dataclasses.replace(one, told="x").told == "x"


def test_a_value_is_pickled_and_copied_whole() -> None:
    one = Held(1.0, ("a",))
    assert pickle.loads(pickle.dumps(one)) == copy.deepcopy(one) == copy.copy(one) == one
    assert dataclasses.asdict(one) == {"one": 1.0, "two": ("a",)}
    assert Itself(1.0) != Itself(1.0) and len({Itself(1.0), Itself(1.0)}) == 2
