"""Checks between rows, that no text makes: what two rows, or a row and a text about it, must have in common.

A number that is copied wrongly stands alone; set beside another row it gives a length that cannot be. Tests
run these checks, `dropleaf mounts` prints them. Lengths mm, angles degrees.
"""

import cmath
import functools
import itertools
import math
from collections.abc import Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Literal

from geometry.core.frozen import dataclass
from geometry.core.say import Say, say
from geometry.core.tables import Number, table
from geometry.tables.axles import axle
from geometry.tables.fasteners import screw
from geometry.tables.interface_rows import Row, SecondSet
from geometry.tables.interfaces import place

HUBS: Mapping[str, str] = {"rear": "135-qr", "front": "100-qr"}
"""The hubs whose disc is told from both ends alike."""
Unit = Literal["mm", "deg", "ratio"]
Rows = Mapping[str, Row]
Seconds = Mapping[str, SecondSet]


@dataclass(frozen=True, slots=True)
class RowCheck:
    """One check: what `rows` give together, and must give within `tolerance`; `at` is the disc size.

    What is expected has its grade and source. `settles` is False where it was derived from the rows
    themselves, so that it shows them alike and not right.
    """

    code: str
    rows: tuple[str, ...]
    expected: float
    found: float
    tolerance: float
    grade: str
    source: Say | str
    unit: Unit = "mm"
    at: float | None = None
    settles: bool = True

    @property
    def state(self) -> Literal["holds", "disagrees"]:
        """Tell whether the rows agree."""
        # A hundred-thousandth is rounding.
        return "holds" if abs(self.found - self.expected) <= self.tolerance + 1e-5 else "disagrees"

    @property
    def key(self) -> tuple[str, tuple[str, ...], float | None]:
        """Return what tells checks apart."""
        return self.code, self.rows, self.at

    @property
    def name(self) -> Say:
        """Return what is checked."""
        return say(f"row_check.name.{self.code.replace('-', '_')}")


@functools.cache
def expectations() -> dict[str, Number]:
    """Return what the checks expect by name: "tab.angle" is angle in [tab] of row_checks.toml."""
    own = table(Path(__file__).with_name("row_checks.toml"))
    parts = (part for part in own.raw if part != "sources")
    return {f"{part}.{key}": each for part in parts for key, each in own.numbers(part).items()}


def made(
    code: str,
    rows: tuple[str, ...],
    found: float,
    wanted: Number,
    *,
    unit: Unit = "mm",
    at: float | None = None,
    within: Number | None = None,
) -> RowCheck:
    """Return a check against a number, within its own tolerance or another's; one without allows nothing."""
    off = (wanted if within is None else within).tolerance or 0.0
    return RowCheck(code, rows, wanted.value, found, off, wanted.grade, wanted.source, unit, at)


def closures(rows: Rows, seconds: Seconds) -> tuple[RowCheck, ...]:
    """Return every check between these rows; raise TableError where a tab's radii close no triangle."""
    found: list[RowCheck] = []
    if {"is-rear", "is-front"} <= rows.keys():
        found += _tabs(rows["is-rear"], rows["is-front"])
        if "post" in rows:
            found += _adapter(rows["is-rear"], rows["is-front"], rows["post"])
    for row in rows.values():
        found += [*_spacing(row), *_hole(row), *_boss(row), *_sizes(row)]
        if row.name in seconds:
            found += _second(row, seconds[row.name])
    found += [*_sides(rows), *_across(rows), *_one_text(rows)]
    return tuple(found)


def _tabs(rear: Row, front: Row) -> Iterator[RowCheck]:
    want = expectations()
    (h, near, far), (up, first, last) = place(rear, rear.sizes[0]), place(front, front.sizes[0])
    between = math.degrees(math.atan2(up, first) - math.atan2(up, last))
    yield made("tab-angle", (front.name,), between, want["tab.angle"], unit="deg")
    ratio = math.hypot(h, far) / math.hypot(h, near)
    yield made("tab-scale", (rear.name,), ratio, want["tab.scale"], unit="ratio")
    both = rear.name, front.name
    step = complex(first - near, up - h)
    yield made("tab-step", both, abs(step), want["tab.step"])
    yield made("tab-way", both, math.degrees(cmath.phase(step)), want["tab.way"], unit="deg")
    yield made("tab-alike", both, (last - first) - (far - near), want["tab.alike"])


def _across(rows: Rows) -> Iterator[RowCheck]:
    """Yield whether tabs lie sideways where a second text has them, and where an adapter asks for them."""
    want, firsts = expectations(), _firsts(rows)
    for (family, end), row in firsts.items():
        if family != "tab":
            continue
        lateral = row.lateral[end]
        yield made(f"tab-{end}", (row.name,), lateral.number.value, want[f"boss.{end}"])
        if end == "front":
            yield made("tab-bike", (row.name,), lateral.number.value, want["boss.bike"])
        post = firsts.get(("post", end))
        if post is not None:
            off = lateral.number.value - post.lateral[end].number.value
            yield made(f"adapter-side-{end}", (row.name, post.name), off, want["boss.line"])


def _firsts(rows: Rows) -> dict[tuple[str, str], Row]:
    """Return the row that a family's calipers and adapters are made for at each end: its first (see `first`).

    A later one takes a caliper of its own, of which no text says anything.
    """
    found: dict[tuple[str, str], Row] = {}
    for row in rows.values():
        for end in row.lateral:
            found.setdefault((row.family, end), row)
    return found


