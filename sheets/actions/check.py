"""A job's answer for reading at a terminal: its verdict and ten numbers, or every number under headings."""

import shlex
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

from geometry.clearance.judged import down, missing
from geometry.clearance.tilt import Tilts
from geometry.core.findings import Finding
from geometry.core.frozen import dataclass
from geometry.core.plane import short
from geometry.core.say import Say, Value, named, say
from geometry.mount.placement import Placement
from geometry.mount.spacers import Stack
from geometry.mount.standoff import UNDER_SHEET, proud, untold
from geometry.survey.reading import Reading
from geometry.tables.interface_rows import HoleForm
from geometry.tubes.tube import Tube
from sheets.actions.check_load import load_rows
from sheets.actions.check_rows import Row, grade_of, mm, row, wide
from sheets.actions.own_face import own_face_of
from sheets.job.read import JobFile, blaming, place_job, tubes_of
from sheets.pages.wraps.parts import unshown
from sheets.setup.cited import Cited, cited
from sheets.setup.clearances import Clear, largest_words, tilts_of
from sheets.setup.findings import all_findings, answer_lines
from sheets.setup.fixture import fixture_rows
from sheets.setup.outline import lines as outline_lines
from sheets.setup.setup import SetUp, left_words, set_up
from sheets.setup.ten import ten
from sheets.words.bosses import rows as boss_rows
from sheets.words.lengths import measured, of_text, telling, units
from sheets.words.lengths import stack as in_line
from sheets.words.tell import tell, told
from sheets.words.wrap import wrapped


@dataclass(frozen=True, slots=True)
class Checked:
    """A job that was checked: where its mount sits, its set-up with tilts, and all that is found of it."""

    source: JobFile
    placement: Placement
    setup: SetUp
    findings: tuple[Finding, ...]

    def short(self, width: int) -> str:
        """Return the answer, what was found, and the ten numbers, in lines of `width` characters."""
        job = self.source.job
        with telling(job.paper.units):
            rows = ten(job, self.placement, self.setup, tubes_of(job))
            return "\n".join(
                [
                    *answer_lines(job, self.findings, width),
                    "",
                    *wrapped(tell(f"ten.heading.{job.paper.units}"), width, "  "),
                    *_columns(rows, width),
                    f"  {tell('finding.every_number', path=shlex.quote(str(self.source.path)))}",
                ]
            )

    def whole(self, width: int) -> str:
        """Return the same answer, and below it every number of the job under headings."""
        told_in = self.source.job.paper.units
        with telling(told_in):
            lines = [*answer_lines(self.source.job, self.findings, width), f"  {self.source.path}"]
            for heading, rows in _everything(self):
                unit = f".{told_in}" if heading in ("holes", "placing") else ""
                lines += ["", tell(f"check.heading.{heading}{unit}")]
                lines += _holes(self.placement) if heading == "holes" else _columns(rows, width)
        return "\n".join(lines)


def report(source: JobFile) -> Checked:
    """Return a job placed, set up and judged; raise DropleafError as placing and setting up do."""
    with telling(source.job.paper.units):
        placement = place_job(source.job)
        with blaming(source.path):
            own_face_of(source)
        tubes = tubes_of(source.job)
        setup = set_up(source.job, placement, tubes)
        findings = all_findings(source.job, placement, setup, unshown(source.job, placement, tubes))
    return Checked(source, placement, replace(setup, tilts=tilts_of(source.job, tubes)), findings)


def _everything(each: Checked) -> Iterator[tuple[str, list[Row]]]:
    """Give every number of a job in groups: the key of each one's heading, and its rows."""
    source, placement, setup = each.source, each.placement, each.setup
    tubes = tubes_of(source.job)
    yield "mount", _what(source, placement)
    yield "holes", []
    yield "placing", _numbers(placement)
    yield "tubes", _tubes(source, placement, tubes)
    sources = (row("source", source) for source in placement.interface.sources)
    yield "trust", [row("grade", placement.grade), *sources]
    if setup.shape is not None:
        rows = [row("outline", setup.shape.sentence)]
        yield "outline", [*rows, *(row("outline_hole", each) for each in outline_lines(setup.shape))]
    yield "stack", _stack(setup)
    yield "readings", _readings(setup)
    yield "screws", _screws(setup)
    yield "room", [*_disc(setup), *_clear(setup.clear, setup.tilts)]
    if setup.load is not None:
        yield "load", load_rows(setup.load)
    if setup.fixture is not None:
        yield "fixture", list(fixture_rows(setup.fixture))
    yield "work", _work(setup)
    yield "cautions", _cautions(setup)
    yield "sources", _sources(cited(source.job, placement, setup))


