"""A row learned from readings: as a table for a terminal, as a block of TOML, and as JSON."""

import json
import math
from collections.abc import Mapping, Sequence
from typing import Any

from geometry.core.say import Say, say
from geometry.survey.learn import Compared
from sheets.actions.learn import Lesson, mount
from sheets.words import fits as fit_words
from sheets.words.tell import tell, told

_KEYS = ("h", "x_near", "x_far", "near", "far", "spacing", "lateral")
"""The keys of a row's bands, in the order in which they are written."""
_PLACED = ("h", "x_near", "x_far", "lateral")
"""Those by which it is placed."""


def up(band: float) -> float:
    """Return a band rounded up to 0.01 mm: a rounded band holds no less than it did."""
    return math.ceil(band * 100.0 - 1e-9) / 100.0


def numbers_of(found: Lesson) -> dict[str, tuple[float, float]]:
    """Return what was learned by a row's keys: each number with its band, mm."""
    return {each.key.removesuffix("_radius"): (each.value, each.band) for each in found.learned.quantities}


def block(found: Lesson, name: str | None = None, replaces: bool = False) -> str:
    """Return the row as TOML: a job's [interface], or with a `name` a [[row]] of the builder's own table."""
    of = found.measured
    head: dict[str, object] = {} if name is None else {"name": name, "end": of.end}
    head |= {"family": of.family, "native": of.native}
    more = {} if of.hole is None else {"hole": of.hole}
    return row_text(head, numbers_of(found), {**more, "source": of.source}, 1, replaces and name is not None)


def row_text(
    head: Mapping[str, object],
    numbers: Mapping[str, tuple[float, float]],
    more: Mapping[str, object],
    mounts: int,
    replaces: bool,
) -> str:
    """Return a measured row as TOML: what it is for, its numbers, `more` keys, and how it was had."""
    pairs = dict(head)
    pairs |= {key: round(numbers[key][0], 3) + 0.0 for key in _PLACED if key in numbers}
    pairs |= {**more, "grade": "measured", "mounts": mounts}
    lines = ["[[row]]" if "name" in head else "[interface]"]
    lines += [f"{key} = {_toml(value)}" for key, value in pairs.items()]
    bands = ", ".join(f"{key} = {up(numbers[key][1])}" for key in _KEYS if key in numbers)
    lines.append(f"uncertainty = {{ {bands} }}")
    lines += ["replaces = true"] if replaces else []
    if "lateral" not in numbers:
        lines.append(f"# {tell('lesson.no_lateral_read')}")
    return "\n".join(lines) + "\n"


def _toml(value: object) -> str:
    # A JSON string is a TOML one but for U+007F, which no text here may have.
    return json.dumps(value, ensure_ascii=False)


def change(each: Compared, provisional: bool) -> str:
    """Return what a number learned says of the shipped one."""
    bounds: Say | str = ""
    if each.low is not None and each.high is not None:
        # Outside is what lies there with its band: a shipped number may be the end of its own.
        band = each.measured.band
        inside = each.low - band <= each.measured.value <= each.high + band
        bounds = say("lesson.inside" if inside else "lesson.outside", low=each.low, high=each.high)
    verdict = each.verdict.replace(" ", "_")
    if provisional and verdict == "differs":
        verdict = "would_change"
    return tell(
        f"lesson.shipped.{verdict}",
        shipped=each.shipped,
        # A hair below is told as no difference at all, and not as one of minus nothing.
        off=round(each.difference, 2) + 0.0,
        tolerance=each.tolerance or 0.0,
        bounds=bounds,
    )


def sentences(found: Lesson, joined: str = "") -> tuple[str, ...]:
    """Return what is to be said of a row learned: how good it is, and where it and the shipped one differ.

    `joined` is what is said of the mount that was kept before under the same name.
    """
    words = [_spread(found), *_beside(found)]
    if found.learned.lateral is None:
        words.append(tell("lesson.sideways_open"))
    if found.learned.mirrored:
        words.append(tell("lesson.mirrored"))
    words += fit_words.untold(found.fitting, found.measured.end, found.measured.native)
    if note := fit_words.recall_note(found.fitting):
        words.append(note)
    words.append(joined or tell("lesson.one_mount", on=_begun(found.measured.on)))
    return (*words, *(f"{_begun(each)}." for each in found.doubts))


def _begun(text: str) -> str:
    """Return a text as a sentence begins with it: a thing's name, or a reading's key."""
    return text[:1].upper() + text[1:]


def _spread(found: Lesson) -> str:
    """Return how good the bands are, and what they hold."""
    learned, tools = found.learned, found.learned.tools
    repeats = say(f"lesson.repeats.{'one' if learned.freedom == 1 else 'many'}", count=learned.freedom)
    how = say("lesson.spread_usual" if learned.assumed else "lesson.spread_read")
    said = tell("lesson.spread", repeats=repeats, spread=learned.spread, how=how, step=tools.step)
    said += f" {tell('lesson.bands', off=tools.off, loose=tools.loose)}"
    return said if tools.play is not None else f"{said} {tell('lesson.closer_pins')}"


