"""The arithmetic of the axes done over again, in complex numbers, sharing nothing with the package.

The side view is the complex plane, x rearward along the real axis, y up along the imaginary one. Lengths
are mm. Where a number is not own arithmetic, its source is named beside it.
"""

import cmath
import math
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from tests.geometry.test_interfaces import HOLES, SHIPPED

Floats = NDArray[np.float64]

# (near radius, far radius, spacing) of the 51 mm tabs: a dimensioned drawing of both (Art's
# Cyclery, Rubber Side Down: Disc Brake Adapters, diagram 2, 2014-12-22) and officinerecycle.com's page agree.
TABS = {"is-rear": (39.9, 78.1, 51.0), "is-front": (49.7, 87.3, 51.0)}
# Post at 160: peterverdone.com (the formula printed there, decoded); 74.2: mtb-news.de thread 994178.
POST = (55.9, 6.8, 74.2)
# Rows whose places are published size by size, (face height, near hole, far hole): exact as they are
# published, where tests/geometry/test_interfaces.py has them with their sources, as all that follows.
SIZES = {(name, size): (h, near, far) for name, _, size, h, near, far, *_ in SHIPPED}
# Sideways from the datum face, and each end that a row is for.
LATERAL = {(name, end): lateral for name, end, *_, lateral, _ in SHIPPED}
DRILL = {name: hole for name, _, _, _, _, hole, *_ in HOLES}
SLOT = {name: length for name, _, _, _, _, _, length, *_ in HOLES if length is not None}
FAMILY = {name: family for name, _, family, *_ in HOLES}
SCREW = {name: screw for name, _, _, screw, *_ in HOLES}
NATIVE = {name: size for name, _, size, *_ in SHIPPED if sum(each[0] == name for each in SHIPPED) == 1}
# Pocket depths (common practice; trekmountain.typepad.com 2009 for 3.5) and hub end to disc
# (peterverdone.com, Clearing up FM140; forum.cruzbike.com thread 11450 for the front).
POCKET = {"135-qr": 0.0, "142x12": 3.5, "148x12": 3.5, "100-qr": 0.0, "100x12": 2.0, "100x15": 3.0}
POCKET |= {"110x15": 3.0}
HUB_TO_DISC = {"135-qr": 15.25, "142x12": 15.25 + 3.5, "148x12": 15.25 + 3.5}
HUB_TO_DISC |= dict.fromkeys(("100-qr", "100x12", "100x15", "110x15"), 10.5)
DISC_THICK, TRACK = 1.8, 16.0  # velonews.com, 2011-10, road.cc; o-l-a-v.github.io


class Mount(NamedTuple):
    """Where a mount sits: `t` up the host tube, `n` square to it, both with the tilt; `t0` without."""

    row: str
    t0: complex
    t: complex
    n: complex
    h: float
    x: tuple[float, float]
    z: float
    datum: float
    disc: tuple[float, float]
    """Inner and outer face of the disc, z."""
    radius: float

    @property
    def holes(self) -> tuple[complex, complex]:
        """Return both hole centres in the side view."""
        return self.h * self.n + self.x[0] * self.t, self.h * self.n + self.x[1] * self.t


def mount(job: dict[str, Any]) -> Mount:
    """Return where the mount of a job, as the manifest repeats it, has to sit."""
    wanted, axle = job["mount"], job["axle"]
    row, end, rotor = wanted["interface"], wanted["end"], wanted["rotor"]
    host = wanted.get("host", "fork-leg")
    native = wanted.get("native", NATIVE.get(row, rotor))
    t0 = direction(host, job)
    t = t0 * cmath.exp(1j * math.radians(wanted.get("tilt", 0.0)))
    own = job.get("interface", {})
    if "near" in own:
        h, near, spacing = triangle(own["near"], own["far"], own["spacing"])
    elif row in TABS:
        h, near, spacing = triangle(*TABS[row])
    elif row == "post":
        # Every 20 mm of disc move the posts 10 mm, at 60 degrees to their line.
        step = 10.0 * (native - 160.0) / 20.0 * cmath.exp(1j * math.radians(60.0))
        h, near, spacing = POST[0] + step.imag, POST[1] + step.real, POST[2]
    else:
        h, near, far = SIZES[row, native]
        spacing = far - near
    pocket = axle.get("pocket", POCKET[axle["system"]])
    datum = pocket if end == "front" else 0.0
    inner = pocket - HUB_TO_DISC[axle["system"]]
    return Mount(
        row,
        t0,
        t,
        t * -1j,
        h,
        (near, near + spacing),
        datum + own.get("lateral", LATERAL[row, end]),
        datum,
        (inner, inner + DISC_THICK),
        rotor / 2.0,
    )


