"""What must be on the bench for a set of jobs: gathered once, for text, CSV, JSON and the page."""

import csv
import io
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from geometry.core.errors import DropleafError, InputError, Problem, RefusedError
from geometry.core.frozen import dataclass
from geometry.core.plane import short
from geometry.core.say import Say, say
from geometry.mount.placement import Placement
from geometry.mount.spacer_set import SpacerSet, smallest_set
from geometry.mount.spacers import choose, twins
from sheets.actions.shop_needs import needs
from sheets.actions.workers import in_order
from sheets.home.jobs import load
from sheets.job import toml as toml_text
from sheets.job.limits import DUMMY, HOLE, PIN, PLATE, SPACER, Range
from sheets.job.read import Job, JobFile, blaming, place_job, tubes_of
from sheets.setup.setup import STACK_TOLERANCE, SetUp, set_up
from sheets.words.tell import nearest, tell

KINDS = (
    "dummy axle", "sleeve", "plate", "fixture plate", "collar", "bar", "rod", "spacer", "screw", "dowel",
    "drill", "reamer", "tap", "hole saw", "pin", "boss", "tab", "filler", "adapter",
)  # fmt: skip
"""What the list is in order of. `called` has what they are called."""

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
    """What one frame's stack asks: the length to fill in mm, None for none or not known, and pieces of stock.

    A fixture for a tab takes two equal sets, one on each pin; `make` is the piece that is to be turned for
    each set where the stock does not reach.
    """

    frame: str
    length: float | None
    pieces: tuple[float, ...]
    reached: bool
    sets: int = 1
    make: float | None = None


