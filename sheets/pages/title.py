"""What the title block of a sheet says of a job: the same words on every sheet."""

from collections.abc import Sequence

from fonts.drafting import missing
from geometry.clearance.margins import Clearance
from geometry.mount.placement import Placement
from geometry.tubes.tube import plain as plain
from sheets.ink.records import View
from sheets.job.read import Job
from sheets.pages.frame import PRINT_LINE, TitleLine
from sheets.words.slot import opens
from sheets.words.tell import told

CAUTION = (
    "A brake mount is safety-critical: local codes and licensed practice govern, and a new design is tested "
    "before it is ridden."
)

CORRECTED_LINE = "Corrected: print at 100 %, actual size; both bars must read true."
_STAMPED = 2
_SMALL = 2.5


def lettered(text: str) -> str:
    """Return a text as the drafting alphabet can letter it: what it lacks as its code, [U+9DB4]."""
    for character in missing(text):
        text = text.replace(character, f"[U+{ord(character):04X}]")
    return text


def heading(job: Job) -> str:
    """Return the frame's id and name as they head every sheet."""
    name = job.frame.name if job.frame.name and job.frame.name != job.frame.id else ""
    return lettered(" ".join(part for part in (job.frame.id, name) if part))


def mm(value: float, places: int = 2) -> str:
    """Return a length as lettered, never as -0."""
    text = f"{value:.{places}f}"
    return text.lstrip("-") if float(text) == 0.0 else text


def signed(value: float) -> str:
    """Return a sideways position with its sign, + outboard."""
    text = mm(value)
    return text if text.startswith("-") or float(text) == 0.0 else f"+{text}"


def title_lines(
    job: Job, placement: Placement, what: str, sheet_of: str, more: Sequence[str]
) -> list[TitleLine]:
    """Return the title block's lines: frame, sheet, mount, axle, `more`, sources and how to print."""
    interface, axle = placement.interface, placement.axle
    own = ", the job's own row" if interface.own else ""
    if placement.datum_shift:
        datum = f"datum: the pocket's floor, {placement.datum_shift:g} outboard of the inner face"
    else:
        datum = f"pocket {placement.pocket:g}; datum: the dropout's inner face"
    grade = "the job's own numbers" if placement.grade == "own" else f"grade {placement.grade}"
    small = [
        *map(told, placement.quiet),
        *(each for each in more[1:] if each),
        lettered(f"Placed from {grade}; sources: {'; '.join(interface.sources)}."),
        CAUTION,
    ]
    return [
        TitleLine(heading(job), 7.0, lettered(job.frame.maker or "")),
        TitleLine(what, 5.0, f"{job.paper.size}, {sheet_of}" if sheet_of else job.paper.size),
        TitleLine(
            f"{told(interface.title)} ({interface.name}{own}), made for {interface.native:g}; "
            f"disc {job.mount.rotor:g}; adapter: {placement.adapter.name}"
        ),
        TitleLine(f"{axle.title} ({axle.name}), {datum}"),
        *(TitleLine(each) for each in (*map(told, placement.confirm), *more[:1]) if each),
        *last_lines(job, small),
    ]


def last_lines(job: Job, small: Sequence[str]) -> list[TitleLine]:
    """Return the last lines of every title block: the small print, and how to print.

    A sheet that is corrected for a printer says so in both, with the factors in the small print.
    """
    if not job.paper.correction:
        return [TitleLine(" ".join(small), _SMALL), TitleLine(PRINT_LINE)]
    return [TitleLine(" ".join((job.paper.correction, *small)), _SMALL), TitleLine(CORRECTED_LINE)]


def stamp(placement: Placement, failed: Sequence[Clearance] = ()) -> str:
    """Return the warnings that are lettered large, or an empty string: clearances that fail come first."""
    return " ".join(each for each in (clearance_stamp(failed), *map(told, placement.stamps)) if each)


def clearance_stamp(failed: Sequence[Clearance]) -> str:
    """Return in large words which clearances fail, at most two by name; an empty string for none."""
    if not failed:
        return ""
    named = "; ".join(each.short for each in failed[:_STAMPED])
    more = f"; and {len(failed) - _STAMPED} more" if len(failed) > _STAMPED else ""
    return f"CLEARANCE FAILS: {named}{more}."