def _what(source: JobFile, placement: Placement) -> list[Row]:
    interface, axle, adapter = placement.interface, placement.axle, placement.adapter
    made: dict[str, Value] = {"title": interface.title, "name": interface.name, "native": interface.native}
    step: dict[str, Value] = {"adapter": adapter.name, "step": adapter.step, "grade": grade_of(adapter.grade)}
    return [
        row("mount", say("title.made_own" if interface.own else "title.made", **made)),
        row("disc", f"{source.job.mount.rotor:g}"),
        row(
            "adapter",
            say("check.adapter_and", **step, more=adapter.sentence)
            if adapter.sentence
            else say("check.adapter", **step),
        ),
        row("axle", title=axle.title, name=axle.name, width=wide(axle.width)),
        row("pocket", pocket=placement.pocket, grade=grade_of(placement.pocket_grade)),
        row("datum", say(f"check.datum.{placement.end}", floor=placement.datum_shift)),
        row("host", host=placement.host, tilt=placement.tilt),
    ]


def _holes(placement: Placement) -> list[str]:
    """Return the table of hole centres; x rearward, y up, z outboard of the dropout's inner face."""
    rows: list[tuple[str, ...]] = [(tell("check.hole"), "x", "y", "z", tell("check.from_axle"))]
    for hole, radius in zip(placement.holes, placement.interface.radii, strict=True):
        x, y, z = map(mm, hole.centre)
        rows.append((told(named(hole.name)), x, y, z, mm(radius)))
    wide = max(12, *(len(value) + 2 for _, *values in rows for value in values))
    lines = [f"  {name:<8}" + "".join(f"{value:>{wide}}" for value in values) for name, *values in rows]
    x, y, z = (f"{part + 0.0:.3f}" for part in placement.holes[0].axis)
    made = _made(placement.interface.hole)
    return [*lines, f"  {tell('check.holes', made=made, x=x, y=y, z=z)}"]


def _made(hole: HoleForm) -> Say:
    size = measured(hole.diameter.value, "g bare")
    if hole.kind == "slot" and hole.length is not None:
        size = f"{size} x {measured(hole.length, 'g bare')}"
    return say(f"check.made.{hole.kind}", size=size, screw=hole.screw, grade=grade_of(hole.diameter.grade))


def _numbers(placement: Placement) -> list[Row]:
    interface, rotor, lateral = placement.interface, placement.rotor, placement.interface.lateral
    tab, band = interface.family == "tab", interface.tolerance
    sideways = say(
        "check.sideways",
        z=mm(placement.lateral_z, sign=True),
        lateral=mm(lateral.value, sign=True),
        grade=grade_of(lateral.grade),
    )
    return [
        row("hole_line" if tab else "mount_face", mm(interface.h)),
        row("to_near", mm(interface.x_near)),
        row("to_far", mm(interface.x_far)),
        row("near_to_far", mm(interface.x_far - interface.x_near)),
        row("band", mm(None) if band is None else say("check.plus_or_minus", band=band)),
        row("tab_z" if tab else "holes_z", sideways),
        row("radius", mm(rotor.radius)),
        row("track", mm(rotor.radius - rotor.track)),
        row("inner_z", mm(rotor.inner_face_z, sign=True)),
        row("outer_z", mm(rotor.outer_face_z, sign=True)),
    ]


def _tubes(source: JobFile, placement: Placement, tubes: Mapping[str, Tube]) -> list[Row]:
    given = source.job.tubes.given()
    placed = {name for name, table in given.items() if "offset" in table.model_fields_set}
    rows: list[Row] = []
    for name, tube in tubes.items():
        code = "check.tube" if name in placed else "check.tube_centred"
        first, last = map(short, tube.span)
        rows.append((name, say(code, direction=tube.direction, first=first, last=last)))
    if placement.host not in tubes:
        rows.append((placement.host, say("check.no_host")))
    thickness, view = source.job.dropout.thickness, source.job.paper.view
    if thickness is None and view == "outboard":
        return [*rows, row("stand_off", say("check.no_thickness"))]
    face = thickness if thickness is not None and view == "outboard" else 0.0
    reach = placement.interface.x_far + UNDER_SHEET
    high, open_ = proud(tubes.values(), face, view, reach), untold(tubes.values(), reach)
    for tube in open_:
        rows.append(row("stand_off", tube=tube.name, missing=missing(tube.name, tube)))
    if high is not None:
        rows.append(row("stand_off", say(f"check.proud.{view}", by=mm(high.by, form="bare"), tube=high.tube)))
    elif not open_:
        rows.append(row("stand_off", say(f"check.none_proud.{view}")))
    return rows


def _clear(clear: Clear, tilts: Tilts | None) -> list[Row]:
    """Return every clearance with its state and nearest points, what a moving wheel does, and the tilts."""
    rows = []
    for each in clear.clearances:
        what = each.clause
        if each.second is not None:
            x, y, z = each.second
            what = say("check.clearance_at", clause=what, x=x, y=y, z=z)
        rows.append(row(f"clearance.{each.state}", what))
    if clear.travel is not None:
        rows.append(row("travel", clear.travel.sentence))
    rows.append(row("wheel_out", clear.way_out.clause))
    return [*rows, *(row("tilt", sentence) for sentence in (tilts.sentences if tilts else ()))]


