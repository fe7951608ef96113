"""What is found of the dropout's outline: holes in their metal, its tab against the row, what is not said."""

import functools
from typing import Any

from geometry.clearance.bodies import entry
from geometry.clearance.dropout_room import Plate
from geometry.core.findings import Finding, Level
from geometry.core.frozen import dataclass
from geometry.core.plane import Point
from geometry.core.say import Say, named, say
from geometry.mount.outline import Outline, Pad, Round, in_metal, laid, laid_ring, metal_round
from geometry.mount.placement import Placement
from geometry.survey.drawn_tab import DrawnTab, Error, drawn_tab
from geometry.tables.axles import End
from geometry.tables.stance import Stance, directions
from sheets.job.dropout_keys import DrawnOutline, Dropout, as_drawn, pad_of
from sheets.job.read import Job
from sheets.job.stance_keys import StanceTable
from sheets.words.as_json import picked

_FLUSH = 0.1
"""How far a tab's inner face may lie off the dropout's own and still be a flat plate's, mm."""

_SLOT_ASKEW = 5.0
"""By how many degrees a slot may be drawn otherwise than the job says: what a protractor on a slot shows."""


@dataclass(frozen=True, slots=True)
class Metal:
    """A hole in the plate: `name` is "near" or "far" of the mount's, or "" for another.

    `beside` is the least metal from its rim to an edge, a cut-out or another hole, mm, and `at` where that
    ends. `drilled` is false for a place of the row's at which the drawing has metal and no hole.
    """

    name: str
    hole: Round
    beside: float
    at: Point
    drilled: bool

    @property
    def diameters(self) -> float:
        """Return the same in diameters of the hole."""
        return self.beside / self.hole.diameter

    @property
    def called(self) -> Say:
        """Return what it is called."""
        x, y = self.hole.centre
        if self.name:
            return say("outline.mount_hole", hole=named(self.name))
        return say("outline.hole_at", x=x, y=y)


@dataclass(frozen=True, slots=True)
class Shape:
    """The dropout as it lies in the axes of the package. `file` is its drawing's name, "" for points.

    `sure` where the job says what its x lies along; else it is drawn along the tube, and nothing that turns
    on that is judged. `tab` are the drawn holes that are meant for the mount, `missed` the places of the row
    that lie in no metal though another does. `tilt` is the mount's, and `sideways` how far outboard of the
    dropout's inner face a tab's must lie, mm. `slot_off` is by how many degrees the slot that is drawn opens
    forward of what the job says, None where both agree or one is not known. `pad` lies on its inner face.
    """

    file: str
    outline: Outline
    sure: bool
    mirrored: bool
    stands: Say
    thickness: float | None
    holes: tuple[Metal, ...]
    tab: DrawnTab | None
    missed: tuple[str, ...]
    tilt: float
    sideways: float
    slot_off: float | None
    pad: Pad | None = None

    @property
    def sentence(self) -> Say:
        """Return what the outline is and how it lies."""
        wide, high = self.outline.size
        what = say("outline.drawn", file=self.file) if self.file else say("outline.listed")
        corners = sum(map(len, self.outline.rings))
        return say("outline.sentence", what=what, wide=wide, high=high, corners=corners, stands=self.stands)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Return what is not said, and what is the matter with tab and holes."""
        found = []
        if not self.sure:
            told, do = say("outline.no_direction", stands=self.stands), say("outline.give_direction")
            found.append(
                Finding("outline-direction", "unknown", say("outline.told", what=told, do=do),
                        "dropout.outline_from", brief=told, remedy=do)
            )  # fmt: skip
        if self.thickness is None:
            told, do = say("outline.no_thickness"), say("outline.give_thickness")
            found.append(
                Finding("outline-thickness", "unknown", say("outline.told", what=told, do=do),
                        "dropout.thickness", brief=told, remedy=do)
            )  # fmt: skip
        if self.tab is not None:
            found += _tab_findings(self.tab, self)
            if abs(self.sideways) > _FLUSH:
                found.append(_stepped(self.sideways))
        found += [_missed(name) for name in self.missed]
        if self.slot_off is not None:
            found.append(_other_slot(self.slot_off))
        found += [each for metal in self.holes if (each := _metal_finding(metal)) is not None]
        return tuple(found)


def lines(found: Shape) -> tuple[Say, ...]:
    """Return each hole with the metal beside it, and where a drawn tab's holes lie from the sheet's."""
    metal = [
        say(
            "outline.metal_drilled" if each.drilled else "outline.metal_undrilled",
            hole=each.called,
            diameter=each.hole.diameter,
            metal=each.beside,
            diameters=each.diameters,
        )
        for each in found.holes
    ]
    if found.tab is None:
        return tuple(metal)
    errors = [_error(each) for each in found.tab.errors]
    if not found.sure:
        return (*metal, *errors)
    places = [
        say("outline.hole_off", hole=named(each.name), off=each.off,
            x=_signed(each.at[0] - each.wanted[0]), y=_signed(each.at[1] - each.wanted[1]))
        for each in found.tab.holes
    ]  # fmt: skip
    return (*metal, *errors, *places)


def outline_json(found: Shape) -> dict[str, Any]:
    """Return the dropout for documents: its lines and holes from the axle, and how the holes are judged."""
    tab = found.tab
    return {
        "file": found.file or None,
        "direction_given": found.sure,
        "sentence": found.sentence,
        "edge": found.outline.edge,
        "cut_outs": found.outline.windows,
        "pad": found.pad and {"edge": found.pad.ring, "height": found.pad.high},
        "bore": found.outline.bore,
        "holes": [
            {
                "name": each.name or None,
                **picked(each.hole, "centre", "diameter"),
                "drawn": each.drilled,
                "metal": each.beside,
                "metal_diameters": each.diameters,
                "metal_at": each.at,
            }
            for each in found.holes
        ],
        "tab": tab
        and {
            **picked(tab, "fit", "turn", "mirrored", "play"),
            "holes": [picked(each, "name", "at", "wanted", "diameter", "off") for each in tab.holes],
            "errors": [
                {**picked(each, "key", "by"), "limit": each.limit.value, "grade": each.limit.grade}
                for each in tab.errors
            ],
        },
    }


def shape(job: Job, placement: Placement) -> Shape | None:
    """Return the dropout's shape; None where the job does not say it."""
    return _shape(job.dropout, job.outline, job.stance, placement)


