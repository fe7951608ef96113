"""Several measured mounts put together: which of their files count, and the rows that those come to.

Files come from strangers. Each is read no further than a report is long, and one that is wrong is named and
keeps no other from being read; but no row is kept while one is. What a report says that it came to is left
alone: everything is worked out anew from its readings.
"""

import hashlib
import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from geometry.core.errors import DropleafError, InputError, Problem
from geometry.core.frozen import dataclass
from geometry.core.say import Say, say
from geometry.survey.learn import Compared, Quantity, compare
from geometry.survey.limits import numbers
from geometry.survey.pool import Pooled, furthest, odd_ones, pooled
from geometry.tables.axles import End
from geometry.tables.interface_rows import Family
from geometry.tables.interfaces import AGREE_WITHIN, AGREEING, Interface, resolve
from sheets.actions import learn
from sheets.actions.learn import FORMAT, Lesson, Measured
from sheets.actions.makers import UNKNOWN, makers
from sheets.files import seal
from sheets.files.bounded import blaming, read_bytes
from sheets.job import toml as toml_text
from sheets.words import fits as fit_words
from sheets.words.tell import tell, told

LARGEST = 12_000
"""Bytes in the largest report that is read: 300 readings take about 3 kB, and what is made to be slow to read
takes a second or two at this size."""
MOST = 200
"""Files that are put together at once: own judgement; more are a data base and no command line."""
PLACED = ("h", "x_near", "x_far", "lateral")
"""The numbers by which a row is placed, by its own keys."""


@dataclass(frozen=True, slots=True)
class Entry:
    """A file that was read, what it came to, whether it is a report that was changed, and its SHA-256."""

    file: Path
    lesson: Lesson
    changed: bool
    digest: str

    @property
    def key(self) -> tuple[Family, End, float]:
        """Return what mounts that are put together share: family, end and native size."""
        of = self.lesson.measured
        return of.family, of.end, of.native

    @property
    def readings(self) -> Counter[tuple[str, float]]:
        """Return the readings, by which one mount's file is known again under another name."""
        return Counter((kind.key, value) for kind, value in self.lesson.measured.readings)


@dataclass(frozen=True, slots=True)
class Group:
    """Mounts of one family, end and size put together.

    `numbers` are the pooled ones by a row's keys, `compared` is how each stands to the shipped row, None
    where none is made for that. `odd` are mounts that stand apart: their place in `entries`, the key, and
    how far from the others together, mm. `hole` is their drill, where any says one. `makers` is each one's
    maker, as makers are counted.
    """

    entries: tuple[Entry, ...]
    makers: tuple[str, ...]
    numbers: Mapping[str, Pooled]
    shipped: Interface | None
    compared: tuple[Compared, ...]
    odd: tuple[tuple[int, str, float], ...]
    hole: float | None
    doubts: tuple[Say, ...]

    @property
    def key(self) -> tuple[Family, End, float]:
        """Return family, end and native size."""
        return self.entries[0].key

    @property
    def agrees(self) -> bool:
        """Tell whether all mounts agree, so that a row may be made of them."""
        return not self.odd and not self.doubts

    @property
    def mounts(self) -> int:
        """Return how many mounts every number of the row rests on."""
        return min(self.numbers[key].mounts for key in PLACED if key in self.numbers)

    @property
    def counted(self) -> int | None:
        """Return of how many makers they are that every number rests on; None where none says its maker."""
        if set(self.makers) == {UNKNOWN}:
            return None
        return min(self.numbers[key].makers for key in PLACED if key in self.numbers)

    @property
    def graded(self) -> bool:
        """Tell whether the row is graded M: no number that places it may come from elsewhere."""
        return self.agrees and (self.counted or 0) >= AGREEING and "lateral" in self.numbers


@dataclass(frozen=True, slots=True)
class Pool:
    """What files came to: groups of mounts, which files could not be read, and which do not count and why.

    `left_out` names each file with its reason; while there is any, or a file was `wrong`, or mounts do not
    agree, no row is kept unasked.
    """

    groups: tuple[Group, ...]
    wrong: tuple[Problem, ...]
    left_out: tuple[tuple[Path, str], ...]
    noted: tuple[tuple[Path, str], ...]


