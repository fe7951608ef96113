"""The card's section: dropout, mount, pieces, hub end and disc, cut through the axle along n.

Page X runs from the axle out along the mount's normal n, page Y outboard; full size, with a bar of its own.
What lies beyond the mount is broken off, and so is the dropout's far half: what matters here is sideways.
"""

from collections.abc import Callable

from fonts.drafting import LINE_PITCH, width, wrap
from geometry.core.frozen import dataclass
from geometry.fixture.fixture import Fixture
from geometry.mount.placement import Placement
from geometry.mount.spacers import Choice, in_mm
from geometry.mount.stack import BuildUp
from sheets.ink.drawing import Drawing
from sheets.ink.marks import CHAIN, HIDDEN, INCH, PHANTOM, SOLID, THICK, THIN, arrow_head, box, polyline
from sheets.ink.placing import Box
from sheets.ink.records import Commands, Curve, Point, Segment
from sheets.job.read import Job
from sheets.pages import title as words
from sheets.pages.screws import screw_shapes
from sheets.words.lengths import units
from sheets.words.tell import tell

_HUB_RADIUS = 12.0
_DROPOUT_RADIUS = 22.0
_PLATE = 8.0
"""Thickness at which a plate is drawn that the job does not give, mm."""
_PIECE = 8.0
_BROKEN = 3.0
"""How far a bar is shown past the mount that hangs on it, mm."""
_COLLAR = 6.0
"""Wall at which a collar is drawn, mm."""
_HATCH = 2.2
_BAR = 50.0
_BAR_ROW = 7.0
_LEFT = 16.0
"""How much of the dropout's far half is shown, mm; more beside a thick dummy axle."""
_PAST = 9.0
"""How far out beyond the mount's line is shown, mm."""
_BREAK = 1.6
"""Depth of a break line's teeth, mm."""
_LEAD = 7.0
"""What leaders take between the section and its names, mm."""
_LANE = 2.2
"""How far past what is shown leaders run level, mm: past a plate's end."""
_PLATE_PAST = 11.0
"""How far out past the mount's line a plate is shown, mm."""
_STEM = 2.5
"""How far past the mount the line of its face is drawn on, mm, so that its leader runs clear of the screw."""
_CLAMP = 2.6
"""Length of an arrow where a clamp goes, mm."""
_NAMED = 2.5
_At = Callable[[float, float], Point]