def _beside(found: Lesson) -> list[str]:
    """Return how the readings compare with the shipped row; nothing where another size fits better."""
    of, row = found.measured, found.shipped
    if row is None:
        return [tell("lesson.none_shipped", **mount(of.family, of.end), native=of.native)]
    if found.questions:
        return []
    off = [each for each in found.compared if each.verdict == "differs"]
    numbers = ", ".join(
        tell("lesson.number_off", number=each.measured.name, off=each.difference) for each in off
    )
    how = "differs" if off else "agrees"
    if row.provisional:
        return [tell(f"lesson.provisional.{how}", row=row.name, numbers=numbers)]
    return [tell(f"lesson.confirmed.{how}", row=row.name, grade=row.grade, numbers=numbers)]


def text(found: Lesson, shown: str, joined: str = "") -> str:
    """Return a row learned for a terminal, with the block `shown` at its end; `joined` as in `sentences`."""
    of = found.measured
    beside = {each.measured.key: each for each in found.compared}
    provisional = found.shipped is not None and found.shipped.provisional
    head = tell(
        "lesson.head",
        **mount(of.family, of.end),
        native=of.native,
        count=found.learned.readings,
        source=of.source,
    )
    lines = [head, ""]
    for question in found.questions:
        lines += [question, ""]
    wide = max(len(told(each.name)) for each in found.learned.quantities)
    for each in found.learned.quantities:
        said = change(beside[each.key], provisional) if each.key in beside else ""
        lines.append(f"  {told(each.name):<{wide}} {each.value:8.2f} ±{up(each.band):.2f}  {said}".rstrip())
    lines += [
        f"  {tell('lesson.holds')}",
        "",
        tell("lesson.how_far"),
        *_fits(found),
        "",
        *sentences(found, joined),
        "",
        shown.rstrip("\n"),
    ]
    return "\n".join(lines)


def _fits(found: Lesson) -> list[str]:
    fits, end = found.fitting, found.measured.end
    # A row of the other end says something only where it fits best.
    shown = [each for each in fits.fits if each.end == end or each == fits.best]
    names = [told(fit_words.called(each, end)) for each in shown]
    wide = max(len(name) for name in names)
    lines = []
    for name, each in zip(names, shown, strict=True):
        marks = [tell("lesson.fits_best")] if each == fits.best else []
        marks += [tell("lesson.size_named")] if each == fits.named else []
        lines.append(f"  {name:<{wide}} {each.off:8.2f} mm  {', '.join(marks)}".rstrip())
    return lines


def document(found: Lesson, shown: str, saved: Sequence[str] = (), joined: str = "") -> dict[str, Any]:
    """Return a row learned as JSON, mm; `saved` names the file, if any, that it was put into."""
    learned, of, row, fits = found.learned, found.measured, found.shipped, found.fitting
    beside = {each.measured.key: each for each in found.compared}
    numbers = {}
    for each in learned.quantities:
        other = beside.get(each.key)
        numbers[each.key] = {
            "value": round(each.value, 6) + 0.0,
            "band": round(each.band, 6),
            "shipped": other and round(other.shipped, 6) + 0.0,
            "difference": other and round(other.difference, 6) + 0.0,
            "tolerance": other and other.tolerance,
            "derived_band": [other.low, other.high] if other and other.low is not None else None,
            "verdict": other and other.verdict,
        }
    return {
        "family": of.family,
        "end": of.end,
        "native": of.native,
        "source": of.source,
        "readings": learned.readings,
        "repeats": learned.freedom,
        "spread": round(learned.spread, 6),
        "spread_assumed": learned.assumed,
        "resolution": learned.tools.step,
        "caliper": learned.tools.off,
        "play": learned.tools.loose,
        "numbers": numbers,
        "shipped": row and {"name": row.name, "grade": row.grade, "provisional": row.provisional},
        "fits": [
            {
                "row": each.row,
                "end": each.end,
                "native": each.native,
                "off": round(each.off, 6),
                "named": each == fits.named,
                "near": each.near(fits.band),
            }
            for each in fits.fits
        ],
        "recalled": fits.recall
        and {
            "row": fits.recall.row,
            "key": fits.recall.key,
            "was": fits.recall.was,
            "now": fits.recall.now,
            "surely": fits.surely,
        },
        "questions": list(found.questions),
        "doubts": list(found.doubts),
        "mirrored": learned.mirrored,
        "sentences": list(sentences(found, joined)),
        "block": shown,
        "saved": next(iter(saved), None),
    }
