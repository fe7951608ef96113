"""What a reader found on one page: straight and curved pieces, joined into subpaths, as numpy tables.

All lengths are mm from the page's lower-left corner, y up. The tables are built once a page, so that
measuring a feature looks up a few candidates and does not walk through thousands of pieces.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from geometry.core.frozen import dataclass

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Bools = NDArray[np.bool_]

MOVE, LINE, CURVE = 0, 1, 2
GAP = 0.001
"""Ends nearer than this, in mm, are one point: a file's own rounding opens no gap."""

_STEPS = np.linspace(0.0, 1.0, 9)[:, None]
_BLEND = np.hstack((
    (1 - _STEPS) ** 3, 3 * (1 - _STEPS) ** 2 * _STEPS, 3 * (1 - _STEPS) * _STEPS**2, _STEPS**3
))  # fmt: skip


@dataclass(frozen=True, slots=True)
class RawPath:
    """One path with ink, as read: points (n, 2), the kind of each, and whether the subpath closes after it.

    A curve is three points: two controls and its end. `reach` is half the stroke's width.
    """

    points: Floats
    kinds: NDArray[np.int8]
    closes: Bools
    reach: float


@dataclass(frozen=True, slots=True)
class ReadLine:
    """A line of type as read: its text, its type size in mm, and how it lies on the page.

    `places` (3, 2), mm, are where its first character stands, where its last does, and what lies one type
    size above the first.
    """

    text: str
    size: float
    places: Floats


@dataclass(frozen=True, slots=True)
class ReadPage:
    """One page as read back.

    `boxes` holds (name, left, bottom, right, top) of each box that limits the page. `corners` (n, 4, 2) are
    a piece's start, two controls and end, the controls of a straight one lying on it; `curved` tells which,
    `subpath` to which subpath it belongs, `reach` half its stroke. Subpath i has the pieces `first[i]` up to,
    not including, `first[i + 1]`, and comes back to its start where `closed[i]`. `blocks` holds (left,
    bottom, right, top) of ink that is not a path, `lines` are what of it is type.
    """

    boxes: tuple[tuple[str, float, float, float, float], ...]
    corners: Floats
    curved: Bools
    subpath: Ints
    reach: Floats
    first: Ints
    closed: Bools
    blocks: Floats
    lines: tuple[ReadLine, ...] = ()

    def sample(self, start: int, stop: int) -> Floats:
        """Return nine points along each of the pieces `start` up to, not including, `stop`: (n, 2)."""
        points: Floats = (_BLEND @ self.corners[start:stop]).reshape(-1, 2)
        return points


def read_page(
    boxes: Sequence[tuple[str, float, float, float, float]],
    paths: Sequence[RawPath],
    blocks: Sequence[tuple[float, float, float, float]] = (),
    typed: Sequence[ReadLine] = (),
) -> ReadPage:
    """Return the tables of one page's paths, and the boxes of its other ink with the type among it."""
    points = np.concatenate([path.points for path in paths] or [np.empty((0, 2))])
    kinds = np.concatenate([path.kinds for path in paths] or [np.empty(0, np.int8)])
    closes = np.concatenate([path.closes for path in paths] or [np.empty(0, bool)])
    reach = np.repeat([path.reach for path in paths] or [0.0], [len(path.points) for path in paths] or [0])

    ends, corners, curved = _drawn(points, kinds)
    owner = np.cumsum(kinds == MOVE) - 1
    subpath = owner[ends]
    # A closing line that has some length is a piece like any other; it follows its subpath's last piece.
    last = np.flatnonzero(np.append(subpath[1:] != subpath[:-1], True)) if len(ends) else np.empty(0, int)
    starts = points[kinds == MOVE][subpath[last]]
    flagged = np.zeros(len(last), bool)
    flagged[np.searchsorted(subpath[last], np.intersect1d(owner[closes], subpath[last]))] = True
    gaps = np.hypot(*(corners[last, 3] - starts).T) > GAP
    lines = flagged & gaps
    corners = np.insert(corners, last[lines] + 1, _straight(corners[last[lines], 3], starts[lines]), axis=0)
    curved = np.insert(curved, last[lines] + 1, False)
    reach = np.insert(reach[ends], last[lines] + 1, reach[ends[last[lines]]])
    subpath = np.insert(subpath, last[lines] + 1, subpath[last[lines]])

    first = np.flatnonzero(np.append(True, subpath[1:] != subpath[:-1])) if len(subpath) else np.empty(0, int)
    return ReadPage(
        boxes=tuple(boxes),
        corners=corners,
        curved=curved,
        subpath=np.repeat(np.arange(len(first)), np.diff(np.append(first, len(subpath)))),
        reach=reach,
        first=np.append(first, len(subpath)),
        closed=flagged | ~gaps,
        blocks=np.array(blocks, float).reshape(-1, 4),
        lines=tuple(typed),
    )


def _drawn(points: Floats, kinds: NDArray[np.int8]) -> tuple[Ints, Floats, Bools]:
    """Return, of each line and curve, the index of its end, its corners and whether it is a curve."""
    lines = np.flatnonzero(kinds == LINE)
    curves = np.flatnonzero(kinds == CURVE).reshape(-1, 3)
    ends = np.concatenate((lines, curves[:, 2]))
    straight = _straight(points[lines - 1], points[lines])
    bent = points[np.hstack((curves[:, :1] - 1, curves))]
    order = np.argsort(ends, kind="stable")
    curved = np.arange(len(ends)) >= len(lines)
    return ends[order], np.concatenate((straight, bent))[order], curved[order]


def _straight(start: Floats, end: Floats) -> Floats:
    third = (end - start) / 3
    return np.stack((start, start + third, end - third, end), axis=1)