@dataclass(frozen=True, slots=True)
class Section:
    """A section ready to draw: its size in mm, and what it needs."""

    job: Job
    placement: Placement
    build_up: BuildUp | None
    choice: Choice | None
    fixture: Fixture | None = None

    @property
    def levels(self) -> tuple[float, float]:
        """Return the lowest and highest z shown."""
        rotor, thickness = self.placement.rotor, self.job.dropout.thickness or 0.0
        low, high = self._mount_z
        plate, bar = self._plate_z or (0.0, 0.0), self._bar_z or (0.0, 0.0)
        inner = rotor.inner_face_z if rotor.inner_face_z is not None else 0.0
        return min(low, plate[0], bar[0], inner - 4.0) - 2.0, max(high, thickness, plate[1], bar[1]) + 3.0

    @property
    def reach(self) -> float:
        """Return how far out from the axle is shown."""
        fix = self.fixture
        crown = 0.0 if fix is None or fix.bar is None else fix.level + fix.bar[1] + 2.0
        return max(self.placement.interface.h + _PAST, _DROPOUT_RADIUS + _PAST, crown)

    @property
    def screw(self) -> list[list[Point]] | None:
        """Return washer and head of a screw that goes into the face, across and sideways from its middle."""
        face = self.placement.interface
        if face.family == "tab" or (face.family == "flat" and face.end == "rear"):
            return None
        middle = face.x_far
        # The head is broken off where the section ends: what lies beyond costs the card's room.
        return [
            [(min(up, self.reach), self.placement.lateral_z + x - middle) for x, up in shape]
            for shape in screw_shapes(self.job, self.placement, "far")
        ]

    @property
    def left(self) -> float:
        """Return how far to the other side of the axle is shown."""
        return max(_LEFT, _step(self.job.axle.dummy / 2.0) + 2.0)

    @property
    def size(self) -> tuple[float, float]:
        """Return width and height on paper, names and bar included."""
        low, high = self.levels
        names = _drawn(Drawing(), self, (0.0, 0.0))
        wide = max(width(text, _NAMED) for text, _ in names) + 1.0
        # The names may need more height than what they name.
        high = max(high, low + len(names) * LINE_PITCH * _NAMED + 2.0)
        return self.left + self.reach + _LEAD + wide, high - low + _BAR_ROW

    @property
    def _mount_z(self) -> tuple[float, float]:
        face, z = self.placement.interface, self.placement.lateral_z
        if face.family == "tab":
            return z - self.job.process.facing, z + words.tab_thickness(self.job, self.placement)
        half = words.boss_size(self.job, self.placement)[0] / 2.0
        return z - half, z + half

    @property
    def _plate_z(self) -> tuple[float, float] | None:
        if self.build_up is None:
            return None
        start = self.build_up.start_z
        thick = self.fixture.plate if self.fixture else self.job.bench.plate or _PLATE
        return (start - thick, start) if self.build_up.plate_face == "inside" else (start, start + thick)

    @property
    def _bar_z(self) -> tuple[float, float] | None:
        """Return from where to where a fixture's bar is shown: past the mount its rest is broken off."""
        fix = self.fixture
        if fix is None or fix.bar is None:
            return None
        low, high = self._mount_z
        if fix.face == "inside":
            return fix.surface_z, min(fix.surface_z + fix.bar[0], high + _BROKEN)
        return max(fix.surface_z - fix.bar[0], low - _BROKEN), fix.surface_z


def draw_section(
    drawing: Drawing, section: Section, size: tuple[float, float], corner: Point, right: float
) -> Point:
    """Draw a section of a known size with its lower-left corner at `corner`; return where its origin lies.

    Nothing of it reaches beyond `right`.
    """
    low, _ = section.levels
    drawing.begin_figure()
    origin = (corner[0] + section.left, corner[1] + _BAR_ROW - low)
    names = _drawn(drawing, section, origin)
    edge = origin[0] + section.reach + _LEAD
    zone: Box = (corner[0], corner[1] + _BAR_ROW - 1.5, corner[0] + size[0], corner[1] + size[1] + 4.0)
    drawing.column(names, edge, zone, height=_NAMED, even=True, lane=origin[0] + section.reach + _LANE)
    _own_bar(drawing, corner, right)
    return origin


