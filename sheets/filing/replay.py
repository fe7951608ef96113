"""A filed job placed and laid out again with today's tables, and what then differs from its manifest."""

import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from geometry.core.errors import InputError
from geometry.core.frozen import dataclass
from geometry.core.polygon import nearest_on
from geometry.core.say import Say, say
from geometry.printing.distortion import Distortion
from geometry.tubes.tube import Vector
from sheets.actions import manifest
from sheets.actions.draw import plan
from sheets.actions.manifest import Drawn
from sheets.filing.seen_features import Seen, sheets
from sheets.home.printers import correction_line
from sheets.job.read import JobFile, from_bytes
from sheets.words.tell import tell, told

LEAST = 0.001
"""What differs by less, mm or degrees, is the same: a thousand times what a manifest's rounding may make."""
ON_PAGE = 0.002
"""The same on pages: a manifest tells a feature's place to 0.001 mm, and the corner that it is read from."""
_LAYOUT = ("bar", "card", "diagonal", "caliper room", "caliper seat")
"""Features whose place on the page is a matter of layout, as is whether there is room for them: of these,
lengths alone are compared."""
_CUT_OFF = re.compile(r"(chainstay|seatstay|fork-leg) (centre line|edge, .*)|rotor edge|brake track, .*")
"""Features that go on where the drawing ends, and how much is written beside it decides where that is: one is
compared as far as both go."""
_ROOM_LEFT = ("axle reaction", "slot way out")
"""Arrows that are left out where there is no room."""
_ARROWS = ("force ", *_ROOM_LEFT)
"""Which way an arrow points is what it says; its place and length are a matter of layout."""
_POINTS = ("centre", "from", "to", "points", "space")


@dataclass(frozen=True, slots=True)
class Difference:
    """One thing that comes out otherwise today: what, what it was and is, and by how much, None for words."""

    what: Say | str
    was: Any
    now: Any
    by: float | None = None

    @property
    def sentence(self) -> str:
        """Return the difference in words; a place says how far it moves and which way."""
        if self.by is None:
            return tell("replay.words", what=self.what, was=_words(self.was), now=_words(self.now))
        if isinstance(self.was, list) and isinstance(self.now, list) and len(self.was) == len(self.now):
            steps = (b - a for a, b in zip(self.was, self.now, strict=True))
            way = ", ".join(f"{axis} {step:+.3f}" for axis, step in zip("xyz", steps, strict=False))
            return tell("replay.moves", what=self.what, by=self.by, way=way)
        if isinstance(self.was, float | int) and isinstance(self.now, float | int):
            step = self.now - self.was
            return tell("replay.number", what=self.what, was=self.was, now=self.now, step=step)
        return tell("replay.differs", what=self.what, by=self.by)

    @property
    def document(self) -> dict[str, Any]:
        """Return the difference as JSON; `by` is null, too, where it is beyond all measure."""
        was, now = (told(each) if isinstance(each, Say) else each for each in (self.was, self.now))
        by = self.by and finite(self.by)
        return {"what": told(self.what), "was": was, "now": now, "by": by}


def finite(amount: float) -> float | None:
    """Return an amount as JSON has it, None for what cannot be compared at all."""
    return round(amount, 6) if amount < 1e9 else None