def pool(files: Sequence[Path], despite: bool = False) -> Pool:
    """Return what files of readings come to together.

    With `despite`, what fits another size than it says, a mount that may be one of the others, and a report
    that was changed count all the same; readings that contradict each other never do. Raise InputError where
    no file, or too many, are given.
    """
    if not files:
        raise InputError.at("--pool", say("pool.no_files"))
    if len(files) > MOST:
        raise InputError.at("--pool", say("pool.too_many", count=len(files), most=MOST))
    wrong: list[Problem] = []
    entries: list[Entry] = []
    for file in files:
        try:
            entries.append(_read(file))
        except DropleafError as error:
            wrong.append(_one(error.problems))
    left_out: list[tuple[Path, str]] = []
    noted: list[tuple[Path, str]] = []
    counted: list[Entry] = []
    for entry in entries:
        never, doubted = _against(entry, counted)
        out = bool(never or (doubted and not despite))
        code = "pool.doubted" if out else "pool.counted"
        into = left_out if out else noted
        reasons = never or doubted
        into += [(entry.file, tell(code, what=told(_first(reasons))))] if reasons else []
        if not out:
            counted.append(entry)
    noted += [(each.file, said) for each in counted for said in _notes(each)]
    keys = dict.fromkeys(each.key for each in counted)
    groups = tuple(_group([each for each in counted if each.key == key]) for key in keys)
    return Pool(groups, tuple(wrong), tuple(left_out), tuple(noted))


def _one(problems: Sequence[Problem]) -> Problem:
    """Return what is wrong with a file as one line: the first of it, and how much more there is."""
    return Problem(problems[0].where, _first([each.what for each in problems]))


def _first(told_of: Sequence[Say | str]) -> Say | str:
    """Return the first of some things that are told, and how many more there are."""
    first, count = told_of[0], len(told_of) - 1
    if not count:
        return first
    return say("pool.one_more" if count == 1 else "pool.more", what=first, count=count)


def _read(file: Path) -> Entry:
    usual, folder, pdf = (tell(f"pool.file.{what}") for what in ("usual", "folder", "pdf"))
    raw = read_bytes(file, usual, LARGEST, folder=folder, pdf=pdf)
    with blaming(file):
        document = toml_text.document(raw)
        lesson = learn.lesson(learn.measured(document))
    report = document.get("format") == FORMAT
    digest = hashlib.sha256(raw).hexdigest()
    return Entry(file, lesson, report and not seal.untouched(raw), digest)


def _against(entry: Entry, counted: Sequence[Entry]) -> tuple[list[str], list[str]]:
    """Return what keeps a mount from ever counting, and what keeps it unless it is told to count."""
    of = entry.lesson.measured
    never = list(entry.lesson.doubts)
    never += [
        tell("pool.same_file" if other.file == entry.file else "pool.same_readings", other=str(other.file))
        for other in counted
        # A reading that was left out, or a size that is called otherwise, makes no other mount of it.
        if other.readings <= entry.readings or entry.readings <= other.readings
    ][:1]
    doubted = list(entry.lesson.questions)
    twin = next(
        (
            other.file
            for other in counted
            if not never and other.key == entry.key and _may_be_one(other.lesson.measured, of)
        ),
        None,
    )
    if twin is not None:
        doubted.append(tell("pool.same_mount", other=str(twin), on=of.on))
    if entry.changed:
        doubted.append(tell("pool.changed"))
    return never, doubted


def _may_be_one(one: Measured, other: Measured) -> bool:
    """Tell whether two readings may be of one mount: what is not said tells no two apart."""
    said = ((str(getattr(each, key) or "") for each in (one, other)) for key in ("year", "maker", "model"))
    return _plain(one.on) == _plain(other.on) and all(
        not first or not second or _plain(first) == _plain(second) for first, second in said
    )


def _plain(name: str) -> str:
    """Return a name by which mounts are told apart: capitals and spaces tell nothing."""
    return " ".join(name.casefold().split())


def _notes(entry: Entry) -> Iterator[str]:
    """Yield what is told of a mount that counts."""
    of, learned = entry.lesson.measured, entry.lesson.learned
    usual, most = 20.0, numbers()["pool.temperature"].value
    if of.temperature is not None and abs(of.temperature - usual) > most:
        yield tell("pool.warm", degrees=of.temperature)
    if of.adapter:
        yield tell("pool.adapter", step=of.adapter)
    if learned.mirrored:
        yield tell("pool.mirrored")
    yield from fit_words.untold(entry.lesson.fitting, of.end, of.native)