def triangle(near: float, far: float, spacing: float) -> tuple[float, float, float]:
    """Return height, foot to near hole and spacing, by the law of cosines for the angle at the near hole."""
    cosine = (near**2 + spacing**2 - far**2) / (2.0 * near * spacing)
    angle = math.acos(cosine)
    return near * math.sin(angle), -near * math.cos(angle), spacing


def direction(host: str, job: dict[str, Any]) -> complex:
    """Return the host tube's direction up from the axle."""
    if host == "seatstay":
        return -cmath.exp(-1j * math.radians(job["tubes"]["seatstay"]["included"]))
    return {"chainstay": -1.0 + 0.0j, "fork-leg": 1.0j}[host]


class Skin:
    """A tube's outside as a cloud: every s asked for, all round."""

    ROUND = np.linspace(0.0, 2.0 * math.pi, 3601)

    def __init__(self, name: str, table: dict[str, Any], t0: complex) -> None:
        self.t0, self.n0 = t0, t0 * -1j
        rows = [(row[0], row[1], row[-1]) for row in table["diameters"]]
        if len(rows) == 1:
            rows.append((table.get("straight_to", rows[0][0] + 400.0), *rows[0][1:]))
        self.stations = np.array(rows, float)
        self.offset, self.outset = table.get("offset", 0.0), table.get("outset", 0.0)
        self.splay = math.radians(table.get("splay", 0.0))
        self.first = self.stations[0, 0]
        self.last = min(self.stations[-1, 0], table.get("straight_to", math.inf))

    def centre(self, s: float | Floats) -> Floats:
        """Return the centre line's points (n, 3)."""
        s = np.atleast_1d(np.asarray(s, float))
        side = self.offset * self.n0 + s * self.t0
        return np.column_stack([side.real, side.imag, self.outset - s * math.tan(self.splay)])

    def silhouette(self, look: Floats, along: Floats, across: Floats, at: Floats) -> tuple[Floats, Floats]:
        """Return the least and greatest reach `across` of the tube seen along `look`, at places `along`.

        All three are unit vectors square to each other. The tube's end stretches are taken as going on.
        """
        assert abs(look @ along) < 1e-9
        assert abs(look @ across) < 1e-9
        height = np.array([self.n0.real, self.n0.imag, 0.0])
        axis = np.array([self.t0.real, self.t0.imag, -math.tan(self.splay)])
        breadth = np.cross(axis / np.linalg.norm(axis), height)
        lowest, highest = [], []
        for place in at:
            # Which s brings each point of the round to this place; a taper is gentle, so it settles at once.
            s = np.full(len(self.ROUND), (place - self.centre(0.0)[0] @ along) / (axis @ along))
            for _ in range(8):
                a, b = (self._half(s, column) for column in (1, 2))
                aside = a[:, None] * np.cos(self.ROUND)[:, None] * height
                aside = aside + b[:, None] * np.sin(self.ROUND)[:, None] * breadth
                s = (place - self.centre(0.0)[0] @ along - aside @ along) / (axis @ along)
            reach = (self.centre(s) + aside) @ across
            lowest.append(reach.min())
            highest.append(reach.max())
        return np.array(lowest), np.array(highest)

    def crest(self, at: list[float]) -> tuple[Floats, Floats]:
        """Return the least and greatest z of the tube at places along its side view."""
        t0, n0 = (np.array([way.real, way.imag, 0.0]) for way in (self.t0, self.n0))
        return self.silhouette(n0, t0, np.array([0.0, 0.0, 1.0]), np.array(at))

    def _half(self, s: Floats, column: int) -> Floats:
        at, size = self.stations[:, 0], self.stations[:, column]
        piece = np.clip(np.searchsorted(at, s) - 1, 0, len(at) - 2)
        share = (s - at[piece]) / (at[piece + 1] - at[piece])
        half: Floats = (size[piece] + share * (size[piece + 1] - size[piece])) / 2.0
        return half
