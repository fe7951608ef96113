"""The face view's inset: where everything lies sideways, enlarged, each line with its name and its number.

At full size the lines lie within a few millimetres of one another. The inset says that it is enlarged, stands
apart in a frame, and is left out where the page has no room for it: every number of it is in the table too.
"""

from collections.abc import Sequence

from fonts.drafting import LINE_PITCH, width
from geometry.mount.placement import Placement
from sheets.ink.marks import CHAIN, PHANTOM, THICK, THIN, box, polyline
from sheets.ink.placing import spread
from sheets.ink.records import Style
from sheets.pages import title as words
from sheets.pages.frame import Page
from sheets.words.tell import tell

_TIMES = (4.0, 3.0, 2.0)
_TALLEST = 46.0
"""Height that the lines may take, mm: a larger scale says no more."""
_READ = 3.5
_INSET = 2.5
_LINE = 16.0
_LEAD = 7.0
_Row = tuple[float, str, Style]


def draw_inset(page: Page, placement: Placement) -> bool:
    """Draw the inset where the page has room for it, as large as fits; return whether it had."""
    rows = _rows(placement)
    levels = [z for z, _, _ in rows]
    named = max(width(name, _READ) for _, name, _ in rows)
    value = max(width(words.signed(z), _READ) for z in levels)
    pitch = LINE_PITCH * _READ
    for times in _TIMES:
        heading = tell("face.enlarged", times=times)
        wide = max(_LINE + _LEAD + value + 3.0 + named, width(heading, _READ)) + 2.0 * _INSET
        places = spread([times * z for z in levels], pitch, -1e6, 1e6)
        low = min(times * levels[0], places[0]) - _READ
        high = max(times * levels[-1], places[-1]) + _READ
        tall = high - low + 1.6 * _READ + 2.0 * _INSET
        if high - low > _TALLEST and times > _TIMES[-1]:
            continue
        found = page.drawing.free_box((wide + 1.0, tall + 1.0), page.zone)
        if found is None:
            continue
        left, foot = found[0] + 0.5, found[1] + 0.5
        zero = foot + _INSET - low
        head = page.drawing.part("P")
        _draw(page, rows, [zero + place for place in places], (left + _INSET, zero), times, value)
        at = left + _INSET, foot + tall - _INSET - _READ
        page.drawing.letter(heading, at, _READ, layer="inset", part=head)
        page.drawing.draw(box((left, foot), (left + wide, foot + tall)), THIN, "inset")
        page.drawing.reserve(found)
        return True
    return False


def _rows(placement: Placement) -> Sequence[_Row]:
    """Return what lies where, from inboard out: z in mm, name and line."""
    rotor = placement.rotor
    rows: list[_Row] = [
        (0.0, tell("face.dropout"), THICK),
        (placement.lateral_z, words.middle_line(placement), CHAIN),
    ]
    if placement.datum_shift:
        rows.append((placement.datum_shift, tell("face.pocket"), THIN))
    if rotor.inner_face_z is not None and rotor.outer_face_z is not None:
        rows.append((rotor.inner_face_z, tell("face.disc_inner"), PHANTOM))
        rows.append((rotor.outer_face_z, tell("face.disc_outer"), PHANTOM))
    return sorted(rows, key=lambda row: row[0])


def _draw(
    page: Page,
    rows: Sequence[_Row],
    places: Sequence[float],
    origin: tuple[float, float],
    times: float,
    value: float,
) -> None:
    """Draw each line with number and name beside it; all leaders bend at one place, so that none cross."""
    left, zero = origin
    end, text = left + _LINE, left + _LINE + _LEAD
    for (z, name, style), at in zip(rows, places, strict=True):
        y = zero + times * z
        page.drawing.draw(polyline(((left, y), (end, y))), style, "inset")
        page.drawing.draw(polyline(((end, y), (text - 2.5, at), (text - 1.0, at))), THIN, "inset")
        base, part = at - _READ / 2.0, page.drawing.part("P")
        page.drawing.letter(words.signed(z), (text + value, base), _READ, 1.0, layer="inset", part=part)
        page.drawing.letter(name, (text + value + 3.0, base), _READ, layer="inset", part=part)