def plate(job: Job, placement: Placement) -> Plate | None:
    """Return the same as clearances take it."""
    found = _laid(job.dropout, job.outline, job.stance, placement.end)
    if found is None:
        return None
    pad = _laid_pad(job.dropout, job.stance, placement.end)
    return Plate(found, job.dropout.outline_from is not None, pad)


@functools.lru_cache(maxsize=64)
def _laid(dropout: Dropout, drawn: DrawnOutline | None, stance: StanceTable, end: End) -> Outline | None:
    """Return the outline as it lies in the axes, wherever the mount is."""
    given = as_drawn(dropout, drawn)
    if given is None:
        return None
    return laid(given, mirrored=dropout.outline_mirrored, turn=_turn(dropout, stance, end))


def _turn(dropout: Dropout, stance: StanceTable, end: End) -> float:
    """Return by how much an outline is turned about the axle, degrees."""
    plumb = stance.of(end).turns[0] if dropout.outline_from == "plumb" else 0.0
    return dropout.outline_turned + plumb


def _laid_pad(dropout: Dropout, stance: StanceTable, end: End) -> Pad | None:
    """Return the pad as it lies in the axes, as the outline does."""
    pad = pad_of(dropout)
    if pad is None:
        return None
    turn = _turn(dropout, stance, end)
    return Pad(laid_ring(pad.ring, mirrored=dropout.outline_mirrored, turn=turn), pad.high)


@functools.lru_cache(maxsize=64)
def _shape(
    dropout: Dropout, drawn: DrawnOutline | None, stance: StanceTable, placement: Placement
) -> Shape | None:
    outline = _laid(dropout, drawn, stance, placement.end)
    if outline is None:
        return None
    sure = dropout.outline_from is not None
    tab = drawn_tab(placement, outline)
    holes, missed = _holes(placement, outline, tab, sure)
    line = "plumb" if dropout.outline_from == "plumb" else f"tube_{placement.end}"
    stands = say(f"outline.line.{line}")
    if dropout.outline_turned:
        stands = say("outline.stands.turned", stands=stands, turn=dropout.outline_turned)
    if dropout.outline_mirrored:
        stands = say("outline.stands.mirrored", stands=stands)
    name = dropout.outline or ""
    return Shape(
        file=name,
        outline=outline,
        sure=sure,
        mirrored=dropout.outline_mirrored,
        stands=stands,
        thickness=dropout.thickness,
        holes=holes,
        tab=tab,
        missed=missed,
        tilt=placement.tilt,
        sideways=placement.lateral_z,
        slot_off=_slot_off(dropout, stance.of(placement.end), outline) if sure else None,
        pad=_laid_pad(dropout, stance, placement.end),
    )