def _group(entries: Sequence[Entry]) -> Group:
    _, end, native = entries[0].key
    values: dict[str, list[tuple[int, float, float]]] = {}
    for place, entry in enumerate(entries):
        for each in entry.lesson.learned.quantities:
            values.setdefault(each.key, []).append((place, each.value, each.band))
    shared = _shared(entries)
    who = makers([entry.lesson.measured.maker for entry in entries])
    found = {
        key: pooled(
            [value for _, value, _ in each],
            [band for _, _, band in each],
            [who[place] for place, _, _ in each],
            shared,
            key,
        )
        for key, each in values.items()
    }
    odd = []
    for key in PLACED:
        read = values.get(key, [])
        for index, off in odd_ones([value for _, value, _ in read], [band for _, _, band in read], key):
            odd.append((read[index][0], key, off))
    best = entries[0].lesson.fitting.named
    shipped = None if best is None else resolve(best.row, end, native, native)
    numbers_ = _closed(found)
    quantities = [Quantity(_learned_key(key), each.value, each.band) for key, each in numbers_.items()]
    every = {key: [value for _, value, _ in values[key]] for key in PLACED if key in values}
    hole, doubts = _drills(entries, every)
    if not odd:
        doubts += _scattered(numbers_, values, entries)
    compared = () if shipped is None else compare(quantities, shipped)
    return Group(tuple(entries), who, numbers_, shipped, compared, tuple(odd), hole, doubts)


def _scattered(
    found: Mapping[str, Pooled],
    values: Mapping[str, Sequence[tuple[int, float, float]]],
    entries: Sequence[Entry],
) -> tuple[Say, ...]:
    """Return which numbers mounts do not agree on, though none stands apart, and which lies furthest off."""
    said = []
    for key in PLACED:
        # Of fewer no grade is claimed, and the band says what it is worth.
        if key not in found or found[key].makers < AGREEING or found[key].band <= AGREE_WITHIN:
            continue
        at = found[key].value
        place, value, _ = max(values[key], key=lambda each: abs(each[1] - at))
        number = say(f"learned.number.{_learned_key(key)}")
        file, band = str(entries[place].file), found[key].band
        said.append(
            say("pool.scattered", number=number, file=file, band=band, most=AGREE_WITHIN, off=value - at)
        )
    return tuple(said)


def _learned_key(key: str) -> str:
    return f"{key}_radius" if key in ("near", "far") else key


def _closed(found: Mapping[str, Pooled]) -> dict[str, Pooled]:
    """Return pooled numbers by a row's keys that close: radii and spacing are those of height and places.

    Each was pooled for itself too, with weights of its own; a band holds what that makes of a difference.
    """
    h, near, far = (found[key] for key in ("h", "x_near", "x_far"))
    closed = {
        "spacing": far.value - near.value,
        "near_radius": math.hypot(h.value, near.value),
        "far_radius": math.hypot(h.value, far.value),
    }
    done: dict[str, Pooled] = {}
    for key, each in found.items():
        value = closed.get(key, each.value)
        name = key.removesuffix("_radius")
        done[name] = replace(each, value=value, band=each.band + abs(each.value - value))
    return done


def _shared(entries: Sequence[Entry]) -> float:
    """Return the standard deviation of what a caliper adds that read more than one of the mounts, mm."""
    used: dict[str, int] = {}
    for entry in entries:
        of = entry.lesson.measured
        # Who does not say what they read with may have read with the same.
        who = f"{of.instrument}\n{of.by}".casefold().strip()
        used[who] = used.get(who, 0) + 1
    if all(count < 2 for count in used.values()):
        return 0.0
    return max(entry.lesson.learned.tools.shared[0] for entry in entries)


def _drills(
    entries: Sequence[Entry], values: Mapping[str, Sequence[float]]
) -> tuple[float | None, tuple[Say, ...]]:
    """Return the holes' drill, and what tells that mounts are not of one kind."""
    doubts = []
    drills = sorted(hole for each in entries if (hole := each.lesson.measured.hole) is not None)
    if drills and drills[-1] - drills[0] > numbers()["pool.drill"].value:
        doubts.append(say("pool.other_holes", low=drills[0], high=drills[-1]))
    most = numbers()["pool.kind"].value
    if (far := furthest(values)) > most:
        doubts.append(say("pool.other_kind", far=far, most=most))
    return drills[len(drills) // 2] if drills else None, tuple(doubts)