def placed_again(raw: bytes, name: str, folder: Path, filed: Mapping[str, Any]) -> dict[str, Any]:
    """Return the manifest that the job in `raw` has today, as `dropleaf draw` would make it.

    `folder` is where a job's own typeface may lie, `filed` the manifest of then: its printer is taken from
    there, because it may have been measured anew. Raise DropleafError where the job cannot be drawn today,
    its problems led by their keys or by the job's name in that folder.
    """
    source = from_bytes(raw, folder / name)
    distortion = _distortion(filed)
    table = source.job.paper
    if distortion is not None:
        # The line that the sheets bore takes room; the printer itself may have been forgotten since.
        printer = str(filed["job"].get("paper", {}).get("printer", ""))
        table = table.corrected(printer, correction_line(printer, distortion))
    if table.printer is not None:
        table = table.model_copy(update={"printer": None})
    if table is not source.job.paper:
        # A model that was given what it has is not equal to it, and its sheets would be drawn anew.
        source = replace(source, job=source.job.model_copy(update={"paper": table}))
    # The fixture may have been asked for on the command line alone.
    plate = any(page["sheet"] == "plate" for page in pages(filed))
    try:
        again = plan(source, folder, plate=plate)
    except InputError:
        # Where the job's own typeface is not beside the packet, only running text looks otherwise.
        again = plan(_without_font(source), folder, plate=plate)
    packet = Drawn(Path(again.packet.path.name), "pdf", again.packet.sheets, distortion)
    return manifest.drawn(source.job, again.placement, [packet], again.findings)


def _distortion(filed: Mapping[str, Any]) -> Distortion | None:
    """Return the distortion of the printer that a manifest's sheets were corrected for, or None."""
    return next(
        (
            Distortion(1.0 / page["scale"][0], 1.0 / page["scale"][1], page.get("skew", 0.0))
            for page in pages(filed)
            if "scale" in page
        ),
        None,
    )


def _without_font(source: JobFile) -> JobFile:
    paper = source.job.paper.model_copy(update={"font": None})
    return replace(source, job=source.job.model_copy(update={"paper": paper}))


