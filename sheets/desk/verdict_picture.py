"""A survey as pictures: the mount as drawn, dashed, and as found, its errors many times as large as they are.

Three views, each an SVG of its own so that they stand one below the other where the screen is narrow: from
outboard, from behind, and from above. Lengths are mm of the mount; the tube runs to the left, as on the
measuring sheet. What was not measured is not drawn as found. Only classes tell colours, never a style.
"""

import math
from collections.abc import Sequence
from typing import Literal
from xml.etree.ElementTree import Element, SubElement, tostring

from geometry.survey.limits import State
from geometry.survey.model import LEAN_BASE
from geometry.survey.survey import HoleFound, Miss, Survey
from sheets.desk.shown import Made
from sheets.words.tell import tell

_WIDE, _HIGH, _MARGIN = 100.0, 72.0, 12.0
_LETTER = 4.6
_FACTORS = (100, 50, 20, 10, 5, 2, 1)
"""How many times as large errors are drawn: the largest that keeps them all on the picture."""
_ROOM = 9.0
"""How far anything may then be drawn from where it should be, in units of a picture."""
_TALL = 26.0
"""Height of a mount seen from behind, as drawn, mm."""
_STATES: tuple[State, ...] = ("beyond", "unsure", "within")
_Point = tuple[float, float]


def pictures(found: Survey) -> tuple[Made, ...]:
    """Return the views of a survey as SVGs to stand in a page."""
    factor = larger(found)
    views = (_outboard(found, factor), _behind(found, factor), _above(found, factor))
    return tuple(Made(tostring(view, encoding="unicode")) for view in views)


def larger(found: Survey) -> int:
    """Return how many times as large as they are the errors of a survey are drawn."""
    off = [math.dist(hole.found, hole.wanted) * _scale(found) for hole in found.holes if hole.found]
    off += [abs(each) for each in (*_sideways(found), _error(found, "lateral"), _lean(found) * _TALL) if each]
    # How surely a hole is known may reach further, as long as it stays on the picture.
    off += [hole.ellipse.long * _scale(found) / 2.5 for hole in found.holes if hole.ellipse]
    most = max(off, default=0.0)
    return next((each for each in _FACTORS if most * each <= _ROOM), 1)


def _error(found: Survey, key: str) -> float | None:
    each = found.miss(key)
    return None if each is None else each.error


def _sideways(found: Survey) -> tuple[float | None, float | None]:
    """Return how far each hole lies outboard of where it should be, mm, None where that was not measured."""
    whole = _error(found, "lateral")
    near, far = _error(found, "lateral_near"), _error(found, "lateral_far")
    # A tab's whole may rest on one hole alone, and says nothing of the other. Posts and bosses that were read
    # at each hole have no whole.
    if found.placement.interface.family == "tab" or whole is None:
        return near, far
    return whole, whole


def _lean(found: Survey) -> float:
    """Return the lean across, mm a mm, outboard or outboard side high; 0 where it was not measured."""
    return (_error(found, "square_across") or 0.0) / LEAN_BASE


def _scale(found: Survey) -> float:
    """Return how many units of the view from outboard a mm takes."""
    form = found.placement.interface
    wide = form.x_far - min(form.x_near, 0.0) + 12.0
    return min((_WIDE - 2.0 * _MARGIN) / wide, (_HIGH - 2.0 * _MARGIN - 8.0) / (form.h + 6.0))


def _state(misses: Sequence[Miss | None]) -> str:
    """Return the gravest state of some errors, as a class; "unknown" where one of them was not measured."""
    states = [each.state for each in misses if each is not None and each.limit is not None]
    if not states or "unknown" in states:
        return "is-unknown"
    return f"is-{next((each for each in _STATES if each in states), 'within')}"


def _view(name: str, factor: int) -> Element:
    svg = Element("svg", viewBox=f"0 0 {_WIDE:g} {_HIGH:g}", xmlns="http://www.w3.org/2000/svg", role="img")
    svg.set("class", "view")
    svg.set("aria-label", tell(f"desk_sheets.view_label.{name}", factor=factor))
    _letter(svg, (2.0, _LETTER + 0.4), tell(f"desk_sheets.view.{name}"), "start")
    return svg