@dataclass(frozen=True, slots=True)
class Shop:
    """The list for all frames; `spacers` the smallest set that serves each of them, one at a time.

    `together` is how many pieces of it each frame takes, added up: what all of them standing at once take.
    Fixtures, whose spacers are pairs turned alike, are not in it.
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
            raise InputError.at(str(path), say("shop.empty_folder"))
        found |= dict.fromkeys(inside)
    return list(found)


def stock_file(path: Path) -> dict[str, list[float]]:
    """Return the stock in a TOML file: lists of sizes in mm by spacers, pins, plates and so on.

    Raise InputError with every problem, led by the file's name.
    """
    document = toml_text.document_in(
        path,
        tell("shop.stock_usual"),
        missing=tell("shop.stock_missing"),
        pdf=tell("shop.stock_pdf"),
    )
    found: dict[str, list[float]] = {}
    problems = []
    for key, value in document.items():
        if key not in _STOCKED:
            what = say("shop.no_stock", hint=nearest(key, _STOCKED), known=", ".join(_STOCKED))
            problems.append(Problem(f"{path}: {key}", what))
            continue
        sizes = value if isinstance(value, list) else [value]
        for size in sizes:
            try:
                found.setdefault(key, []).append(_STOCKED[key](size))
            except RefusedError as error:
                problems.append(Problem(f"{path}: {key}", error.what))
    if problems:
        raise InputError(*problems)
    return {key: found.get(key, []) for key in document}


_Work = tuple[JobFile, Placement, SetUp]


def worked_out(paths: Sequence[Path], at_once: int = 1) -> Iterator[_Work | DropleafError]:
    """Yield each job placed and set up, or what keeps it from being so, by so many processes at once."""
    return in_order(_worked_out, paths, at_once)


def _worked_out(path: Path) -> _Work | DropleafError:
    try:
        source = load(path)
        with blaming(path):
            placement = place_job(source.job)
            return source, placement, set_up(source.job, placement, tubes_of(source.job))
    except DropleafError as error:
        return error


def gather(
    jobs: Iterable[_Work | DropleafError], stock: Mapping[str, Sequence[float]] | None
) -> tuple[Shop, list[Problem]]:
    """Return the list for every job that was worked out, and the problems of those that could not be.

    Without a `stock` it is what the jobs' own [bench] tables say lies in the drawer: the most that any says.
    """
    works: list[_Work] = []
    problems: list[Problem] = []
    for one in jobs:
        if isinstance(one, DropleafError):
            problems += one.problems
        else:
            works.append(one)
    drawer = _drawer([source.job for source, _, _ in works]) if stock is None else stock
    names = _names([source for source, _, _ in works])
    wanted: dict[tuple[str, str, float | None], dict[str, int]] = {}
    unknown: list[str] = []
    stacks = []
    bars: dict[float, dict[str, str]] = {}
    for frame, (source, placement, _) in zip(names, works, strict=True):
        bars.setdefault(source.job.axle.dummy, {})[frame] = placement.axle.name
    for dummy, served in bars.items():
        # One bar is turned for a diameter, whatever axle systems it stands in for.
        what = tell("shop.dummy_for", size=dummy, systems=", ".join(dict.fromkeys(served.values())))
        wanted["dummy axle", what, dummy] = dict.fromkeys(served, 1)
    for frame, (source, placement, setup) in zip(names, works, strict=True):
        for need in needs(source.job, placement, setup, drawer.get("pins", ())):
            users = wanted.setdefault((need.kind, need.what, need.size), {})
            users[frame] = max(need.count, users.get(frame, 0))
        stacks.append(_stack(frame, setup, drawer.get("spacers", ()), unknown, stock is None))
    lengths = [stack.length for stack in stacks if stack.length is not None and stack.sets == 1]
    chosen = smallest_set(lengths, STACK_TOLERANCE)
    lines = [_line(kind, what, size, counts, drawer) for (kind, what, size), counts in wanted.items()]
    lines += _spacer_lines(stacks, chosen, drawer)
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


def _stack(frame: str, setup: SetUp, drawer: Sequence[float], unknown: list[str], own: bool) -> FrameStack:
    """Return a frame's stack from the drawer, with the piece to turn where it does not reach.

    Where the drawer is what the jobs have in their `own`, the card's choice is taken if it reaches.
    """
    built, fix = setup.build_up, setup.fixture
    if fix is not None and fix.bar is not None:
        return FrameStack(frame, None, (), True)
    if built is None or built.stack is None:
        why = " ".join(setup.stack_words) or tell("shop.see_check")
        unknown.append(tell("shop.stack_unknown", frame=frame, why=why))
        return FrameStack(frame, None, (), False)
    if built.stack < -STACK_TOLERANCE:
        unknown.append(tell("shop.no_room", frame=frame, into=-built.stack))
        return FrameStack(frame, None, (), False)
    sets, choice = 1 if fix is None else 2, setup.choice
    if choice is None or not (own and choice.reached):
        choice = choose(built.stack, drawer if sets == 1 else twins(drawer), STACK_TOLERANCE)
    if sets > 1 and not choice.reached:
        choice = choose(built.stack, (), STACK_TOLERANCE)
    return FrameStack(frame, built.stack, choice.best.pieces, choice.reached, sets, choice.best.make)


def _spacer_lines(
    stacks: Sequence[FrameStack], chosen: SpacerSet, drawer: Mapping[str, Sequence[float]]
) -> list[Line]:
    """Return the spacers of all frames, done one at a time, and the pieces that are to be turned.

    What the drawer makes of its own pieces asks for nothing. Where nothing is said of a drawer it is the
    smallest set that serves every frame.
    """
    filled = [stack for stack in stacks if stack.length is not None and stack.length > STACK_TOLERANCE]
    if "spacers" not in drawer:
        alone = [stack.frame for stack in stacks if stack.length is not None and stack.sets == 1]
        pieces: dict[str, tuple[float, ...]] = dict(zip(alone, chosen.stacks, strict=True))
        pieces |= {each.frame: (each.length or 0.0,) * each.sets for each in filled if each.sets > 1}
    else:
        pieces = {stack.frame: stack.pieces * stack.sets for stack in filled}
    sizes = sorted({size for each in pieces.values() for size in each}, reverse=True)
    lines = []
    for size in sizes:
        users = {frame: each.count(size) for frame, each in pieces.items() if size in each}
        lines.append(_line("spacer", short(size), size, users, drawer))
    if "spacers" in drawer:
        made: dict[float, dict[str, int]] = {}
        for stack in filled:
            if stack.make is not None:
                made.setdefault(stack.make, {})[stack.frame] = stack.sets
        for size, counts in made.items():
            most = max(counts.values())
            what = tell("shop.turn_alike" if most > 1 else "shop.turn", size=short(size))
            lines.append(Line("spacer", what, most, tuple(counts), 0))
    return lines


def _line(
    kind: str, what: str, size: float | None, counts: Mapping[str, int], drawer: Mapping[str, Sequence[float]]
) -> Line:
    kept = drawer.get(_STOCK_OF.get(kind, ""))
    stock = None
    if kept is not None and size is not None:
        stock = sum(abs(each - size) < _EQUAL for each in kept)
    # Frames are done one at a time; what becomes part of each of them is needed for all.
    used_up = kind in ("screw", "boss", "tab", "adapter", "fixture plate", "bar", "collar")
    return Line(kind, what, sum(counts.values()) if used_up else max(counts.values()), tuple(counts), stock)


def called(kind: str) -> str:
    """Return what a kind of things is called on the list."""
    return tell(f"shop.kind.{kind.replace(' ', '_')}")


def text(shop: Shop) -> str:
    """Return the list as it is printed on a terminal."""
    rows = [
        (called(line.kind), f"{line.count} ×", line.what, ", ".join(line.frames), stock_words(line))
        for line in shop.lines
    ]
    wide = [max((len(row[i]) for row in rows), default=0) for i in range(4)]
    out = [tell("shop.for_frames", count=len(shop.frames), frames=", ".join(shop.frames)), ""]
    out += [
        "  ".join(f"{cell:<{w}}" for cell, w in zip(row, [*wide, 0], strict=True)).rstrip() for row in rows
    ]
    out += ["", *spacer_words(shop), *(tell("shop.unknown", what=each) for each in shop.unknown)]
    missing = "; ".join(f"{line.missing} × {called(line.kind)} {line.what}" for line in shop.missing)
    get = tell("shop.to_get", things=missing) if missing else tell("shop.nothing_missing")
    return "\n".join([*out, "", get])


def spacer_words(shop: Shop) -> list[str]:
    """Return the sentences about spacers: the smallest set, all at once, and each frame's own pieces."""
    out = []
    if shop.spacers.pieces:
        pieces, count = " + ".join(f"{piece:g}" for piece in shop.spacers.pieces), len(shop.spacers.pieces)
        how = "shop.smallest_set" if shop.spacers.exact else "shop.small_set"
        out.append(tell(how, pieces=pieces, count=count))
    if shop.together:
        counts = ", ".join(f"{count} × {size:g}" for size, count in shop.together)
        out.append(tell("shop.together", counts=counts))
    for stack in shop.stacks:
        if stack.length is None:
            continue
        pins = stack.sets > 1 and stack.length > STACK_TOLERANCE
        drawer = " + ".join(f"{piece:g}" for piece in stack.pieces) or tell("shop.no_pieces")
        turned: Say | str = ""
        if stack.make is not None:
            turned = say("shop.and_turn_two" if stack.sets > 1 else "shop.and_turn", size=short(stack.make))
        how = "shop.stack_on_pins" if pins else "shop.stack"
        out.append(tell(how, frame=stack.frame, length=stack.length, drawer=drawer, turned=turned))
    return out


