"""The figure of where a caliper's jaws went: it keeps to its zone, and every number can be read."""

import itertools

import pytest

from geometry.survey.learn_readings import kinds
from geometry.tables.axles import End
from geometry.tables.interface_rows import Family
from geometry.tables.interfaces import resolve
from sheets.ink.bounds import sheet_bounds
from sheets.ink.drawing import Drawing
from sheets.ink.placing import Box
from sheets.pages.running.jaws import Mounted, jaws

ZONE: Box = (12.0, 100.0, 198.0, 182.0)
MOUNTS: list[tuple[str, Family, End, float]] = [
    ("is-rear", "tab", "rear", 140.0), ("is-front", "tab", "front", 160.0), ("post", "post", "rear", 160.0),
    ("post", "post", "front", 220.0), ("flat-rear", "flat", "rear", 140.0),
    ("flat-front", "flat", "front", 160.0),
]  # fmt: skip


def drawn(
    name: str, family: Family, end: End, native: float, ways: tuple[str, ...]
) -> tuple[Drawing, set[str]]:
    """Return the figure of a shipped row with every reading of some ways, and their numbers."""
    row = resolve(name, end, native, native)
    keys = [kind.key for kind in kinds(family, end) if kind.key.endswith(ways) or kind.key in ("axle", "pin")]
    keys += [key for key in ("side", "side-outer", "width") if key not in keys]
    numbers = {key: str(number) for number, key in enumerate(keys, start=1)}
    drawing = Drawing()
    jaws(drawing, ZONE, Mounted(family, end, row.h, row.x_near, row.x_far, 12.0, 5.0), numbers)
    return drawing, set(numbers.values())


@pytest.mark.parametrize(("name", "family", "end", "native"), MOUNTS)
@pytest.mark.parametrize("ways", [("-over",), ("-between",), ("-over", "-between")])
def test_the_figure_keeps_to_its_zone_and_shows_every_number(
    name: str, family: Family, end: End, native: float, ways: tuple[str, ...]
) -> None:
    drawing, numbers = drawn(name, family, end, native, ways)
    left, low, right, top = sheet_bounds(drawing.records())
    # A line's own width may stand out.
    assert left > ZONE[0] - 0.5 and low > ZONE[1] - 0.5 and right < ZONE[2] + 0.5 and top < ZONE[3] + 0.5
    assert numbers <= {text for text, _ in drawing.labels}


@pytest.mark.parametrize(("name", "family", "end", "native"), MOUNTS)
def test_no_number_lies_on_another(name: str, family: Family, end: End, native: float) -> None:
    drawing, _ = drawn(name, family, end, native, ("-over",))
    for (one, a), (two, b) in itertools.combinations(drawing.labels, 2):
        apart = a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
        assert apart, f"{one!r} lies on {two!r}"