def _letter(svg: Element, at: _Point, text: str, anchor: str = "middle", state: str = "") -> None:
    x, y = at
    each = SubElement(svg, "text", {"x": f"{x:.2f}", "y": f"{y:.2f}", "font-size": f"{_LETTER}"})
    each.set("text-anchor", anchor)
    each.set("class", f"lettered {state}".strip())
    each.text = text


def _line(svg: Element, points: Sequence[_Point], kind: str, *, closed: bool = False) -> None:
    each = SubElement(svg, "polygon" if closed else "polyline", {"class": kind, "fill": "none"})
    each.set("points", " ".join(f"{x:.2f},{y:.2f}" for x, y in points))


def _circle(svg: Element, at: _Point, radius: float, kind: str) -> None:
    x, y = at
    each = SubElement(svg, "circle", {"cx": f"{x:.2f}", "cy": f"{y:.2f}", "r": f"{radius:.2f}"})
    each.set("class", kind)
    each.set("fill", "none")


def _say(svg: Element, at: _Point, code: Literal["outboard", "axle", "inner_face"], anchor: str) -> None:
    _letter(svg, at, tell(f"name.{code}"), anchor, "quiet")


def _outboard(found: Survey, factor: int) -> Element:
    """Draw the mount as seen from outboard: where its holes should be and are, and how surely."""
    svg, scale = _view("outboard", factor), _scale(found)
    place, form = found.placement, found.placement.interface
    origin = _WIDE - _MARGIN + min(form.x_near, 0.0) * scale - 5.0, _HIGH - _MARGIN

    def at(point: _Point, times: float = 1.0, base: _Point = (0.0, 0.0)) -> _Point:
        x, y = (base[i] + times * (point[i] - base[i]) for i in (0, 1))
        along, up = x * place.t[0] + y * place.t[1], x * place.n[0] + y * place.n[1]
        return origin[0] - along * scale, origin[1] - up * scale

    radius = max(form.hole.diameter.value / 2.0 * scale, 1.6)
    _line(svg, ((8.0, origin[1]), (_WIDE - 3.0, origin[1])), "axis")
    _line(svg, ((origin[0], origin[1] + 4.0), (origin[0], 14.0)), "axis")
    _circle(svg, origin, 6.0 * scale, "wanted")
    _say(svg, (origin[0] - 6.0 * scale - 1.5, origin[1] - 1.5), "axle", "end")
    seen: list[_Point] = []
    wanted = [at(hole.wanted) for hole in found.holes]
    if form.family != "tab":
        _line(svg, wanted, "wanted")
    for hole, where in zip(found.holes, wanted, strict=True):
        state = _hole_state(found, hole)
        _circle(svg, where, radius, "wanted")
        name = tell(f"name.{hole.name}")
        if hole.found is None:
            _letter(svg, (where[0], where[1] - radius - 3.0), f"{name} ?", state="is-unknown")
            continue
        to = at(hole.found, factor, hole.wanted)
        seen.append(to)
        _line(svg, (where, to), f"found {state}")
        _circle(svg, to, radius, f"found {state}")
        if hole.ellipse is not None:
            _ellipse(svg, hole, to, factor * scale, place.t)
        _letter(svg, (where[0], min(to[1], where[1]) - radius - 3.0), name, state=state)
    if len(seen) == 2 and form.family != "tab":
        _line(svg, seen, f"found {_state([found.miss('height_near'), found.miss('height_far')])}")
    return svg


def _hole_state(found: Survey, hole: HoleFound) -> str:
    name = hole.name
    if found.placement.interface.family == "tab":
        return _state([found.miss(name)])
    height = found.miss(f"height_{name}") or found.miss("height")
    return _state([found.miss(f"along_{name}"), height])


def _ellipse(svg: Element, hole: HoleFound, at: _Point, scale: float, t: _Point) -> None:
    """Draw the 95 % ellipse of a hole, as much larger as its error."""
    one = hole.ellipse
    if one is None:
        return
    # From the bicycle's axes to the picture's, in which t runs to the left and y down.
    turn = math.degrees(math.atan2(t[1], t[0])) - one.angle
    x, y = at
    each = SubElement(svg, "ellipse", {"cx": f"{x:.2f}", "cy": f"{y:.2f}", "class": "surely", "fill": "none"})
    most = _WIDE
    each.set("rx", f"{min(one.long * scale, most):.2f}")
    each.set("ry", f"{min(one.short * scale, most):.2f}")
    each.set("transform", f"rotate({turn:.1f} {x:.2f} {y:.2f})")