def _one_text(rows: Rows) -> Iterator[RowCheck]:
    """Yield whether rows agree in what one text gives for both: a slip in copying stands in one of them."""
    known: dict[tuple[str, str], tuple[str, float]] = {}
    for row in rows.values():
        for key, number in row.boss.items():
            first, value = known.setdefault((key, str(number.source)), (row.name, number.value))
            if first != row.name:
                names, off = (first, row.name), number.value - value
                yield made(f"one-text-{key}", names, off, expectations()["boss.text"])


def _adapter(rear: Row, front: Row, post: Row) -> Iterator[RowCheck]:
    """Yield how far one adapter's post holes miss that goes from the rear tab, and from the front one."""
    turn = expectations()["post.turn"]
    by = cmath.exp(-1j * math.radians(turn.value))
    holes = []
    for tab in (rear, front):
        _, near, _ = place(tab, tab.sizes[0])
        low, first, last = place(post, tab.sizes[0])
        up = place(tab, tab.sizes[0])[0]
        holes.append([by * complex(x, low) - complex(near, up) for x in (first, last)])
    for code, one, other in zip(("adapter-near", "adapter-far"), *holes, strict=True):
        names = rear.name, front.name, post.name
        yield made(code, names, abs(other - one), replace(turn, value=0.0))


def _spacing(row: Row) -> Iterator[RowCheck]:
    want = expectations()
    number = want.get(f"spacing.{row.name}")
    if number is not None:
        _, near, far = place(row, row.sizes[0])
        yield made("spacing", (row.name,), far - near, number)


def _hole(row: Row) -> Iterator[RowCheck]:
    """Yield whether the row's screw fits the row's hole: neither a slip of the hole nor of the screw does."""
    one, hole = screw(row.hole.screw), row.hole
    if hole.kind == "thread":
        within = expectations()["hole.tap"]
        yield made("hole-thread", (row.name,), hole.diameter.value, one.tap_drill, within=within)
        return
    most = one.clearance["fine" if hole.kind == "plain" else "coarse"]
    middle, half = (one.diameter + most.value) / 2.0, (most.value - one.diameter) / 2.0
    code = f"hole-{hole.kind}"
    yield RowCheck(code, (row.name,), middle, hole.diameter.value, half, most.grade, most.source)
    if hole.length is not None:
        play = (hole.length - hole.diameter.value) / 2.0
        yield made("slot-across", (row.name,), play, expectations()["hole.across"])


def _boss(row: Row) -> Iterator[RowCheck]:
    want = expectations()
    end = row.boss.get("end_radius")
    if end is not None:
        washer = screw(row.hole.screw).washer.outside
        half = replace(washer, value=washer.value / 2.0)
        yield made("tab-end", (row.name,), end.value, half, within=want["boss.washer"])
    # A rear flat mount's screw goes through the stay, and is made for its thickness.
    long = row.boss.get("length")
    if row.screw == "+n" and long is not None:
        step = want["boss.stay"]
        nearest = replace(step, value=step.value * round(long.value / step.value))
        yield made("stay-step", (row.name,), long.value, nearest)


def _sizes(row: Row) -> Iterator[RowCheck]:
    """Yield how a row's own native sizes lie to each other."""
    want, half = expectations(), expectations()["post.half"].value
    sizes = sorted(row.sizes)
    if not row.at or len(sizes) < 2:
        return
    places = [place(row, size)[:2] for size in sizes]
    # One plate serves both sizes of a front flat mount; every other caliper follows the disc's edge.
    if row.family == "flat" and row.ends == ("front",):
        for size, (up, near) in zip(sizes[1:], places[1:], strict=True):
            apart = math.hypot(up - places[0][0], near - places[0][1])
            yield made("plate-turned", (row.name,), apart, want["flat.turned"], at=size)
        return
    for (low, first), (high, second) in itertools.pairwise(zip(sizes, places, strict=True)):
        step = math.hypot(second[0] - first[0], second[1] - first[1])
        even = replace(want["flat.even"], value=half * (high - low))
        yield made("size-step", (row.name,), step, even, at=high)
    for number, code in ((0, "even-height"), (1, "even-along")):
        for k in range(1, len(sizes) - 1):
            share = (sizes[k] - sizes[k - 1]) / (sizes[k + 1] - sizes[k - 1])
            line = (1.0 - share) * places[k - 1][number] + share * places[k + 1][number]
            yield made(code, (row.name,), places[k][number] - line, want["flat.even"], at=sizes[k])


def _second(row: Row, other: SecondSet) -> Iterator[RowCheck]:
    """Yield whether a second set's radii lie on its straight path through the place that both sets share."""
    if row.path is None:
        return
    want, half = expectations(), expectations()["post.half"].value
    up, near, _ = place(row, row.path.native)
    way = math.radians(other.angle.value)
    for size, radius in other.near_radius.items():
        far = half * (float(size) - row.path.native)
        found = math.hypot(up + far * math.sin(way), near + far * math.cos(way))
        yield made("second-radius", (row.name,), found, radius, at=float(size), within=want["post.set"])


def _sides(rows: Rows) -> Iterator[RowCheck]:
    """Yield how far front and rear of each family differ sideways from the disc's inner face."""
    out: dict[str, dict[str, tuple[str, float]]] = {}
    for (family, end), row in _firsts(rows).items():
        hub = axle(HUBS[end])
        if hub.rotor is not None:
            # At the rear the datum is the dropout's inner face, at the front the hub end's seat; a
            # quick-release end has no pocket, so that both are one.
            away = row.lateral[end].number.value + hub.rotor.value
            out.setdefault(family, {})[end] = row.name, away
    for family, ends in out.items():
        if {"rear", "front"} <= ends.keys():
            (first, rear), (last, front) = ends["rear"], ends["front"]
            names = tuple(dict.fromkeys((first, last)))
            yield made(f"sides-{family}", names, rear - front, expectations()[f"sides.{family}"])
