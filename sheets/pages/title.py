"""What the title block of a sheet says of a job: the same words on every sheet."""

from collections.abc import Sequence

from fonts.drafting import missing
from geometry.clearance.bodies import entry
from geometry.clearance.margins import Clearance
from geometry.core.say import say
from geometry.mount.placement import Placement
from geometry.printing.distortion import numbers
from geometry.tubes.tube import plain as plain
from sheets.ink.records import View
from sheets.job.read import Job
from sheets.pages.frame import Headed
from sheets.pages.title_block import TitleLine
from sheets.words.lengths import measured, units
from sheets.words.tell import tell, told

_STAMPED = 2
_SMALL = 2.5
_SHORT = 24
"""Letters of a name that has room on a line beside others."""


def lettered(text: str) -> str:
    """Return a text as the drafting alphabet can letter it: what it lacks as its code, [U+9DB4]."""
    for character in missing(text):
        text = text.replace(character, f"[U+{ord(character):04X}]")
    return text


def heading(job: Job) -> str:
    """Return the frame's id and name as they head every sheet."""
    name = job.frame.name if job.frame.name and job.frame.name != job.frame.id else ""
    return lettered(" ".join(part for part in (job.frame.id, name) if part))


def mm(value: float, places: int = 2, form: str = "bare") -> str:
    """Return a length as lettered, never as -0, in the units of the job; those of a "cell" stand over it."""
    return measured(0.0 if float(f"{value:.{places}f}") == 0.0 else value, f".{places}f {form}")


def signed(value: float, form: str = "bare") -> str:
    """Return a sideways position with its sign, + outboard."""
    if float(f"{value:.2f}") == 0.0:
        return mm(0.0, form=form)
    return measured(value, f"+.2f {form}")


def headed(
    job: Job,
    placement: Placement,
    kind: str,
    what: str,
    sheet_of: str,
    steps: Sequence[str],
    said: Sequence[str] = (),
    small: Sequence[str] = (),
) -> Headed:
    """Return what a full-size sheet of a `kind` says of itself: `what` it is, and the steps to use it.

    `said` is lettered to be read at the bench, `small` below it. Where each number comes from stands on the
    page of numbers and sources. A sheet that is corrected for a printer says so, with the factors.
    """
    interface, correction = placement.interface, job.paper.correction
    # A long one stands on the card alone: no sheet must fail to fit because of who made the frame.
    maker = lettered(job.frame.maker or "")
    lines = [
        TitleLine(heading(job), 7.0 if len(heading(job)) <= _SHORT else 5.0, numbered=True, kind="H1"),
        TitleLine(what, 5.0, f"{job.paper.size}, {sheet_of}" if sheet_of else job.paper.size, kind="H2"),
        TitleLine(tell(f"packet.use.{kind}"), right=maker if len(maker) <= _SHORT else ""),
        TitleLine(
            tell(
                "title.mount_own" if interface.own else "title.mount",
                title=interface.title,
                name=interface.name,
                native=interface.native,
                disc=job.mount.rotor,
                axle=placement.axle.title,
            )
        ),
        *(TitleLine(each) for each in (*map(told, placement.confirm), *said) if each),
        TitleLine(
            " ".join(
                each for each in (correction, *small, tell("title.caution", paper=job.paper.size)) if each
            ),
            _SMALL,
        ),
    ]
    table = numbers()
    bar, off = table["check.bar"].value, table["check.read"].value
    if correction:
        bars = tell(f"steps.bars_corrected.{units()}", bar=bar, off=off)
    else:
        bars = tell(f"steps.bars.{units()}", bar=bar, off=off)
    return Headed(lines, (bars, *steps))


def stamp(placement: Placement, failed: Sequence[Clearance] = (), stops: bool = False) -> str:
    """Return the warnings that are lettered large, or an empty string: clearances that fail come first.

    `stops` says that something else forbids to build like this, which the card says in full.
    """
    first = clearance_stamp(failed), tell("title.stops") if stops else ""
    return " ".join(each for each in (*first, *map(told, placement.stamps)) if each)