def seen_from(view: View) -> str:
    """Return from which side a side view is seen, in words."""
    if view == "outboard":
        return "seen from outboard"
    return "seen from inboard, mirrored"


def boss_size(job: Job, placement: Placement) -> tuple[float, float]:
    """Return the diameter and length of the bosses to draw: the job's, or else the table's.

    The near one may have a length of its own: see `boss_length`.
    """
    face = placement.interface
    diameter, length = job.boss.diameter, job.boss.length
    if diameter is None:
        diameter = face.boss_diameter.value if face.boss_diameter else face.hole.diameter.value * 2.0
    if length is None:
        length = face.boss_length.value if face.boss_length else diameter
    return diameter, length


def boss_length(job: Job, placement: Placement, hole: str) -> float:
    """Return the length of the boss at the hole "near" or "far"."""
    own = job.boss.near_length if hole == "near" else None
    return boss_size(job, placement)[1] if own is None else own


def tab_thickness(job: Job, placement: Placement) -> float:
    """Return the thickness of the tab once faced, to draw it: the job's, or else the table's."""
    if job.boss.thickness is not None:
        return job.boss.thickness
    number = placement.interface.tab_thickness
    return number.value if number else 6.0


def boss_words(job: Job, placement: Placement) -> str:
    """Say which bosses are drawn, and how far to trust their size; nothing for a tab."""
    if placement.interface.family == "tab":
        return ""
    size = boss_sizes(job, placement)
    given = (job.boss.diameter is not None, job.boss.length is not None)
    if all(given):
        return f"Bosses {size}, the job's."
    which = "size" if not any(given) else "length" if given[0] else "diameter"
    return f"Bosses {size}: the {which} is our drawing's, not a standard's; measure yours."


def boss_sizes(job: Job, placement: Placement) -> str:
    """Return the size of the bosses in words: "Ø12 × 52, the near one × 27"."""
    diameter, length = boss_size(job, placement)
    near = boss_length(job, placement, "near")
    return f"Ø{diameter:g} × {length:g}{f', the near one × {near:g}' if near != length else ''}"


def slot_words(job: Job, placement: Placement) -> str:
    """Say which way an open slot opens and from what, and how the bicycle stands; nothing for a thru axle."""
    slot, stands = job.dropout.slot, job.stance.of(placement.end)
    if placement.axle.kind == "thru axle" or slot is None:
        return ""
    tube = "fork leg" if placement.end == "front" else "chainstay"
    said = f"The slot {opens(slot, placement.end, job.dropout.slot_from)}"
    if stands.angle is None:
        return f"{said}; how the bicycle stands is not given."
    return f"{said}; the {tube} stands at {stands.angle:.1f} degrees to the ground."


def hole_words(placement: Placement) -> str:
    """Say what is made at each hole."""
    hole = placement.interface.hole
    if hole.kind == "thread":
        return f"Ø{hole.diameter.value:g}, tap {hole.screw}"
    if hole.kind == "slot":
        return f"{hole.diameter.value:g} × {hole.length:g} for {hole.screw}"
    return f"Ø{hole.diameter.value:g} for {hole.screw}"


def middle_line(placement: Placement) -> str:
    """Name what the sideways number of a family measures."""
    return {"tab": "tab inner face", "post": "posts' middle line", "flat": "holes' middle line"}[
        placement.interface.family
    ]


def number_rows(placement: Placement) -> list[tuple[str, str]]:
    """Return the table of numbers for full-size sheets: name and value in mm."""
    face, rotor = placement.interface, placement.rotor
    near, far = face.radii
    level = "hole line" if face.family == "tab" else "mount face"
    rows = [
        ("axle to near hole", mm(near)),
        ("axle to far hole", mm(far)),
        ("near to far hole", mm(face.x_far - face.x_near)),
        (f"axle up to {level}", mm(face.h)),
        ("foot to near hole", mm(face.x_near)),
        (f"{middle_line(placement)}*", signed(placement.lateral_z)),
    ]
    if rotor.inner_face_z is not None and rotor.outer_face_z is not None:
        rows += [
            ("disc, inner face*", signed(rotor.inner_face_z)),
            ("disc, outer face*", signed(rotor.outer_face_z)),
        ]
    return [*rows, ("hole" if face.family == "tab" else "hole, from the face", hole_words(placement))]


SIDEWAYS = "* sideways from the dropout's inner face, + outboard"