def _drawn(drawing: Drawing, section: Section, origin: Point) -> list[tuple[str, Point]]:
    """Draw the section about its origin and return what is to be named, and where."""
    low, high = section.levels

    def at(x: float, z: float) -> Point:
        return origin[0] + x, origin[1] + z

    def block(name: str, x: tuple[float, float], z: tuple[float, float], slant: float = 0.0) -> None:
        corners = (at(x[0], z[0]), at(x[1], z[0]), at(x[1], z[1]), at(x[0], z[1]), at(x[0], z[0]))
        drawing.show(Curve(name, corners), THICK, "section")
        if slant:
            drawing.draw(_hatch((*corners[0], *corners[2]), slant), THIN, "hatch")

    job, placement = section.job, section.placement
    face, rotor = placement.interface, placement.rotor
    dummy = job.axle.dummy / 2.0
    names: list[tuple[str, Point]] = []

    drawing.draw(polyline((at(0.0, low), at(0.0, high))), CHAIN, "section")
    for side in (-dummy, dummy):
        drawing.draw(polyline((at(side, low), at(side, high))), THIN, "section")
    _outboard(drawing, at, (low, high), dummy)
    _dropout(drawing, origin, job.dropout.thickness, placement.pocket, dummy, section.left)
    seat = placement.pocket
    # The datum goes on to its name: a leader askew would be one more line through the mount.
    drawing.draw(polyline((at(_DROPOUT_RADIUS, 0.0), at(section.reach, 0.0))), THIN, "section")
    names.append((tell("section.dropout" if seat else "section.dropout_and_hub"), at(section.reach, 0.0)))
    hub = (at(-_HUB_RADIUS, low), at(-_HUB_RADIUS, seat), at(_HUB_RADIUS, seat), at(_HUB_RADIUS, low))
    drawing.draw(polyline(hub), PHANTOM, "section")
    if seat:
        # So is the hub's end, as level as the datum; broken off where it would cross a post or boss.
        gap = (section.reach, section.reach)
        if face.family != "tab":
            gap = (face.h - _shown_length(job, placement) - 1.0, face.h + job.process.facing + 1.0)
        for start, end in ((_HUB_RADIUS, gap[0]), (gap[1], section.reach)):
            drawing.draw(polyline((at(start, seat), at(end, seat))), PHANTOM, "section")
        names.append((tell("section.hub_end", z=words.signed(seat)), at(section.reach, seat)))
    if rotor.inner_face_z is not None and rotor.outer_face_z is not None:
        faces = (rotor.inner_face_z, rotor.outer_face_z)
        end = min(rotor.radius, section.reach)
        start = _HUB_RADIUS + 3.0
        if end < rotor.radius:
            shape = (at(end, faces[0]), at(start, faces[0]), at(start, faces[1]), at(end, faces[1]))
            drawing.show(Curve("disc", shape), THICK, "section")
            drawing.draw(_broken(at(end, faces[0]), at(end, faces[1])), THIN, "section")
        else:
            block("disc", (start, end), faces)
        for which, face_z in (("outer", rotor.outer_face_z), ("inner", rotor.inner_face_z)):
            name = tell(f"section.disc.{which}", z=words.signed(face_z))
            names.append((name, at(end, face_z)))
    z_low, z_high = section._mount_z
    z, stock = placement.lateral_z, job.process.facing
    outside = section.build_up is not None and section.build_up.plate_face == "outside"
    if face.family == "tab":
        block("tab", (_DROPOUT_RADIUS, face.h + 9.0), (z_low, z_high), 1.0)
        for side in (-face.hole.diameter.value / 2.0, face.hole.diameter.value / 2.0):
            drawing.draw(polyline((at(face.h + side, z_low), at(face.h + side, z_high))), THIN, "section")
        drawing.draw(polyline((at(face.h, z_low - 4.0), at(face.h, z_high + 4.0))), CHAIN, "section")
        thick = words.tab_thickness(job, placement)
        names.append(
            (tell("section.tab", thick=thick, z=words.signed(z)), at(face.h + 9.0, (z + z_high) / 2.0))
        )
        names.append((tell("section.foot.tab", up=face.h), at(face.h, z_high + 4.0)))
        if stock:
            # The tab is set with its stock on; the line is where it is faced to.
            drawing.draw(polyline((at(_DROPOUT_RADIUS, z), at(face.h + 9.0, z))), THIN, "section")
            names.append((tell("section.raw_tab", z=words.signed(z_low)), at(face.h + 9.0, z_low)))
    else:
        length = _shown_length(job, placement)
        block(
            "post" if face.family == "post" else "boss",
            (face.h - length, face.h + stock),
            (z_low, z_high),
            1.0,
        )
        drawing.show(
            Segment("screw line", at(face.h - length - 4.0, z), at(face.h + 10.0, z)), CHAIN, "section"
        )
        if stock:
            drawing.draw(polyline((at(face.h, z_low), at(face.h, z_high))), THIN, "section")
            names.append(
                (tell("section.stock", stock=stock), at(face.h + stock, z_high if outside else z_low))
            )
        for part in section.screw or ():
            drawing.draw(polyline([at(*corner) for corner in part]), PHANTOM, "section")
        # On the side where no plate is.
        stem = (z_low, z_low - _STEM) if outside else (z_high, z_high + _STEM)
        drawing.draw(polyline([at(face.h, each) for each in stem]), THIN, "section")
        names.append((tell("section.foot.face", up=face.h), at(face.h, stem[1])))
        name = tell("section.middle", line=words.middle_line(placement), z=words.signed(z))
        names.append((name, at(face.h + 10.0, z)))
    _plate_and_pieces(drawing, section, at, names)
    return names


