"""The features that a manifest tells of its pages, each with the point from which its place is to be read.

How much is written on a sheet says where its drawing begins, where a tube's wrap lies, and on which page:
none of that is a size. A full-size view is read from the axle, what is cut out of a page of wraps from a
corner of its own. A figure that is as large as its page has room for is left out: nobody measures by it, and
its sizes come of numbers that the other features tell.
"""

from collections.abc import Mapping, Sequence
from typing import Any

from geometry.core.frozen import dataclass

Point = tuple[float, float]

_LEFT = ", left edge"
_EDGES = ("left edge", "lower edge", "upper edge", "seam")
_PATTERNS = ("inner face", "outer face")
_FIGURE = "lower end,"
"""In the names of lines of a figure, which is as large as its page has room for (pages/wraps/foot.py)."""
_NEAR = 0.5
"""As far past the edges of its wrap, mm, a feature may reach and be on it."""


@dataclass(frozen=True, slots=True)
class Seen:
    """A feature as the manifest has it, and the point of its page that its place is read from, mm."""

    feature: Mapping[str, Any]
    origin: Point


def sheets(found: Sequence[Mapping[str, Any]]) -> dict[str, dict[str, Seen]]:
    """Return the features of each kind of sheet by name, over all its pages.

    Where pages of a kind have features of one name (a view for each mount, tiles), each page stands for
    itself, numbered.
    """
    by_kind: dict[str, list[Mapping[str, Any]]] = {}
    for page in found:
        by_kind.setdefault(page["sheet"], []).append(page)
    named: dict[str, dict[str, Seen]] = {}
    for kind, pages in by_kind.items():
        each = [_features(page) for page in pages]
        own = [{name for name in one if not name.startswith(("bar ", "card ", "diagonal"))} for one in each]
        if len(set().union(*own)) == sum(map(len, own)):
            named[kind] = {name: seen for one in each for name, seen in one.items()}
        else:
            named |= {f"{kind} {number}": one for number, one in enumerate(each, 1)}
    return named


def _features(page: Mapping[str, Any]) -> dict[str, Seen]:
    features = {feature["name"]: feature for feature in page["features"]}
    wraps = [_wrap(features, name.removesuffix(_LEFT)) for name in features if name.endswith(_LEFT)]
    corners: dict[str, Point] = {}
    seen = {}
    for name, feature in features.items():
        if _FIGURE in name:
            continue
        at = _points(feature)[0]
        origin: Point = tuple(page["axle"])
        if around := next((wrap for wrap in wraps if wrap.holds(at)), None):
            origin = around.corner
        elif face := next((face for face in _PATTERNS if name.startswith("tab") and face in name), None):
            # A tab's two patterns are cut out each by itself, and neither is as long as its edges tell.
            origin = corners.setdefault(face, at)
        seen[name] = Seen(feature, origin)
    return seen


@dataclass(frozen=True, slots=True)
class _Wrap:
    corner: Point
    low: Point
    high: Point

    def holds(self, at: Point) -> bool:
        return all(a - _NEAR <= b <= c + _NEAR for a, b, c in zip(self.low, at, self.high, strict=True))


def _wrap(features: Mapping[str, Mapping[str, Any]], name: str) -> _Wrap:
    points = [at for edge in _EDGES for at in _points(features[f"{name}, {edge}"])]
    across, up = zip(*points, strict=True)
    return _Wrap(points[0], (min(across), min(up)), (max(across), max(up)))


def _points(feature: Mapping[str, Any]) -> list[Point]:
    """Return the points of the page that a feature is told by, an arc by its centre."""
    if "points" in feature:
        return [(x, y) for x, y in feature["points"]]
    named = (feature["centre"],) if "diameter" in feature else (feature["from"], feature["to"])
    return [(x, y) for x, y in named]