def _behind(found: Survey, factor: int) -> Element:
    """Draw the mount as seen from behind, outboard to the left: its place sideways, and its lean."""
    svg, tab = _view("behind", factor), found.placement.interface.family == "tab"
    inner, level = 66.0, _HIGH - 12.0
    dropout = (
        (inner, level - 12.0),
        (inner, level + 6.0),
        (inner - 7.0, level + 6.0),
        (inner - 7.0, level - 12.0),
    )
    _line(svg, dropout, "solid", closed=True)
    _line(svg, ((inner - 16.0, level), (_WIDE - 4.0, level)), "axis")
    _say(svg, (inner + 2.0, level + 6.0), "inner_face", "start")
    _say(svg, (2.0, level + 6.0), "outboard", "start")
    foot, wide = level - 12.0, 8.0 if tab else 16.0
    # It stands where it belongs beside the face: a tab by its inner side, posts and bosses by their middle.
    side = inner - found.placement.lateral_z + (0.0 if tab else wide / 2.0)
    body = [(side, foot), (side, foot - _TALL), (side - wide, foot - _TALL), (side - wide, foot)]
    _line(svg, body, "wanted", closed=True)
    known = [each for each in (*_sideways(found), _error(found, "lateral")) if each is not None]
    lean = found.miss("square_across")
    misses = [found.miss(key) for key in ("lateral", "lateral_near", "lateral_far")]
    seen = [each for each in misses if each is not None and each.error is not None]
    if not known and (lean is None or lean.error is None):
        _letter(svg, (side - wide / 2.0, foot - _TALL / 2.0), "?", state="is-unknown")
        return svg
    off = -factor * sum(known) / len(known) if known else 0.0
    slope = factor * _lean(found)
    # A tab leans outboard as it goes up; a face's outboard side stands high.
    moved = [
        (
            x + off - (slope * (foot - y) if tab else 0.0),
            y + (0.0 if tab or y == foot else slope * (x - side + wide / 2.0)),
        )
        for x, y in body
    ]
    needed: list[Miss | None] = [*seen] if seen else [None]
    if lean is not None and lean.error is not None:
        needed.append(lean)
    _line(svg, moved, f"found {_state(needed)}", closed=True)
    if lean is None or lean.error is None:
        _letter(
            svg,
            (side - wide - 12.0, foot - _TALL - 2.0),
            tell("desk_sheets.verdict.no_lean"),
            state="is-unknown",
        )
    return svg


def _above(found: Survey, factor: int) -> Element:
    """Draw both holes as seen from the mount's side, outboard downward: how far each lies sideways."""
    svg, form = _view("above", factor), found.placement.interface
    level = _HIGH / 2.0
    scale = (_WIDE - 4.0 * _MARGIN) / (form.x_far - form.x_near)
    ends = [(_WIDE - 2.0 * _MARGIN - (x - form.x_near) * scale, level) for x in (form.x_near, form.x_far)]
    _line(svg, ((ends[1][0] - 10.0, level), (ends[0][0] + 10.0, level)), "wanted")
    _say(svg, (2.0, _HIGH - 4.0), "outboard", "start")
    moved: list[_Point] = []
    for hole, (x, y), off in zip(found.holes, ends, _sideways(found), strict=True):
        name = tell(f"name.{hole.name}")
        miss = found.miss(f"lateral_{hole.name}") or found.miss("lateral")
        state = _state([miss])
        _circle(svg, (x, y), 2.4, "wanted")
        if off is None:
            _letter(svg, (x, y - 6.0), f"{name} ?", state="is-unknown")
            continue
        to = x, y + factor * off
        moved.append(to)
        _circle(svg, to, 2.4, f"found {state}")
        _letter(svg, (x, min(y, to[1]) - 6.0), name, state=state)
    if len(moved) == 2:
        _line(svg, moved, f"found {_state([found.miss('square_along')])}")
    return svg
