"""What must be on the bench for a set of jobs: gathered once, for text, CSV, JSON and the page."""

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from geometry.errors import DropleafError, InputError, Problem
from geometry.fasteners import screw
from geometry.placement import Placement
from geometry.plane import short
from geometry.spacer_set import SpacerSet, smallest_set
from geometry.tables import nearest
from sheets import toml_text
from sheets.job import Job, JobFile, blaming, load, place_job, tubes_of
from sheets.limits import DUMMY, HOLE, PIN, PLATE, SPACER, Range
from sheets.setup import STACK_TOLERANCE, SetUp, set_up

KINDS = (
    "dummy axle", "sleeve", "plate", "spacer", "screw", "drill", "tap", "hole saw", "pin", "boss", "tab",
    "filler", "adapter",
)  # fmt: skip
"""What the list is in order of."""

_STOCKED: dict[str, Range] = {
    "dummy": DUMMY,
    "plates": PLATE,
    "spacers": SPACER,
    "pins": PIN,
    "drills": HOLE,
    "hole_saws": DUMMY,
}
_STOCK_OF = {
    "dummy axle": "dummy",
    "plate": "plates",
    "spacer": "spacers",
    "pin": "pins",
    "drill": "drills",
    "hole saw": "hole_saws",
}
_EQUAL = 0.005


@dataclass(frozen=True, slots=True)
class Line:
    """One thing: its kind, what it is, how many are needed at once, for which frames, how many are in stock.

    `stock` is None where the stock says nothing of its kind.
    """

    kind: str
    what: str
    count: int
    frames: tuple[str, ...]
    stock: int | None

    @property
    def missing(self) -> int:
        """Return how many are to be got."""
        return 0 if self.stock is None else max(0, self.count - self.stock)


@dataclass(frozen=True, slots=True)
class FrameStack:
    """What one frame's stack asks: the length to fill in mm (None: not known), and pieces from stock."""

    frame: str
    length: float | None
    pieces: tuple[float, ...]
    reached: bool


@dataclass(frozen=True, slots=True)
class Shop:
    """The list for all frames; `spacers` the smallest set that serves each of them, one at a time.

    `together` is how many pieces of it each frame takes, added up: what all of them standing at once take.
    `unknown` names what could not be reckoned, by frame.
    """

    frames: tuple[str, ...]
    lines: tuple[Line, ...]
    stacks: tuple[FrameStack, ...]
    spacers: SpacerSet
    together: tuple[tuple[float, int], ...]
    unknown: tuple[str, ...]

    @property
    def missing(self) -> tuple[Line, ...]:
        """Return what is to be got."""
        return tuple(line for line in self.lines if line.missing)


def job_files(paths: Sequence[Path]) -> list[Path]:
    """Return the job files that are named, a folder standing for every .toml file in it, in order, each once.

    Raise InputError for a folder without any.
    """
    found: dict[Path, None] = {}
    for path in paths:
        if not path.is_dir():
            found[path] = None
            continue
        inside = sorted(each for each in path.iterdir() if each.suffix == ".toml" and each.is_file())
        if not inside:
            raise InputError.at(str(path), "no .toml file lies in this folder; name a folder of job files")
        found |= dict.fromkeys(inside)
    return list(found)


def stock_file(path: Path) -> dict[str, list[float]]:
    """Return the stock in a TOML file: lists of sizes in mm by spacers, pins, plates and so on.

    Raise InputError with every problem, led by the file's name.
    """
    try:
        raw = path.read_bytes()
    except OSError as error:
        raise InputError.at(str(path), f"cannot be read: {error.strerror or error}") from error
    with blaming(path):
        toml_text.no_pdf(raw, "give a file of sizes, a TOML text; see dropleaf shop --help")
        document = toml_text.document(raw)
    found: dict[str, list[float]] = {}
    problems = []
    for key, value in document.items():
        if key not in _STOCKED:
            what = f"is no stock that is known{nearest(key, _STOCKED)} (known: {', '.join(_STOCKED)})"
            problems.append(Problem(f"{path}: {key}", what))
            continue
        sizes = value if isinstance(value, list) else [value]
        for size in sizes:
            try:
                found.setdefault(key, []).append(_STOCKED[key](size))
            except ValueError as error:
                problems.append(Problem(f"{path}: {key}", str(error)))
    if problems:
        raise InputError(*problems)
    return {key: found.get(key, []) for key in document}


