"""What is told of the mount's screws: in full for documents, in short for the card."""

from geometry.core.errors import GeometryError, TableError
from geometry.core.say import Say, named, say
from geometry.mount.placement import Placement
from geometry.tables.fasteners import engagement, flat_screw, screw, torque
from geometry.tables.fasteners import screw_length as tab_screw
from sheets.job.read import Job
from sheets.words.lengths import drill, units
from sheets.words.tell import lines, tell, told

PAST = 2.0
"""How many turns a thread goes on past the end of its screw (common practice, no source)."""
SCREW_LINES = {
    "thread": "thread and holes",
    "head": "head and washer",
    "length": "length",
    "engagement": "engagement",
    "torque": "torque",
}
"""What is told of the mount's screws, as documents have it, which are read by programs."""


def screw_lines(job: Job, placement: Placement) -> tuple[tuple[str, str], ...]:
    """Return what is told of the mount's screws in full, by the keys of SCREW_LINES."""
    hole = placement.interface.hole
    one = screw(hole.screw)
    holes = tell(
        f"setup.holes.{hole.kind}",
        name=one.name,
        drill=one.tap_drill.value,
        pitch=one.pitch.value,
        diameter=hole.diameter.value,
        length=hole.length or 0.0,
        drill_near=drill_near(placement),
        fine=one.clearance["fine"].value,
        medium=one.clearance["medium"].value,
    )
    head = tell(
        "setup.head_and_washer",
        head=one.head.value,
        knurled=one.head_knurled.value,
        high=one.head_height.value,
        key=one.key.value,
        bore=one.washer.bore.value,
        outside=one.washer.outside.value,
        thick=one.washer.thickness.value,
    )
    return (
        ("thread", holes),
        ("head", head),
        ("length", screw_length(job, placement)[1]),
        ("engagement", _engagement_words(job, placement)),
        ("torque", told(torque().sentence)),
    )


def drill_near(placement: Placement) -> Say | str:
    """Return which drill of 1/64 in will do for a plain hole where inches are told, "" for none.

    It may be larger than the hole by as much as ISO 273's fine hole for the screw is, and no smaller: the
    true size is told before it. A tapping drill and a slot have none: no tolerance is kept on file for them.
    """
    hole = placement.interface.hole
    if units() == "mm" or hole.kind != "plain":
        return ""
    size = hole.diameter.value
    if exact := drill(size):
        return say("setup.drill_is", size=exact)
    near = drill(size, screw(hole.screw).clearance["fine"].value)
    return say("setup.drill_passes", size=near) if near else ""


def screw_length(job: Job, placement: Placement) -> tuple[float | None, str]:
    """Return a screw's length under its head, mm, None where it is to be measured, and the words."""
    face = placement.interface
    one = screw(face.hole.screw)
    if face.family == "flat" and face.end == "rear":
        if job.boss.length is None:
            return None, tell("setup.length.flat_unknown")
        try:
            made = flat_screw(job.boss.length)
        except GeometryError as error:
            return None, "; ".join(lines(error))
        return made.shank, told(made.sentence)
    if face.family == "tab":
        found = tab_screw(one, job.boss.thickness, engagement(one, "aluminium"))
        if found is None:
            return None, tell("setup.length.tab_unknown")
        return found.stock, f"{told(found.sentence)} {tell('setup.length.adapter')}"
    return None, tell("setup.length.measure")


def _engagement_words(job: Job, placement: Placement) -> str:
    face = placement.interface
    one = screw(face.hole.screw)
    known = tapped(job)
    if face.hole.kind != "thread":
        return tell("setup.engagement.elsewhere")
    try:
        rule = engagement(one, known)
    except TableError as error:
        return "; ".join(lines(error))
    return tell(
        "setup.engagement.least_of" if rule.high > rule.low else "setup.engagement.least",
        length=rule.length,
        material=named(known),
        low=rule.low,
        high=rule.high,
    )


def mount_named(placement: Placement) -> Say:
    """Return what a mount is made of: "posts"."""
    return named({"tab": "tab", "post": "posts", "flat": "bosses"}[placement.interface.family])


def dummy_words(job: Job) -> str:
    """Return what the sheet slips over: few dropouts let a bar as thick as the dummy axle through."""
    code = "setup.sheet_slips" if job.paper.view == "outboard" else "setup.sheet_slips_inboard"
    return tell(code, diameter=job.axle.dummy)


def bench_words(job: Job, placement: Placement) -> Say | str:
    """Return what is made of posts' or bosses' holes on the bench, before they are set, and how deep.

    Order of work, face sheet and traveller tell this one. A thread goes as deep as its screw needs in that
    metal once the mount is faced, and further than the screw reaches, which else is tight before it clamps.
    The bore goes right through, as the screen takes it, and lets gas out.
    """
    hole = placement.interface.hole
    if hole.kind == "plain":
        # A tab is drilled by its own template.
        return ""
    one = screw(hole.screw)
    kind, deep = str(hole.kind), 0.0
    if hole.kind == "thread":
        try:
            deep = engagement(one, tapped(job)).length + job.process.facing
            kind = "thread_faced" if job.process.facing else kind
        except TableError:
            kind = "thread_unknown"
    return say(
        f"operations.bench.{kind}",
        mount=mount_named(placement),
        drill=hole.diameter.value,
        name=one.name,
        pitch=one.pitch.value,
        deep=deep,
        past=PAST * one.pitch.value + job.process.facing,
        facing=job.process.facing,
        diameter=hole.diameter.value,
        length=hole.length or 0.0,
    )


def tapped(job: Job) -> str:
    """Return what the thread is cut in, as rules of engagement call it: steel where the job does not say."""
    material = (job.process.material or "").lower()
    found = (each for each in ("titanium", "stainless", "aluminium", "brass") if each in material)
    return next(found, "steel")


def engaged(job: Job, placement: Placement) -> str:
    """Return the material whose rule of engagement counts: a tab's adapter, "" where it is not ours."""
    face = placement.interface
    if face.hole.kind == "thread":
        return tapped(job)
    return "aluminium" if face.family == "tab" else ""


def short_screws(job: Job, placement: Placement) -> tuple[Say, ...]:
    """Return what the card says of the screws, a short line each: screw, hole, thread, torque."""
    hole = placement.interface.hole
    one = screw(hole.screw)
    length = screw_length(job, placement)[0]
    code = "setup.short_screw.known" if length is not None else "setup.short_screw.unknown"
    said = [
        say(code, name=one.name, length=length or 0.0, key=one.key.value),
        say(
            f"setup.short_hole.{hole.kind}",
            name=one.name,
            drill=one.tap_drill.value,
            pitch=one.pitch.value,
            diameter=hole.diameter.value,
            length=hole.length or 0.0,
            drill_near=drill_near(placement),
        ),
        say("setup.short_head", head=one.head.value, high=one.head_height.value),
        say("setup.short_washer", outside=one.washer.outside.value, thick=one.washer.thickness.value),
    ]
    if length is None:
        said.insert(1, say("setup.short_length"))
    if hole.kind == "thread":
        try:
            rule = engagement(one, tapped(job))
            said.append(say("setup.short_engagement", length=rule.length, material=named(tapped(job))))
        except TableError:
            # The full lines on the page of numbers say that no rule is on file.
            pass
    range_ = torque()
    said.append(say("setup.short_torque", low=range_.low.value, high=range_.high.value))
    return tuple(said)
