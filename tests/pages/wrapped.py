"""Wraps as they are drawn, with what was lettered on them; and tubes and bosses by formulas of their own."""

import functools
import math
from typing import Any, NamedTuple
from unittest.mock import patch

import numpy as np

from geometry.mount.placement import Placement
from sheets.ink.drawing import Drawing
from sheets.ink.marks import label, strokes
from sheets.ink.placing import text_box
from sheets.ink.records import Curve, Part, Point
from sheets.job.read import Job, parse, place_job, tubes_of
from sheets.pages import frame
from sheets.pages.wraps.sheet import Wraps, wraps
from sheets.setup.setup import set_up
from tests.pages.arithmetic import Floats, direction
from tests.pages.jobs import SAMPLES, Caught, Lettered, every_mount

Z = np.array([0.0, 0.0, 1.0])


class Heard(Drawing):
    """A drawing that notes every line lettered on it."""

    def __init__(self) -> None:
        super().__init__()
        self.lettered: list[Lettered] = []

    def letter(
        self,
        text: str,
        at: Point,
        height: float,
        anchor: float = 0.0,
        turn: float = 0.0,
        layer: str = "lettering",
        part: Part = (),
    ) -> None:
        super().letter(text, at, height, anchor, turn, layer, part)
        box = text_box(text, at, height, anchor, turn)
        self.lettered.append(
            Lettered(text, height, layer, box, strokes(label(text, at, height, anchor, turn)))
        )


class Drawn(NamedTuple):
    """The wraps of a job with what was lettered on them."""

    job: Job
    wraps: Wraps
    caught: tuple[Caught, ...]

    @property
    def curves(self) -> dict[str, Curve]:
        """Return every curve of strips and patterns by its name; no name may stand twice."""
        every = [each for sheet in self.wraps.sheets for each in sheet.features if isinstance(each, Curve)]
        # What is only looked at lies on no body: see test_foot.py.
        found = [each for each in every if " lower end, " not in each.name]
        named = {each.name: each for each in found}
        assert len(named) == len(found)
        return named

    @property
    def texts(self) -> list[str]:
        """Return every line lettered on the sheets."""
        return [line.text for caught in self.caught for line in caught.lettered]


@functools.lru_cache(maxsize=len(SAMPLES) + 1)
def drawn(job: Job) -> Drawn:
    """Return a job's wraps, drawn once for all the laws that one file holds them to."""
    drawings: list[Heard] = []

    def noted() -> Heard:
        drawings.append(Heard())
        return drawings[-1]

    placement, tubes = place_job(job), tubes_of(job)
    setup = set_up(job, placement, tubes)
    with patch.object(frame, "Drawing", noted):
        made = wraps(job, placement, tubes, setup)
    of = {each.records(): each for each in drawings}
    caught = tuple(Caught(job, sheet, tuple(of[sheet.records].lettered)) for sheet in made.sheets)
    return Drawn(job, made, caught)


def mount(name: str, **changes: dict[str, Any]) -> Job:
    """Return a plain job of a mount of the table, with tables changed."""
    document = every_mount()[name]
    return parse({key: {**document.get(key, {}), **changes.get(key, {})} for key in {**document, **changes}})


def stay(stations: list[list[float]], **more: float) -> dict[str, Any]:
    return {"chainstay": {"diameters": stations, "outset": -1.0, "splay": 0.0} | more}


class Skin:
    """A tube's outside: `off` is how far points lie off it, and `turned` where they lie round it."""

    def __init__(self, name: str, job: Job) -> None:
        table = job.tubes.given()[name]  # type: ignore[index]
        t0 = direction(name, job.model_dump(by_alias=True))
        n0 = t0 * -1j
        self.up = np.array([t0.real, t0.imag, -math.tan(math.radians(table.splay))])
        self.axis = self.up / np.linalg.norm(self.up)
        self.side = np.array([n0.real, n0.imag, 0.0])
        self.across = np.cross(self.axis, self.side)
        self.base = table.offset * self.side + table.outset * Z
        rows = [(row[0], row[1] / 2.0, row[-1] / 2.0) for row in table.diameters]
        self.s, self.a, self.b = (np.array(column) for column in zip(*rows, strict=True))

    def parts(self, points: Floats) -> tuple[Floats, Floats, Floats, Floats, Floats]:
        """Return s, offsets to the mount side and across, and the half axes there."""
        away = points - self.base
        s = away @ self.axis / np.linalg.norm(self.up)
        a, b = np.interp(s, self.s, self.a), np.interp(s, self.s, self.b)
        return s, away @ self.side, away @ self.across, a, b

    def off(self, points: Floats) -> Floats:
        _, u, w, a, b = self.parts(points)
        share = np.hypot(u / a, w / b)
        off: Floats = np.abs(share - 1.0) * np.minimum(a, b)
        return off

    def turned(self, points: Floats) -> tuple[Floats, Floats]:
        """Return the turn from the mount side, inboard first, and the distance along the tube."""
        s, u, w, a, b = self.parts(points)
        return np.unwrap(np.arctan2(w / b, u / a)), s * np.linalg.norm(self.up)


def off_boss(points: Floats, job: Job, placement: Placement, which: str) -> Floats:
    """Return how far points lie off the outside of a boss."""
    x = {"near": placement.interface.x_near, "far": placement.interface.x_far}[which]
    foot = np.array([*(x * np.array(placement.t)), placement.lateral_z])
    along = np.array([*placement.n, 0.0])
    away = points - foot
    away = away - (away @ along)[:, None] * along
    diameter = job.boss.diameter
    assert diameter is not None
    off: Floats = np.abs(np.linalg.norm(away, axis=1) - diameter / 2.0)
    return off


def space(curve: Curve) -> Floats:
    assert len(curve.space) == len(curve.points)
    return np.array(curve.space)