def gather(paths: Sequence[Path], stock: Mapping[str, Sequence[float]] | None) -> tuple[Shop, list[Problem]]:
    """Return the list for every job that can be placed, and the problems of those that cannot.

    Without a `stock` it is what the jobs' own [bench] tables say lies in the drawer: the most that any says.
    """
    works: list[tuple[JobFile, Placement, SetUp]] = []
    problems: list[Problem] = []
    for path in paths:
        try:
            source = load(path)
            with blaming(path):
                placement = place_job(source.job)
                works.append((source, placement, set_up(source.job, placement, tubes_of(source.job))))
        except DropleafError as error:
            problems += error.problems
    drawer = _drawer([source.job for source, _, _ in works]) if stock is None else stock
    names = _names([source for source, _, _ in works])
    needs: dict[tuple[str, str, float | None], dict[str, int]] = {}
    unknown: list[str] = []
    stacks = []
    bars: dict[float, dict[str, str]] = {}
    for frame, (source, placement, _) in zip(names, works, strict=True):
        bars.setdefault(source.job.axle.dummy, {})[frame] = placement.axle.name
    for dummy, served in bars.items():
        # One bar is turned for a diameter, whatever axle systems it stands in for.
        what = f"Ø{dummy:g} for {', '.join(dict.fromkeys(served.values()))}"
        needs["dummy axle", what, dummy] = dict.fromkeys(served, 1)
    for frame, (source, placement, setup) in zip(names, works, strict=True):
        for kind, what, size, count in _needs(source.job, placement, setup):
            needs.setdefault((kind, what, size), {})[frame] = count
        stacks.append(_stack(frame, setup, unknown))
    lengths = [stack.length for stack in stacks if stack.length is not None]
    chosen = smallest_set(lengths, STACK_TOLERANCE)
    lines = [_line(kind, what, size, counts, drawer) for (kind, what, size), counts in needs.items()]
    filled = [stack.frame for stack in stacks if stack.length is not None]
    for size in dict.fromkeys(chosen.pieces):
        users = {
            frame: pieces.count(size)
            for frame, pieces in zip(filled, chosen.stacks, strict=True)
            if size in pieces
        }
        line = _line("spacer", f"{size:g}", size, users, drawer)
        lines.append(Line(line.kind, line.what, chosen.pieces.count(size), line.frames, line.stock))
    order = {kind: i for i, kind in enumerate(KINDS)}
    lines.sort(key=lambda line: order[line.kind])
    together = tuple(
        (size, sum(stack.count(size) for stack in chosen.stacks)) for size in dict.fromkeys(chosen.pieces)
    )
    return Shop(names, tuple(lines), tuple(stacks), chosen, together, tuple(unknown)), problems


def _names(sources: Sequence[JobFile]) -> tuple[str, ...]:
    """Return what each job's frame is called: its id, with the file where two jobs have the same id."""
    ids = [source.job.frame.id for source in sources]
    files = [(source.job.frame.id, source.name) for source in sources]
    names = []
    for source, own in zip(sources, files, strict=True):
        file = source.name if files.count(own) == 1 else str(source.path)
        names.append(own[0] if ids.count(own[0]) == 1 else f"{own[0]} ({file})")
    return tuple(names)


