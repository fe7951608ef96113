"""Which reading settles a row fastest: judged by what must be so, and by taking the readings."""

import itertools
import math

import numpy as np
import pytest

from geometry.survey.learn import USUAL, expected, fitted
from geometry.survey.learn_readings import P, kinds, model
from geometry.survey.limits import numbers
from geometry.survey.next_reading import Plan, _spread, _told, plan
from geometry.tables.axles import End
from geometry.tables.interfaces import resolve, rows

ALL: list[tuple[str, End, float]] = [
    (row.name, end, size)
    for row in rows().values()
    for end in row.ends
    for size in (row.sizes if row.path is None else (160.0,))
]


def planned(name: str, end: End, native: float) -> Plan:
    """Return the plan for a row."""
    return plan(rows()[name], end, native)


@pytest.mark.parametrize(("name", "end", "native"), ALL)
def test_every_reading_tells_more_and_all_together_settle_the_mount(
    name: str, end: End, native: float
) -> None:
    found = planned(name, end, native)
    bands = [found.band, *(step.band for step in found.steps)]
    assert all(after <= before + 1e-9 for before, after in itertools.pairwise(bands))
    assert len({step.kind.key for step in found.steps}) == len(found.steps)
    # Pins and axle of a workshop leave less than a quarter of a millimetre.
    assert bands[-1] < 0.26 < bands[0]


def test_tabs_need_the_sideways_reading_and_nothing_else() -> None:
    # Their side view is published twice to 0.1; the two rows dispute 0.75 sideways.
    for name, end, native in (("is-rear", "rear", 140.0), ("is-front", "front", 160.0)):
        found = planned(name, "rear" if end == "rear" else "front", native)
        assert [step.kind.key for step in found.steps] == ["side"]
        assert found.band == pytest.approx(0.75)


def test_a_reading_tells_by_the_rule_of_two_that_are_pooled() -> None:
    # What is open of h, s, and a reading over the axle, off by its own error e and half the axle's: pooled by
    # their weights, 1/s^2 and 1/(e^2 + c^2/4), c being how far the caliper that read the axle may be off.
    found = planned("flat-rear", "rear", 140.0)
    caliper = numbers()["reading.caliper"].value
    spread = _spread(rows()["flat-rear"], "rear", 140.0)
    at = expected(resolve("flat-rear", "rear", 140.0, 140.0))
    assert {step.kind.key for step in found.steps} >= {"face-over", "side"}
    over = next(step.kind for step in found.steps if step.kind.key == "face-over")
    after = _told(spread, over, at)
    before = float(spread[P.H, P.H])
    error = USUAL.deviation(over) ** 2 + (caliper / 2.0) ** 2
    assert after[P.H, P.H] == pytest.approx(1.0 / (1.0 / before + 1.0 / error), rel=1e-9)


def test_a_flat_mount_is_open_by_what_it_was_derived_to() -> None:
    # x near 8, derived to 3 to 16 (interfaces.toml): 8 either way, and the far hole's distance besides.
    found = planned("flat-front", "front", 140.0)
    assert found.band == pytest.approx(math.hypot(8.0, 2.0), abs=0.01)
    assert {"face-over", "side"} <= {step.kind.key for step in found.steps}


@pytest.mark.parametrize(
    ("name", "end", "native"), [each for each in ALL if each[0] in ("flat-rear", "post")]
)
def test_what_the_plan_reads_settles_height_and_places_when_it_is_read(
    name: str, end: End, native: float
) -> None:
    # Least squares over the readings themselves is another way than the plan's own.
    known = {kind.key: kind for kind in kinds(rows()[name].family, end)}
    taken = [known["axle"], known["pin"], *(step.kind for step in planned(name, end, native).steps)]
    row = resolve(name, end, native, native)
    at = expected(row, [(known["axle"], 12.0), (known["pin"], 5.0)])
    shown, _ = model(taken)(at)
    start = at.copy()
    start[: P.LATERAL] += 0.7
    found = fitted(taken, shown, start)
    assert np.allclose(found.estimate[: P.LATERAL + 1], at[: P.LATERAL + 1], atol=1e-6)
