"""Jobs to draw: the samples, every row of the table, random ones; and how a sheet is caught being drawn."""

import functools
import itertools
from collections.abc import Callable
from pathlib import Path as File
from typing import Any, NamedTuple
from unittest.mock import patch

from hypothesis import strategies as st

from geometry.core.findings import Finding
from geometry.tables.adapters import Bolts, takes
from geometry.tables.interface_rows import Row
from geometry.tables.interfaces import rows
from sheets.actions.pages import KINDS, Kind, made, ready, sheets_of
from sheets.ink.drawing import Drawing
from sheets.ink.marks import label, strokes
from sheets.ink.placing import Box
from sheets.ink.records import Commands, Part, Path, Point, Sheet
from sheets.job.read import Job, JobFile, parse, place_job, read, tubes_of
from sheets.pages import frame
from sheets.pages.full_size.face import face
from sheets.pages.full_size.template import template
from sheets.setup.findings import all_findings
from sheets.setup.setup import set_up

SAMPLES = {file.stem: file for file in sorted((File(__file__).parents[2] / "samples").glob("*.toml"))}
VIEWS = ("outboard", "inboard")
SIZES = ("A4", "A3", "Letter", "Legal", "Tabloid")


class Lettered(NamedTuple):
    """A line of lettering as it came onto the page; `box` is what the page keeps clear for it."""

    text: str
    height: float
    layer: str
    box: Box
    ink: Commands


class Noted(Drawing):
    """A drawing that notes every line lettered on it."""

    def __init__(self) -> None:
        super().__init__()
        self.lettered: list[Lettered] = []

    def letter(
        self,
        text: str,
        at: Point,
        height: float,
        anchor: float = 0.0,
        turn: float = 0.0,
        layer: str = "lettering",
        part: Part = (),
    ) -> None:
        super().letter(text, at, height, anchor, turn, layer, part)
        assert turn == 0.0, "only bars have turned lettering, and they letter by themselves"
        ink = strokes(label(text, at, height, anchor))
        self.lettered.append(Lettered(text, height, layer, self.labels[-1][1], ink))


class Caught(NamedTuple):
    """A sheet with what was lettered on it."""

    job: Job
    sheet: Sheet
    lettered: tuple[Lettered, ...]

    @property
    def labels(self) -> set[str]:
        """Return every line on the sheet outside its steps and its title block."""
        return {line.text for line in self.lettered if line.layer not in ("steps", "title block")}

    @property
    def title(self) -> str:
        """Return steps and title block as running text, from the top; what is at a line's right follows."""
        rows = [line for line in self.lettered if line.layer in ("steps", "title block")]
        return " ".join(line.text for line in sorted(rows, key=lambda line: (-line.box[1], line.box[0])))


def catch(job: Job) -> list[Caught]:
    """Return a job's template as users get it, and its face view if it has one; FitError for want of room."""
    placement, tubes = place_job(job), tubes_of(job)
    setup = set_up(job, placement, tubes)
    makers: list[Callable[..., Sheet]] = [template]
    if placement.interface.family != "tab":
        makers.append(face)
    caught = []
    for number, make in enumerate(makers, start=1):
        drawings: list[Noted] = []

        def noted(drawings: list[Noted] = drawings) -> Noted:
            drawings.append(Noted())
            return drawings[-1]

        with patch.object(frame, "Drawing", noted):
            sheet = make(job, placement, tubes, setup, f"sheet {number} of {len(makers)}")
        # The last one tried is the one that found room.
        assert drawings[-1].records() == sheet.records
        caught.append(Caught(job, sheet, tuple(drawings[-1].lettered)))
    return caught


class Asked:
    """A job ready to be drawn, whose sheets are drawn by kind as they are asked for."""

    def __init__(self, source: JobFile) -> None:
        self._one = ready(source)
        self.source, self.placement, self.setup = self._one.source, self._one.placement, self._one.setup

    def of(self, *kinds: Kind) -> tuple[Sheet, ...]:
        """Return the sheets of some kinds in the packet's order."""
        return tuple(sheet for kind in KINDS if kind in kinds for sheet in sheets_of(self._one, kind).sheets)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Return what is found of the job, with what its sheets could not show."""
        unshown = [each for kind in KINDS for each in sheets_of(self._one, kind).findings]
        return all_findings(self.source.job, self.placement, self.setup, tuple(unshown))


def on_paper(job: Job, **paper: Any) -> Job:
    """Return a job on other paper, in another view or with another margin."""
    return job.model_copy(update={"paper": job.paper.model_copy(update=paper)})


@functools.cache
def sample(name: str) -> Job:
    """Return a sample's job."""
    return read(SAMPLES[name])


@functools.cache
def sample_sheets(name: str, view: str, size: str) -> list[Caught]:
    """Return the sheets of a sample in a view on some paper, drawn once a run."""
    return catch(on_paper(sample(name), view=view, size=size))


DRAWN = [*((name, sample(name).paper.view) for name in SAMPLES)]
"""Samples and views that are drawn into files: each as it asks, and a tab, a post and a flat turned over."""
DRAWN += [(name, "inboard") for name in ("curlew", "avocet", "lapwing")]


def sheets_but_traveller(job: Job) -> list[Sheet]:
    """Return all sheets of a job but its traveller, which bears the digest of the job's bytes."""
    placement = place_job(job)
    setup = set_up(job, placement, tubes_of(job))
    kinds = (kind for kind in KINDS if kind != "traveller")
    return [sheet for kind in kinds for sheet in made(kind, job, placement, setup).sheets]


def lettering_of(sheet: Sheet, *layers: str) -> list[Path]:
    """Return the lettered paths of some layers, or of all: round ends tell them from lines."""
    paths = [path for path in sheet.records if isinstance(path, Path) and path.style.cap == "round"]
    return [path for path in paths if not layers or path.layer in layers]