def _stack(setup: SetUp) -> list[Row]:
    """Return what is stacked between plate and mount, and what the paper leaves of error."""
    rows: list[Row] = []
    if setup.build_up is not None:
        built, face = setup.build_up, setup.build_up.plate_face
        start = say(f"check.in_fixture.{face}") if setup.fixture else say(f"check.from.{face}")
        rows.append(row("stack", start=start, filling=built.filling))
        rows.append(row("chain", worst_case=built.worst_case, rss=built.rss))
    if setup.choice is not None:
        rows.append(row("pieces", setup.choice.sentence))
        rows += [row("or", _pieces(other)) for other in setup.choice.alternatives]
    rows += [("", sentence) for sentence in (*setup.stack_words, setup.plate_words) if sentence]
    for said in setup.print_words:
        alone = said.code == "own.printer.error_left"
        rows.append(row("paper", say("check.says.paper", **dict(said.values)) if alone else said))
    return rows


def _readings(setup: SetUp) -> list[Row]:
    rows: list[Row] = [(reading.name, _reading(reading)) for reading in setup.readings]
    return rows + [row("readings", each) for each in (*setup.reading_words, *setup.how_words)]


def _screws(setup: SetUp) -> list[Row]:
    """Return the mount's screws, and how posts and bosses meet their tube."""
    rows: list[Row] = [
        (say("check.label.screw_has", name=say(f"setup.screw.{key}")), value) for key, value in setup.screws
    ]
    heads, lines = boss_rows(setup.bosses) if setup.bosses else ((), ())
    for name, *values in lines:
        text = ", ".join(f"{head} {value}" for head, value in zip(heads[1:], values, strict=True))
        rows.append((say("check.label.boss_at", name=name), text))
    return rows + [row("boss", each.text) for each in setup.boss_words if each.level == "note"]


def _disc(setup: SetUp) -> list[Row]:
    clear, rows = setup.clear, []
    if clear.disc_words:
        rows.append(row("disc_to_tube", clear.disc_words))
    largest = clear.largest
    if largest is not None and largest.gaps:
        gaps = ", ".join(f"{size:g}: {of_text(down(gap.left), 'bare')}" for size, gap in largest.gaps)
        after = say("check.after_runout", runout=largest.runout, gaps=gaps)
        rows.append(row("by_size", after if largest.runout else gaps))
    return [*rows, row("largest", largest_words(clear.largest, row=True))]


def _work(setup: SetUp) -> list[Row]:
    rows: list[Row] = []
    for number, step in setup.numbered:
        what = [step.text]
        if step.check:
            what.append(tell("check.check_point", point=named(step.check)))
        if step.hold:
            what.append(tell("traveller.stop", hold=step.hold))
        rows.append((say("check.label.step", number=number, key=step.key), " ".join(what)))
    return rows


def _cautions(setup: SetUp) -> list[Row]:
    return [
        (say(f"check.caution.{caution.group}"), f"{told(caution.text)} [{caution.source}]")
        for caution in setup.cautions
    ]


def _sources(found: Cited) -> list[Row]:
    """Return every number of the packet with its sources in full; paper cites them in short."""
    return [
        (
            each.name,
            say("check.one_number", value=each.value, grade=each.grade, sources="; ".join(each.texts)),
        )
        for each in found.entries
        if each.texts
    ]


def _reading(reading: Reading) -> Say:
    """Return what a reading must be, in mm with its limits and their grade, in inches, and how often."""
    now = units()
    # Beside mm the inches of the target are enough; by themselves they have their limits.
    inch: Say | str = reading.inch.nominal if now == "mm" else _limits(reading, "in")
    metric = _limits(reading, "mm")
    if reading.times == 1:
        return say(f"check.read_once.{now}", mm=metric, inch=inch)
    return say(f"check.read_often.{now}", mm=metric, inch=inch, times=reading.times)


def _limits(reading: Reading, unit: str) -> Say:
    """Return a reading's target in mm or in, with its limits where it has any."""
    shown, mark = reading.inch if unit == "in" else reading.mm, "*" if reading.judged else ""
    if shown.low is None or shown.high is None or reading.limit is None:
        return say(f"check.no_limits.{unit}", nominal=shown.nominal)
    return say(
        f"check.limits.{unit}",
        nominal=shown.nominal,
        low=shown.low,
        high=f"{shown.high}{mark}",
        grade=grade_of(reading.limit.grade),
    )


def _pieces(stack: Stack) -> Say:
    pieces = in_line(stack.pieces)
    return say("check.pieces" if pieces else "check.no_pieces", pieces=pieces, left=left_words(stack))


def _columns(rows: Iterable[Row], width: int) -> list[str]:
    """Return rows in two columns, wrapped at words; a long label stands on a line of its own."""
    pairs = [(told(name), told(what)) for name, what in rows]
    wide = min(max((len(name) for name, _ in pairs), default=0), width // 3)
    lines: list[str] = []
    for name, what in pairs:
        if len(name) > wide:
            lines.append(f"  {name}")
            name = ""
        lines += wrapped(what, width, f"  {name:<{wide}}  ")
    return lines