def _shown_length(job: Job, placement: Placement) -> float:
    """Return how much of a post or boss is shown, mm.

    In this cut a long one would seem to run into the dropout, beside which it lies; it is cut short.
    """
    face = placement.interface
    return min(words.boss_size(job, placement)[1], face.h - _DROPOUT_RADIUS - 4.0)


def _outboard(drawing: Drawing, at: _At, levels: tuple[float, float], dummy: float) -> None:
    """Draw which way is outboard, within the dummy axle, where nothing else is."""
    x, (low, high) = -dummy / 2.0, levels
    tip = at(x + 2.0, high - 1.0)
    drawing.draw(polyline((at(x + 2.0, low + 2.0), tip)), THIN, "section")
    drawing.draw(arrow_head(tip, 90.0), SOLID, "section")
    drawing.letter(tell("section.outboard"), at(x + 0.6, low + 2.0), _NAMED, turn=90.0)


def _step(dummy: float) -> float:
    """Return how far out from the axle the pocket is drawn."""
    return max(_HUB_RADIUS, dummy) + 1.0


def _broken(start: Point, end: Point) -> Commands:
    """Return the line at which something upright is broken off: from its foot to its top, with one tooth."""
    (x, low), (_, high) = start, end
    third = (high - low) / 3.0
    teeth = ((x, low - 1.5), (x, low + third), (x - _BREAK, low + third), (x + _BREAK, high - third))
    return polyline((*teeth, (x, high - third), (x, high + 1.5)))


def _dropout(
    drawing: Drawing, origin: Point, thickness: float | None, pocket: float, dummy: float, left: float
) -> None:
    """Draw the dropout's two halves with the pocket, or its inner face alone for want of a thickness.

    `left` is how much of the half at the far side of the axle is shown.
    """
    x0, z0 = origin
    step = _step(dummy)
    for side, wide in ((-1.0, left), (1.0, _DROPOUT_RADIUS)):
        far, near, pit = x0 + side * wide, x0 + side * dummy, x0 + side * step
        if thickness is None:
            drawing.draw(polyline(((near, z0), (far, z0))), THICK, "section")
            continue
        top = z0 + thickness
        profile = ((near, z0 + pocket), (pit, z0 + pocket), (pit, z0), (far, z0), (far, top), (near, top))
        drawing.draw(polyline(profile, closed=True), THICK, "section")
        low_x, high_x = sorted((pit, far))
        drawing.draw(_hatch((low_x, z0, high_x, top), -1.0), THIN, "hatch")