def pages(document: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Return what a manifest says of the packet's pages."""
    for file in document["files"]:
        if file["kind"] == "pdf":
            found: list[dict[str, Any]] = file["pages"]
            return found
    return []


def differences(was: Mapping[str, Any], now: Mapping[str, Any]) -> Iterator[Difference]:
    """Yield what differs between two manifests: the placement thing by thing, then a line a page.

    On pages everything is looked at from the page's axle, so that a shifted layout is no difference.
    """
    for hole, other in _paired(was["placement"]["holes"], now["placement"]["holes"], "name"):
        name = str((hole or other or {}).get("name"))
        yield from _parts(say("replay.hole", name=name), hole, other)
    for key in was["placement"]:
        if key != "holes" and key in now["placement"]:
            yield from _parts(key.replace("_", " "), was["placement"][key], now["placement"][key])
    before, after = sheets(pages(was)), sheets(pages(now))
    for name, drawn in before.items():
        if name not in after:
            yield Difference(
                say("replay.sheet", name=name), say("replay.state.drawn"), say("replay.state.not_drawn")
            )
        else:
            yield from _sheet(name, drawn, after[name])
    for name in after:
        if name not in before:
            sheet = say("replay.sheet", name=name)
            yield Difference(sheet, say("replay.state.not_drawn"), say("replay.state.drawn"))


def _paired(
    was: Sequence[dict[str, Any]], now: Sequence[dict[str, Any]], key: str
) -> Iterator[tuple[dict[str, Any] | None, dict[str, Any] | None]]:
    before, after = {each[key]: each for each in was}, {each[key]: each for each in now}
    for name in before | after:
        yield before.get(name), after.get(name)


def _parts(what: Say | str, was: Any, now: Any) -> Iterator[Difference]:
    """Yield the differences of two values of the placement; sources are words that say nothing of size."""
    if isinstance(was, dict) and isinstance(now, dict):
        for key in was:
            if key not in ("name", "sources") and key in now:
                part = say("replay.part", what=what, part=key.replace("_", " "))
                yield from _parts(part, was[key], now[key])
    elif _is_place(was) and _is_place(now) and len(was) == len(now):
        if (by := math.dist(was, now)) >= LEAST:
            yield Difference(what, was, now, by)
    elif _is_number(was) and _is_number(now):
        if (by := abs(now - was)) >= LEAST:
            yield Difference(what, was, now, by)
    elif was != now:
        yield Difference(what, was, now)


def _sheet(name: str, was: Mapping[str, Seen], now: Mapping[str, Seen]) -> Iterator[Difference]:
    moved: list[tuple[float, str]] = []
    for named in {**was, **now}:
        feature, other = was.get(named), now.get(named)
        if feature is None or other is None:
            if named.startswith((*_LAYOUT, *_ROOM_LEFT)):
                continue
            what = say("replay.part", what=say("replay.sheet", name=name), part=named)
            was_there, is_there = ("there", "gone") if other is None else ("not_there", "there")
            yield Difference(what, say(f"replay.state.{was_there}"), say(f"replay.state.{is_there}"))
        elif (by := _apart(feature, other)) >= ON_PAGE:
            moved.append((by, named))
    if moved:
        by, which = max(moved)
        code = "replay.one_feature" if len(moved) == 1 else "replay.features"
        yield Difference(say(code, sheet=name, count=len(moved), most=which), None, None, by)


def _apart(seen: Seen, today: Seen) -> float:
    """Return by how much two features of one name differ at most, mm or degrees; infinite for other kinds."""
    was, now = seen.feature, today.feature
    if was["kind"] != now["kind"]:
        return math.inf
    if was["name"].startswith(_ARROWS):
        return math.degrees(abs(math.remainder(_heading(now) - _heading(was), math.tau)))
    if _CUT_OFF.fullmatch(was["name"]):
        return _beside(seen, today)
    placed = not was["name"].startswith(_LAYOUT)
    most = 0.0
    for key, value in was.items():
        there = now.get(key)
        if _is_number(value) and _is_number(there):
            most = max(most, abs(value - there))
        elif key in _POINTS and placed:
            rows, others = ([value], [there]) if key not in ("points", "space") else (value, there)
            if others is None or len(rows) != len(others):
                return math.inf
            start, end = ((0.0,) * 3, (0.0,) * 3) if key == "space" else (seen.origin, today.origin)
            for a, b in zip(rows, others, strict=True):
                step = ((q - f) - (p - e) for p, q, e, f in zip(a, b, start, end, strict=False))
                most = max(most, math.hypot(*step))
    return most


def _heading(arrow: Mapping[str, Any]) -> float:
    return math.atan2(arrow["to"][1] - arrow["from"][1], arrow["to"][0] - arrow["from"][0])


def _beside(seen: Seen, today: Seen) -> float:
    """Return how far at most one of two lines or arcs lies beside the other, mm, as far as both go."""
    was, now = seen.feature, today.feature
    if "diameter" in was:
        moved = np.subtract(now["centre"], today.origin) - np.subtract(was["centre"], seen.origin)
        return max(abs(float(now["diameter"] - was["diameter"])), float(np.hypot(*moved)))
    lines = [
        np.subtract(one.feature.get("points") or (one.feature["from"], one.feature["to"]), one.origin)
        for one in (seen, today)
    ]
    found = [*_off(lines[0], lines[1]), *_off(lines[1], lines[0])]
    return max(found, default=math.inf)


def _off(points: Vector, line: Vector) -> Iterator[float]:
    """Yield how far points lie from a line of straight pieces, mm, but for points past its ends."""
    pieces = np.hstack((line[:-1], line[1:]))
    for point in points:
        away, _ = nearest_on(pieces, (float(point[0]), float(point[1])))
        if not (_past(point, line[0], line[1], away) or _past(point, line[-1], line[-2], away)):
            yield away


def _past(point: Vector, end: Vector, before: Vector, away: float) -> bool:
    """Tell whether a point that lies so far away from a line lies past an end of it; `before` comes next."""
    way = end - before
    ahead = float(np.dot(point - end, way)) / max(math.hypot(*way), 1e-9)
    return ahead > LEAST and abs(math.hypot(*(point - end)) - away) < 1e-9


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _is_place(value: Any) -> bool:
    return isinstance(value, list) and bool(value) and all(map(_is_number, value))


def _words(value: Any) -> Say | str:
    if value is None:
        return say("replay.unknown")
    return value if isinstance(value, Say) else str(value)
