"""The tree of errors: what the shell sees, and one line a problem."""

import pytest

from geometry.core.errors import (
    DeliveryError,
    DropleafError,
    FitError,
    GeometryError,
    InputError,
    Problem,
    ReadBackError,
    TableError,
)


@pytest.mark.parametrize("kind", [TableError, GeometryError, FitError])
def test_a_wrong_job_exits_with_2(kind: type[DropleafError]) -> None:
    assert issubclass(kind, InputError)
    assert issubclass(InputError, DropleafError)
    assert kind.at("mount.rotor", "too big").exit_status == 2


def test_a_failed_reading_exits_with_1_and_a_failed_delivery_with_2() -> None:
    assert ReadBackError.at("", "hole near is not there").exit_status == 1
    assert DeliveryError.at("out", "no such place").exit_status == 2
    assert not issubclass(ReadBackError, InputError)
    assert not issubclass(DeliveryError, InputError)


def test_a_problem_is_one_line_whatever_was_given() -> None:
    assert str(Problem("frame.id", "two\nlines\tand  gaps")) == "frame.id: two lines and gaps"
    assert str(Problem("", "no place")) == "no place"


def test_an_error_prints_one_line_a_problem_and_keeps_them() -> None:
    problems = (Problem("a", "first"), Problem("b", "second"))
    error = InputError(*problems)
    assert str(error) == "a: first\nb: second"
    assert error.problems == problems
    assert TableError.at("a", "first").problems == problems[:1]
    assert isinstance(TableError.at("a", "first"), TableError)


def test_an_error_must_say_something() -> None:
    with pytest.raises(ValueError, match="at least one problem"):
        InputError()