def _drawer(jobs: Sequence[Job]) -> dict[str, list[float]]:
    """Return what the jobs say is in stock; of each size as many as the job that says most."""
    most: dict[str, dict[float, int]] = {"spacers": {}, "pins": {}, "plates": {}}
    for job in jobs:
        plates = () if job.bench.plate is None else (job.bench.plate,)
        for key, sizes in (("spacers", job.bench.spacers), ("pins", job.bench.pins), ("plates", plates)):
            for size in sizes:
                most[key][size] = max(most[key].get(size, 0), sizes.count(size))
    return {
        key: [size for size, n in sizes.items() for _ in range(n)] for key, sizes in most.items() if sizes
    }


def _needs(job: Job, placement: Placement, setup: SetUp) -> list[tuple[str, str, float | None, int]]:
    """Return what a frame needs besides spacers and bar: kind, words, the size that stock goes by, count."""
    face = placement.interface
    one = screw(face.hole.screw)
    found: list[tuple[str, str, float | None, int]] = [
        ("screw", f"{face.hole.screw}, length by its card", None, 2),
        ("pin", f"Ø{setup.pin:g}", setup.pin, 2),
    ]
    if placement.adapter.step or "none" not in placement.adapter.name:
        found.append(("adapter", f"{placement.adapter.name}, disc {job.mount.rotor:g}", None, 1))
    if setup.sleeve is not None:
        ring = setup.sleeve
        found.append(("sleeve", f"bore {ring.inside:g}, outside {ring.outside:g}", None, 1))
    if job.bench.plate is not None:
        bore = job.bench.plate_bore or job.axle.dummy
        found.append(("plate", f"{short(job.bench.plate)} thick, bore {short(bore)}", job.bench.plate, 1))
    if face.hole.kind == "thread":
        found.append(("drill", f"Ø{one.tap_drill.value:g}", one.tap_drill.value, 1))
        found.append(("tap", f"{one.name} × {one.pitch.value:g}", None, 1))
    else:
        found.append(("drill", f"Ø{face.hole.diameter.value:g}", face.hole.diameter.value, 1))
    if face.family == "tab":
        thick = job.boss.thickness
        found.append(
            ("tab", f"plate {short(thick)} thick" if thick else "plate, thickness not given", None, 1)
        )
    else:
        sizes = [
            f"{own:g}"
            if own is not None
            else f"{usual.value:g} (grade {usual.grade})"
            if usual
            else "not given"
            for own, usual in (
                (job.boss.diameter, face.boss_diameter),
                (job.boss.length, face.boss_length),
            )
        ]
        word = "post" if face.family == "post" else "boss"
        near = job.boss.near_length
        if near is None or near == job.boss.length:
            found.append(("boss", f"{word} Ø{sizes[0]} × {sizes[1]}", None, 2))
        else:
            found += [("boss", f"{word} Ø{sizes[0]} × {long}", None, 1) for long in (f"{near:g}", sizes[1])]
        tube = job.tubes.given().get(job.mount.host)
        saw = job.boss.diameter if face.family == "flat" else tube and max(tube.diameters[0][1:])
        if saw:
            use = "to let the boss in" if face.family == "flat" else "nearest, to cope the post"
            found.append(("hole saw", f"Ø{saw:g} {use}", saw, 1))
    if job.process.filler:
        found.append(("filler", job.process.filler, None, 1))
    return found


def _stack(frame: str, setup: SetUp, unknown: list[str]) -> FrameStack:
    built = setup.build_up
    if built is None or built.stack is None:
        unknown.append(
            f"{frame}: the stack's length is not known: {' '.join(setup.stack_words) or 'see check'}"
        )
        return FrameStack(frame, None, (), False)
    if built.stack < -STACK_TOLERANCE:
        unknown.append(f"{frame}: no stack, the mount reaches {-built.stack:.2f} into the plate")
        return FrameStack(frame, None, (), False)
    best = setup.choice.best.pieces if setup.choice else ()
    return FrameStack(frame, built.stack, best, setup.choice is not None and setup.choice.reached)