def lines_of(sheet: Sheet) -> list[Path]:
    """Return every path that is not lettering."""
    return [path for path in sheet.records if isinstance(path, Path) and path.style.cap != "round"]


def _tubes(host: str, **more: Any) -> dict[str, Any]:
    """Return middling tubes of a frame or a fork."""
    if host == "fork-leg":
        return {"fork-leg": {"diameters": [[28, 24], [180, 28], [380, 30]], "outset": 10, "splay": 2} | more}
    return {
        "chainstay": {"diameters": [[28, 16], [150, 20], [390, 22]], "outset": 5, "splay": 3} | more,
        "seatstay": {"diameters": [[30, 14], [300, 16]], "outset": 5, "splay": 2, "included": 60} | more,
    }


_HOSTS = {"rear": ["chainstay", "seatstay"], "front": ["fork-leg"]}
_ON_PATHS = {"rear": [140, 160, 180, 203], "front": [160, 180, 203, 220]}
"""Sizes that are drawn of a row which has any size."""


def every_mount() -> dict[str, dict[str, Any]]:
    """Return a plain job for every row of the table on every host it can have, in every size."""
    every = [
        each
        for row in rows().values()
        for end in row.ends
        for each in itertools.product(
            [row.name], [end], _HOSTS[end], _ON_PATHS[end] if row.path else map(int, row.sizes)
        )
    ]
    return {
        f"{row}-{native}-{host}": {
            "frame": {"id": "plover-1", "name": "Plover", "maker": "Saltmarsh Cycle Works"},
            "mount": {"end": end, "interface": row, "native": native, "rotor": native, "host": host},
            "axle": {"system": "142x12" if end == "rear" else "100x12"},
            "dropout": {"thickness": 8},
            "tubes": _tubes(host),
            "boss": {"diameter": 14, "length": 30},
        }
        for row, end, host, native in every
    }


def _discs(row: Row, size: float) -> tuple[float, ...]:
    return takes(Bolts(row.family, row.ends[0], row.apart, row.name), size, size)


_REACHED = {
    "is-rear": [(140, 140), (140, 160), (140, 180)],
    "is-front": [(160, 160), (160, 180), (160, 203)],
    "post": [(140, 140), (140, 160), (160, 160), (160, 203), (180, 180), (203, 203), (220, 220)],
    "flat-rear": [(140, 140), (140, 160), (160, 160), (180, 180)],
    "flat-front": [(140, 140), (140, 160), (160, 140), (160, 160)],
}
_REACHED |= {
    row.name: [(int(size), int(disc)) for size in row.sizes for disc in _discs(row, size)]
    for row in rows().values()
    if row.name not in _REACHED
}
_AXLES = {"rear": ["135-qr", "142x12", "148x12", "130-qr"], "front": ["100-qr", "100x12", "100x15", "110x15"]}


def _between(low: float, high: float) -> st.SearchStrategy[float]:
    # Hundredths, so that a failing job can be read and typed.
    return st.integers(round(low * 100), round(high * 100)).map(lambda value: value / 100)


@st.composite
def random_jobs(draw: st.DrawFn) -> Job:
    """Return a job with any mount, host, disc, tilt from -40 to 40, tubes, bosses, paper and names."""
    row = draw(st.sampled_from(sorted(_REACHED)))
    end = draw(st.sampled_from(list(rows()[row].ends)))
    native, rotor = draw(st.sampled_from(_REACHED[row]))
    host = "fork-leg" if end == "front" else draw(st.sampled_from(["chainstay", "seatstay"]))
    systems = [name for name in _AXLES[end] if rows()[row].family == "tab" or name != "130-qr"]

    def tube() -> dict[str, Any]:
        start, wide = draw(st.integers(10, 60)), draw(_between(12, 38))
        far = [start + 150, wide + draw(_between(-2, 8)), wide + draw(_between(-2, 6))]
        table: dict[str, Any] = {"diameters": [[start, wide], far, [start + 380, wide]]}
        table |= {"offset": draw(_between(-6, 6)), "outset": draw(_between(0, 20))}
        return table | {"splay": draw(_between(-2, 6))}

    hosts = ["fork-leg"] if end == "front" else ["chainstay", "seatstay"]
    tubes = {name: tube() for name in hosts if draw(st.booleans())}
    if host == "seatstay" or "seatstay" in tubes:
        tubes["seatstay"] = tubes.get("seatstay", tube()) | {"included": draw(_between(45, 75))}
    boss = {"diameter": draw(_between(10, 20)), "length": draw(_between(5, 60))}
    return parse(
        {
            "frame": {
                "id": draw(st.sampled_from(["x", "plover-12", "Saltmarsh_2031-left-hand_no-0042"])),
                "name": draw(st.sampled_from(["Plover", "Gåsö Ångström", "jelly quay (gypsy)"])),
                "maker": draw(st.sampled_from(["Saltmarsh Cycle Works", "Ateliér Žižkov É"])),
            },
            "mount": {
                "end": end,
                "interface": row,
                "native": native,
                "rotor": rotor,
                "host": host,
                "tilt": draw(_between(-40, 40)),
            },
            "axle": {"system": draw(st.sampled_from(systems)), "dummy": draw(_between(8, 25))},
            "dropout": {"thickness": draw(_between(3, 15))} if draw(st.booleans()) else {},
            "tubes": tubes,
            "boss": boss if draw(st.booleans()) else {},
            "paper": {
                "size": draw(st.sampled_from(SIZES)),
                "view": draw(st.sampled_from(VIEWS)),
                "margin": draw(st.sampled_from([5, 10, 12.7, 20])),
            },
        }
    )