def _holes(
    placement: Placement, outline: Outline, tab: DrawnTab | None, sure: bool
) -> tuple[tuple[Metal, ...], tuple[str, ...]]:
    """Return each hole in its metal, and which of a tab's places lie in none though the other does."""
    mount = {} if tab is None else {each.at: each.name for each in tab.holes}
    found = []
    for hole in outline.drilled:
        found.append(Metal(mount.get(hole.centre, ""), hole, *metal_round(outline, hole), True))
    if tab is not None or not sure or placement.interface.family != "tab":
        return tuple(found), ()
    places = {each.name: Round(each.centre[:2], each.diameter) for each in placement.holes}
    inside = [name for name, place in places.items() if in_metal(outline, place.centre)]
    found += [Metal(name, places[name], *metal_round(outline, places[name]), False) for name in inside]
    return tuple(found), tuple(name for name in places if name not in inside) if inside else ()


def _metal_finding(metal: Metal) -> Finding | None:
    asked, least = entry("metal", "asked").value, entry("metal", "least").value
    if metal.diameters >= asked - 1e-6:
        return None
    level: Level = "note" if metal.diameters >= least - 1e-6 else "warn"
    if not metal.name:
        # Eyes for mudguards and racks have half as much on sound frames, and bear little.
        level = "note"
    told = say(
        "outline.little_metal",
        hole=metal.called,
        metal=max(0.0, metal.beside),
        diameters=max(0.0, metal.diameters),
        asked=asked,
        diameter=metal.hole.diameter,
    )
    do = say(f"outline.more_metal.{level if metal.name else 'eye'}")
    text = say("outline.told", what=told, do=do)
    return Finding("outline-metal", level, text, "dropout.outline", brief=told, remedy=do)


def _stepped(sideways: float) -> Finding:
    told = say("outline.step_outboard" if sideways > 0.0 else "outline.step_inboard", by=abs(sideways))
    do = say("outline.measure_step")
    text = say("outline.told", what=told, do=do)
    return Finding("outline-tab-sideways", "unknown", text, "dropout.outline", brief=told, remedy=do)


def _slot_off(dropout: Dropout, stance: Stance, outline: Outline) -> float | None:
    """Return by how many degrees a drawn slot opens forward of the job's; None where they agree."""
    drawn = outline.slot
    if drawn is None or dropout.slot is None:
        return None
    said = directions(dropout.slot, dropout.slot_from, stance.turns)
    # Seen from outboard forward is clockwise from straight down.
    offs = [(-90.0 - drawn - each + 180.0) % 360.0 - 180.0 for each in said]
    nearest = min(offs, key=abs)
    return nearest if abs(nearest) > _SLOT_ASKEW else None


def _other_slot(off: float) -> Finding:
    told = say("outline.slot_forward" if off > 0.0 else "outline.slot_rearward", by=abs(off))
    do = say("outline.mend_slot")
    text = say("outline.told", what=told, do=do)
    return Finding("outline-opens", "warn", text, "dropout.slot", brief=told, remedy=do)


def _missed(name: str) -> Finding:
    told, do = say("outline.missed", hole=named(name)), say("outline.mend_missed")
    text = say("outline.told", what=told, do=do)
    return Finding("outline-tab-missed", "warn", text, "dropout.outline", brief=told, remedy=do)


def _tab_findings(tab: DrawnTab, shape: Shape) -> list[Finding]:
    """Return how a drawn tab's holes fit the row, and how the pair is turned."""
    if tab.mirrored:
        told, do = (
            say("outline.tab_mirrored"),
            say("outline.unmirror" if shape.mirrored else "outline.mirror"),
        )
        text = say("outline.told", what=told, do=do)
        return [Finding("outline-mirrored", "warn", text, "dropout.outline_mirrored", brief=told, remedy=do)]
    levels: dict[str, Level] = {"fits": "note", "off": "warn", "misfit": "stop"}
    wrong = tuple(_error(each) for each in tab.errors if each.beyond > 0.0)
    told = say(f"outline.fit.{tab.fit}", wrong=wrong, play=tab.play)
    do = say(f"outline.fit_do.{tab.fit}")
    text = say("outline.told", what=told, do=do)
    found = [Finding("outline-tab", levels[tab.fit], text, "dropout.outline", brief=told, remedy=do)]
    if not shape.sure or tab.carried <= max(each.limit.value for each in tab.errors):
        return found
    near, far = tab.holes
    way = say("outline.turned.anti" if tab.turn > 0.0 else "outline.turned.clock")
    told = say("outline.tab_turned", turn=abs(tab.turn), way=way, near=near.off, far=far.off)
    do = say("outline.turn_mount", tilt=shape.tilt + tab.turn)
    text = say("outline.told", what=told, do=do)
    found.append(Finding("outline-tab-turned", "warn", text, "mount.tilt", brief=told, remedy=do))
    return found


def _error(each: Error) -> Say:
    return say(f"outline.tab_error.{each.key}", by=_signed(each.by), limit=each.limit.value)


def _signed(by: float) -> float:
    """Return a length as it is told with its sign, to 0.01 mm and never as -0."""
    return round(by, 2) + 0.0