def clearance_stamp(failed: Sequence[Clearance]) -> str:
    """Return in large words which clearances fail, at most two by name; an empty string for none."""
    if not failed:
        return ""
    first, more = "; ".join(told(each.short) for each in failed[:_STAMPED]), len(failed) - _STAMPED
    return tell("title.fail_more" if more > 0 else "title.fail", named=first, more=more)


def seen_from(view: View) -> str:
    """Return from which side a side view is seen, in words; the read-back looks for the side's own ones."""
    return tell(f"title.seen.{view}", side=say(f"title.side.{view}"))


def boss_size(job: Job, placement: Placement) -> tuple[float, float]:
    """Return the diameter and length of the bosses to draw: the job's, or else the table's.

    The near one may have a length of its own: see `boss_length`.
    """
    face = placement.interface
    diameter, long = job.boss.diameter, job.boss.length
    if diameter is None:
        diameter = face.boss_diameter.value if face.boss_diameter else face.hole.diameter.value * 2.0
    if long is None:
        long = face.boss_length.value if face.boss_length else diameter
    return diameter, long


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


def tab_radius(placement: Placement) -> float:
    """Return the radius of a plain tab's ends about its holes, mm: the metal that is asked beside a hole."""
    return placement.interface.hole.diameter.value * (0.5 + entry("metal", "asked").value)


def boss_words(job: Job, placement: Placement) -> str:
    """Say which bosses are drawn, and how far to trust their size; nothing for a tab."""
    if placement.interface.family == "tab":
        return ""
    given = (job.boss.diameter is not None, job.boss.length is not None)
    which = {(True, True): "own", (True, False): "length", (False, True): "diameter"}.get(given, "size")
    parts = say(f"title.parts.{placement.interface.family}")
    return tell(f"title.bosses.{which}", parts=parts, size=boss_sizes(job, placement))


def boss_sizes(job: Job, placement: Placement) -> str:
    """Return the size of the bosses in words: "Ø12 × 52, the near one × 27"."""
    near, far = (length_words(job, placement, hole) for hole in ("near", "far"))
    size = f"Ø{measured(boss_size(job, placement)[0], 'g bare')} × {far}"
    return size if near == far else tell("title.near_boss", size=size, near=near)


def length_words(job: Job, placement: Placement, hole: str) -> str:
    """Return how long the boss at the hole "near" or "far" is, and that it is faced then where it is."""
    long = boss_length(job, placement, hole)
    return tell("title.faced", long=long) if job.process.facing else measured(long, "g bare")


def hole_words(placement: Placement) -> str:
    """Say what is made at each hole."""
    hole = placement.interface.hole
    diameter, long = hole.diameter.value, hole.length or 0.0
    return tell(f"title.hole.{hole.kind}", diameter=diameter, length=long, screw=hole.screw)


def middle_line(placement: Placement) -> str:
    """Name what the sideways number of a family measures."""
    return tell(f"title.middle.{placement.interface.family}")


def number_rows(placement: Placement) -> list[tuple[str, str]]:
    """Return the table of numbers for full-size sheets: name and value in mm."""
    face, rotor = placement.interface, placement.rotor
    near, far = face.radii
    tab = face.family == "tab"
    rows = [
        ("axle_near", mm(near, form="cell")),
        ("axle_far", mm(far, form="cell")),
        ("near_far", mm(face.x_far - face.x_near, form="cell")),
        ("hole_line" if tab else "mount_face", mm(face.h, form="cell")),
        ("foot_near", mm(face.x_near, form="cell")),
        (f"middle_{face.family}", signed(placement.lateral_z, "cell")),
    ]
    if rotor.inner_face_z is not None and rotor.outer_face_z is not None:
        rows += [
            ("disc_inner", signed(rotor.inner_face_z, "cell")),
            ("disc_outer", signed(rotor.outer_face_z, "cell")),
        ]
    rows.append(("hole" if tab else "hole_from_face", hole_words(placement)))
    return [(tell(f"title.numbers.{what}"), value) for what, value in rows]