def _plate_and_pieces(drawing: Drawing, section: Section, at: _At, names: list[tuple[str, Point]]) -> None:
    """Draw the plate on the dummy axle and the chosen pieces between it and the mount."""
    plate = section._plate_z
    if plate is None or section.build_up is None:
        return
    h, dummy = section.placement.interface.h, section.job.axle.dummy / 2.0
    fix, bar = section.fixture, section._bar_z
    end = h + _PLATE_PAST if fix is None or fix.bar is None else fix.level + fix.bar[1]
    outline = (at(dummy, plate[0]), at(end, plate[0]), at(end, plate[1]), at(dummy, plate[1]))
    thick = section.job.bench.plate
    # Solid is what the builder has; of a plate whose thickness nobody gave, it is not known where it ends.
    drawing.draw(polyline(outline, closed=True), HIDDEN if fix or thick is None else THIN, "section")
    plate_name = tell("section.plate" if thick is None else "section.your_plate", thick=in_mm(thick or 0.0))
    if fix is not None:
        plate_name = tell("section.fixture_plate")
    names.append((plate_name, at(end, (plate[0] + plate[1]) / 2.0)))
    if fix is None:
        # What holds the mount to the plate: a clamp over all of the stack, where the mount has metal.
        low, high = section._mount_z
        x = h + _PIECE - 2.0 if section.placement.interface.family == "tab" else h - _PIECE / 2.0
        for z, back in ((min(low, plate[0]), -_CLAMP), (max(high, plate[1]), _CLAMP)):
            # As wide as long: a slim head is lost among the section's lines.
            wedge = (at(x, z), at(x - _CLAMP / 2.0, z + back), at(x + _CLAMP / 2.0, z + back))
            drawing.draw(polyline(wedge, closed=True), SOLID, "section")
    z = section.build_up.start_z
    way = 1.0 if section.build_up.plate_face == "inside" else -1.0
    if fix is not None and fix.collar:
        low, high = sorted((z, z + way * fix.collar))
        for side in (-1.0, 1.0):
            inner, outer = sorted((side * dummy, side * (dummy + _COLLAR)))
            drawing.draw(box(at(inner, low), at(outer, high)), THICK, "section")
        names.append((tell("section.collar", collar=fix.collar), at(dummy + _COLLAR, (low + high) / 2.0)))
    if fix is not None and bar is not None:
        near, far = bar if fix.face == "inside" else bar[::-1]
        corners = (at(fix.level, far), at(fix.level, near), at(end, near), at(end, far))
        drawing.draw(polyline(corners), HIDDEN, "section")
        names.append((tell("section.fixture_bar"), at(end, (bar[0] + bar[1]) / 2.0)))
    if section.choice is None:
        return
    pieces = section.choice.best.pieces
    if fix is not None and fix.spacer is not None and not section.choice.reached:
        pieces = (fix.spacer,)
    if pieces:
        total = sum(pieces)
        name = tell("section.spacers", total=total)
        names.append((name, at(h + _PIECE, z + way * total / 2.0)))
    for piece in pieces:
        low, high = sorted((z, z + way * piece))
        drawing.draw(box(at(h - _PIECE, low), at(h + _PIECE, high)), THICK, "section")
        z += way * piece


def _own_bar(drawing: Drawing, corner: Point, right: float) -> None:
    # A rule of inches finds no whole mark at 50 mm.
    long, parts = (2.0 * INCH, 4) if units() == "in" else (_BAR, 5)
    start, end = (corner[0] + 2.0, corner[1] + 1.5), (corner[0] + 2.0 + long, corner[1] + 1.5)
    drawing.show(Segment("section bar", start, end), THICK, "scale")
    for i in range(parts + 1):
        x = start[0] + long / parts * i
        drawing.draw(polyline(((x, start[1]), (x, start[1] + 1.8))), THIN, "scale")
    drawing.letter("0", (start[0], start[1] + 2.4), 2.5, 0.5, layer="scale", part=drawing.figure)
    rows, part = wrap(tell("section.bar", long=long), 2.5, right - end[0]), drawing.part("P")
    for i, row in enumerate(reversed(rows)):
        at, place = (end[0] - 4.0, start[1] + 2.4 + i * LINE_PITCH * 2.5), (*part, (-i, ""))
        drawing.letter(row, at, 2.5, layer="scale", part=place)


def _hatch(area: Box, slant: float) -> Commands:
    """Return 45 degree hatch lines over an upright box, rising to the right for slant +1, falling for -1."""
    left, low, right, top = area
    lines: list[Commands] = []
    wide, high = right - left, top - low
    offset = _HATCH
    while offset < wide + high:
        a = (min(offset, wide), max(0.0, offset - wide))
        b = (max(0.0, offset - high), min(offset, high))
        points = [(left + x if slant < 0 else right - x, low + y) for x, y in (a, b)]
        lines.append(polyline(points))
        offset += _HATCH
    return tuple(command for line in lines for command in line)