def _line(
    kind: str, what: str, size: float | None, counts: Mapping[str, int], drawer: Mapping[str, Sequence[float]]
) -> Line:
    kept = drawer.get(_STOCK_OF.get(kind, ""))
    stock = None
    if kept is not None and size is not None:
        stock = sum(abs(each - size) < _EQUAL for each in kept)
    # Frames are done one at a time; what becomes part of each of them is needed for all.
    used_up = kind in ("screw", "boss", "tab", "adapter")
    return Line(kind, what, sum(counts.values()) if used_up else max(counts.values()), tuple(counts), stock)


def text(shop: Shop) -> str:
    """Return the list as it is printed on a terminal."""
    rows = [
        (line.kind, f"{line.count} ×", line.what, ", ".join(line.frames), stock_words(line))
        for line in shop.lines
    ]
    wide = [max((len(row[i]) for row in rows), default=0) for i in range(4)]
    out = [f"For {len(shop.frames)} frames: {', '.join(shop.frames)}", ""]
    out += [
        "  ".join(f"{cell:<{w}}" for cell, w in zip(row, [*wide, 0], strict=True)).rstrip() for row in rows
    ]
    out += ["", *spacer_words(shop), *(f"not known: {each}" for each in shop.unknown)]
    missing = "; ".join(f"{line.missing} × {line.kind} {line.what}" for line in shop.missing)
    return "\n".join(
        [*out, "", f"To get: {missing}" if missing else "Nothing that stock is kept of is missing."]
    )


def spacer_words(shop: Shop) -> list[str]:
    """Return the sentences about spacers: the smallest set, all at once, and each frame's own pieces."""
    pieces = " + ".join(f"{piece:g}" for piece in shop.spacers.pieces) or "none"
    how = "no smaller set does" if shop.spacers.exact else "a smaller set may do: the search was cut short"
    out = [f"Smallest set of spacers for one frame at a time: {pieces} ({len(shop.spacers.pieces)}; {how})."]
    if shop.together:
        counts = ", ".join(f"{count} × {size:g}" for size, count in shop.together)
        out.append(f"With all frames standing at once: {counts}.")
    for stack in shop.stacks:
        if stack.length is None:
            continue
        drawer = " + ".join(f"{piece:g}" for piece in stack.pieces) or "none"
        state = "" if stack.reached else ", not reached"
        out.append(f"{stack.frame}: {stack.length:.2f} to fill; from its own drawer {drawer}{state}.")
    return out


def stock_words(line: Line) -> str:
    """Return what the list says of the stock of a line; nothing where it is not kept."""
    if line.stock is None:
        return ""
    return f"{line.missing} to get" if line.missing else "in stock"


def table(shop: Shop) -> str:
    """Return the list as CSV with a heading row."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(("kind", "what", "count", "frames", "stock", "missing"))
    for line in shop.lines:
        stock = "" if line.stock is None else line.stock
        writer.writerow((line.kind, line.what, line.count, "; ".join(line.frames), stock, line.missing))
    return out.getvalue().rstrip("\n")


def document(shop: Shop) -> dict[str, Any]:
    """Return the list as a JSON document."""
    return {
        "frames": list(shop.frames),
        "needs": [
            {
                "kind": line.kind,
                "what": line.what,
                "count": line.count,
                "frames": list(line.frames),
                "stock": line.stock,
                "missing": line.missing,
            }
            for line in shop.lines
        ],
        "stacks": [
            {
                "frame": stack.frame,
                "length": None if stack.length is None else round(stack.length, 6),
                "pieces": list(stack.pieces),
                "reached": stack.reached,
            }
            for stack in shop.stacks
        ],
        "smallest_set": {"pieces": list(shop.spacers.pieces), "exact": shop.spacers.exact},
        "together": [{"size": size, "count": count} for size, count in shop.together],
        "unknown": list(shop.unknown),
    }