def stock_words(line: Line) -> str:
    """Return what the list says of the stock of a line; nothing where it is not kept."""
    if line.stock is None:
        return ""
    return tell("shop.missing", count=line.missing) if line.missing else tell("shop.in_stock")


def table(shop: Shop) -> str:
    """Return the list as CSV with a heading row."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(("kind", "what", "count", "frames", "stock", "missing"))
    for line in shop.lines:
        stock = "" if line.stock is None else line.stock
        cells = (
            line.kind,
            _inert(line.what),
            line.count,
            _inert("; ".join(line.frames)),
            stock,
            line.missing,
        )
        writer.writerow(cells)
    return out.getvalue().rstrip("\n")


def _inert(text: str) -> str:
    """Return a cell that no spreadsheet runs: one that begins as a formula gets an apostrophe before it.

    OWASP, "CSV Injection" (owasp.org), names these beginnings.
    """
    return f"'{text}" if text.lstrip(" ").startswith(("=", "+", "-", "@", "\t", "\r", "\n")) else text


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
                "sets": stack.sets,
                "make": stack.make,
            }
            for stack in shop.stacks
        ],
        "smallest_set": {"pieces": list(shop.spacers.pieces), "exact": shop.spacers.exact},
        "together": [{"size": size, "count": count} for size, count in shop.together],
        "unknown": list(shop.unknown),
    }
