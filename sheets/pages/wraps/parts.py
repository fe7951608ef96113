"""What a job's wraps show: the strips for its tubes, bosses and brace, and what cannot be drawn, in words."""

import functools
from collections.abc import Mapping

from geometry.clearance.judged import missing
from geometry.core.errors import GeometryError
from geometry.core.findings import Finding
from geometry.core.frozen import dataclass
from geometry.core.say import named, say
from geometry.mount.placement import Placement
from geometry.tubes.tube import Tube
from sheets.job.read import Job
from sheets.pages import title as words
from sheets.pages.wraps.boss import boss_strips, host_blank, rotor_marks
from sheets.pages.wraps.brace import brace_marks, brace_strips
from sheets.pages.wraps.foot import FootFigure, foot_figures
from sheets.pages.wraps.strip import Strip
from sheets.pages.wraps.tab import Plate, tab_edges, tab_marks
from sheets.pages.wraps.tube import strips_on
from sheets.setup.outline import shape


@dataclass(frozen=True, slots=True)
class Parts:
    """Strips to wrap, flat patterns, figures of posts that meet no tube, and what is found of them."""

    strips: tuple[Strip, ...]
    plates: tuple[Plate, ...]
    findings: tuple[Finding, ...]
    feet: tuple[FootFigure, ...] = ()


def unshown(job: Job, placement: Placement, tubes: Mapping[str, Tube]) -> tuple[Finding, ...]:
    """Return what the wraps of a job cannot show; for who does not draw them."""
    return _unshown(job, placement, tuple(tubes.items()))


@functools.lru_cache(maxsize=64)
def _unshown(job: Job, placement: Placement, given: tuple[tuple[str, Tube], ...]) -> tuple[Finding, ...]:
    return parts(job, placement, dict(given)).findings


def parts(job: Job, placement: Placement, tubes: Mapping[str, Tube]) -> Parts:
    """Return what the wraps of a job show; what does not meet is left out and said, never raised."""
    said: list[Finding] = []
    strips: list[Strip] = []
    plates: list[Plate] = []
    host = named(placement.host)
    tube = tubes.get(placement.host)
    if tube is None:
        what = say("wrap.no_host", host=host, key=placement.host)
        said.append(Finding("no-wrap", "unknown", what, f"tubes.{placement.host}"))
    elif not tube.placed:
        what = say("wrap.unplaced", host=host, measure=missing(tube.name, tube))
        said.append(Finding("no-wrap", "unknown", what, f"tubes.{placement.host}"))
    elif placement.interface.family != "tab":
        strips, said = boss_strips(job, placement, tube)
    else:
        try:
            edges = tab_edges(job, placement, tube)
        except GeometryError as error:
            said.append(Finding("no-wrap", "warn", say("wrap.no_tab", why=error.problems[0].what), "tab"))
            said += _carrier(job, placement)
        else:
            marks = [*tab_marks(edges), *rotor_marks(placement, tube), *brace_marks(job, tube)]
            strips, why = strips_on(host_blank(job, placement, tube), marks, job.wrap.clear)
            thick = words.tab_thickness(job, placement) + job.process.facing
            plates = [Plate(edge, tube.name, placement, thick) for edge in edges]
            said += [*(word for edge in edges for word in edge.words), *why]
    unplaced = [each for each in tubes.values() if not each.placed]
    if job.tubes.brace is not None and unplaced:
        what = say("wrap.brace_unplaced", measure=tuple(missing(each.name, each) for each in unplaced))
        said.append(Finding("no-wrap", "unknown", what, "tubes.brace"))
    elif job.tubes.brace is not None:
        try:
            more, why = brace_strips(job, tubes)
        except GeometryError as error:
            what = say("wrap.no_brace", why=error.problems[0].what)
            said.append(Finding("no-wrap", "warn", what, "tubes.brace"))
        else:
            strips, said = [*strips, *more], [*said, *why]
    feet = foot_figures(job, placement, tubes)
    return Parts(tuple(strips), tuple(plates), tuple(dict.fromkeys(said)), feet)


def _carrier(job: Job, placement: Placement) -> tuple[Finding, ...]:
    """Return what joins a tab whose plate does not meet its tube; nothing for one that the dropout has."""
    drawn, host = shape(job, placement), named(placement.host)
    if drawn is not None and drawn.sure and drawn.tab is not None:
        return ()
    if job.mount.carrier is not None:
        what = say("wrap.carried", host=host, carrier=job.mount.carrier)
        return (Finding("carried-otherwise", "note", what, "mount.carrier"),)
    what, do = say("wrap.no_carrier", host=host), say("wrap.give_carrier", host=host)
    whole = say("outline.told", what=what, do=do)
    return (Finding("carrier-unknown", "unknown", whole, "mount.carrier", brief=what, remedy=do),)
