"""The face view: each body is named once at its own line's end, and what lies close is shown enlarged."""

import itertools
import re

import pytest
import shapely

from sheets.ink.records import Path
from sheets.job.read import place_job
from sheets.pages import title as words
from tests.pages.jobs import Caught, sample, sample_sheets

FACES = ("godwit", "greenshank", "avocet", "lapwing")
every_face = pytest.mark.parametrize("name", FACES)


def the_face(name: str) -> Caught:
    return next(
        each
        for each in sample_sheets(name, sample(name).paper.view, sample(name).paper.size)
        if each.sheet.kind == "face"
    )


def leaders(caught: Caught) -> list[shapely.LineString]:
    """Return the leaders to the column of names: two legs, the second of them level."""
    found: list[list[tuple[float, float]]] = []
    for path in caught.sheet.records:
        if isinstance(path, Path) and path.layer == "lettering" and path.style.cap != "round":
            for command in path.commands:
                if command[0] == "M":
                    found.append([])
                found[-1].append((command[-2], command[-1]))  # type: ignore[arg-type]
    return [shapely.LineString(line) for line in found if len(line) == 3 and line[1][1] == line[2][1]]


@every_face
def test_each_body_has_one_name_and_no_leader_crosses_another(name: str) -> None:
    caught = the_face(name)
    lines = leaders(caught)
    # Tube, holes' middle line, dropout and disc: more than these made a knot.
    assert len(lines) == 4
    assert not any(one.intersects(two) for one, two in itertools.combinations(lines, 2))
    column = [line for line in lines if abs(line.coords[0][1] - line.coords[-1][1]) < 6.5]
    assert column == lines, "a name stands far from its line"


@every_face
def test_the_inset_says_that_it_is_enlarged_and_is_so(name: str) -> None:
    caught = the_face(name)
    inset = [line for line in caught.lettered if line.layer == "inset"]
    (times,) = (
        float(found[1])
        for line in inset
        if (found := re.fullmatch(r"Sideways, (\d) times enlarged", line.text))
    )
    assert times >= 2.0
    placement = place_job(caught.job)
    rotor = placement.rotor
    assert rotor.inner_face_z is not None and rotor.outer_face_z is not None
    levels = [0.0, placement.lateral_z, rotor.inner_face_z, rotor.outer_face_z]
    levels += [placement.datum_shift] if placement.datum_shift else []
    assert {words.signed(z) for z in levels} <= {line.text for line in inset}
    drawn = {
        round(command[2], 6)
        for path in caught.sheet.records
        if isinstance(path, Path) and path.layer == "inset" and path.style.cap != "round"
        for command in path.commands
        if command[0] == "M"
    }
    low = min(levels)
    # The frame's foot lies lowest, the lowest plane next, or the frame's own line would be taken for one.
    starts = sorted(drawn)
    zero = next(y - times * low for y in starts[1:])
    assert all(any(abs(zero + times * z - y) < 1e-6 for y in starts) for z in levels)


def test_what_is_pricked_is_the_boldest_line() -> None:
    sheet = the_face("godwit").sheet
    width = {path.name: path.style.width for path in sheet.records if isinstance(path, Path) and path.name}
    assert width["hole near"] == width["hole far"] == 0.5
    assert width["dropout inner face"] == width["fork-leg edge, outboard"] == 0.35
    assert width["boss near"] == width["disc, inner face"] == 0.18
    strokes = {
        path.style.width for path in sheet.records if isinstance(path, Path) and path.style.cap != "round"
    }
    assert strokes - {0.0} == {0.5, 0.35, 0.18}
