"""What a job's wraps show: the strips for its tubes, bosses and brace, and what cannot be drawn, in words."""

import functools
from collections.abc import Mapping
from dataclasses import dataclass

from geometry.errors import GeometryError
from geometry.judged import missing
from geometry.placement import Placement
from geometry.tube import Tube
from sheets.job import Job
from sheets.pages import words
from sheets.pages.wrap_boss import boss_strips, host_blank, rotor_marks
from sheets.pages.wrap_brace import brace_strips
from sheets.pages.wrap_plate import Plate, tab_edges, tab_marks
from sheets.pages.wrap_strip import Strip
from sheets.pages.wrap_tube import strips_on


@dataclass(frozen=True, slots=True)
class Parts:
    """Strips to wrap, flat patterns, and sentences for sheets and commands."""

    strips: tuple[Strip, ...]
    plates: tuple[Plate, ...]
    warnings: tuple[str, ...]


def unshown(job: Job, placement: Placement, tubes: Mapping[str, Tube]) -> tuple[str, ...]:
    """Return what the wraps of a job cannot show, in words; for who does not draw them."""
    return _unshown(job, placement, tuple(tubes.items()))


@functools.lru_cache(maxsize=64)
def _unshown(job: Job, placement: Placement, named: tuple[tuple[str, Tube], ...]) -> tuple[str, ...]:
    return parts(job, placement, dict(named)).warnings


def parts(job: Job, placement: Placement, tubes: Mapping[str, Tube]) -> Parts:
    """Return what the wraps of a job show; what does not meet is left out and said, never raised."""
    said: list[str] = []
    strips: list[Strip] = []
    plates: list[Plate] = []
    host = words.plain(placement.host)
    tube = tubes.get(placement.host)
    if tube is None:
        said.append(f"No wraps for the mount: the job gives no {host}; give [tubes.{placement.host}].")
    elif not tube.placed:
        said.append(
            f"No wraps for the mount: where the {host} lies is not known; {missing(tube.name, tube)}."
        )
    elif placement.interface.family != "tab":
        strips, said = boss_strips(job, placement, tube)
    else:
        try:
            edges = tab_edges(job, placement, tube)
        except GeometryError as error:
            said.append(f"No wrap for the tab. {error.problems[0].what}.")
        else:
            marks = [*tab_marks(edges), *rotor_marks(placement, tube)]
            strips, why = strips_on(host_blank(job, placement, tube), marks, job.wrap.clear)
            plates = [Plate(edge, tube.name, placement) for edge in edges]
            said += [*(word for edge in edges for word in edge.words), *why]
    unplaced = [each for each in tubes.values() if not each.placed]
    if job.tubes.brace is not None and unplaced:
        measure = " and ".join(missing(each.name, each) for each in unplaced)
        said.append(f"No wrap for the brace: where it ends is not known; {measure}.")
    elif job.tubes.brace is not None:
        try:
            more, why = brace_strips(job, tubes)
        except GeometryError as error:
            said.append(f"No wrap for the brace: it {error.problems[0].what}.")
        else:
            strips, said = [*strips, *more], [*said, *why]
    return Parts(tuple(strips), tuple(plates), tuple(dict.fromkeys(_sentence(each) for each in said)))


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:].rstrip(".") + "."
