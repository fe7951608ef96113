"""A complete job document to change one thing of, and a reader of problems."""

import contextlib
import copy
import re
from collections.abc import Callable, Iterator
from typing import Any

import pytest

from geometry.core.errors import DropleafError, InputError
from sheets.job.read import parse
from sheets.words.tell import lines, told

REAR: dict[str, Any] = {
    "frame": {"id": "knot-1", "name": "Knot", "maker": "Saltmarsh Cycle Works"},
    "mount": {"end": "rear", "interface": "post", "rotor": 160, "host": "chainstay"},
    "axle": {"system": "142x12"},
    "dropout": {"thickness": 8},
    "tubes": {
        "chainstay": {"diameters": [[25, 16], [180, 19], [380, 22]], "wall": 0.9, "outset": 5, "splay": 3},
        "seatstay": {"diameters": [[28, 14]], "included": "62 deg"},
    },
}

KNOT = """
[frame]
id = "knot-1"
[mount]
end = "rear"
interface = "is-rear"
rotor = 160
host = "chainstay"
[axle]
system = "135-qr"
"""
"""The text of a job that may be drawn, to put more tables behind."""

FRONT: dict[str, Any] = {
    "frame": {"id": "knot-2"},
    "mount": {"end": "front", "interface": "is-front", "rotor": 160},
    "axle": {"system": "100-qr"},
    "tubes": {"fork-leg": {"diameters": [[20, 16], [350, 28, 22]]}},
}


@contextlib.contextmanager
def refused(said: str) -> Iterator[None]:
    """Expect an error that says so, a regular expression, in one line."""
    with pytest.raises(DropleafError) as caught:
        yield
    [line] = lines(caught.value)
    assert re.search(said, line), line


@pytest.fixture
def rear() -> dict[str, Any]:
    """Return a rear job that may be changed."""
    return copy.deepcopy(REAR)


@pytest.fixture
def front() -> dict[str, Any]:
    """Return a front job that may be changed."""
    return copy.deepcopy(FRONT)


@pytest.fixture
def problems() -> Callable[[dict[str, Any]], dict[str, str]]:
    """Return a function from a document to its problems, what is wrong by where; none is a failure."""

    def collect(document: dict[str, Any]) -> dict[str, str]:
        with pytest.raises(InputError) as caught:
            parse(document)
        found = {told(problem.where): told(problem.what) for problem in caught.value.problems}
        assert all("\n" not in text for each in found.items() for text in each)
        return found

    return collect
