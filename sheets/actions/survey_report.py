"""A survey in words and as a document: for a terminal, for a page of a packet, and for other programs."""

from collections.abc import Mapping
from typing import Any

from geometry.survey.limits import State, allowed
from geometry.survey.model import Taken
from geometry.survey.pull import Pull
from geometry.survey.remedy_room import sides
from geometry.survey.survey import Survey
from geometry.survey.trilateration import TWO_SIDED_95
from geometry.survey.verdict import contradiction_words
from sheets.actions.survey import Surveyed as Surveyed
from sheets.actions.survey import ask as ask
from sheets.actions.survey import bench_of as bench_of
from sheets.actions.survey import checked_pin as checked_pin
from sheets.actions.survey import checked_resolution as checked_resolution
from sheets.actions.survey import from_packet as from_packet
from sheets.actions.survey import records as records
from sheets.actions.survey import surveyed as surveyed

_STATES: Mapping[State, str] = {
    "within": "within", "beyond": "BEYOND", "unsure": "cannot tell",
    "unknown": "not measured", "told": "no limit",
}  # fmt: skip


def rows(found: Surveyed) -> tuple[tuple[str, str, str, str], ...]:
    """Return the survey as rows for a page: error, found with its 95 % band, limit, and how it stands."""
    return tuple(
        (
            each.name,
            each.words,
            each.allowed,
            _STATES[each.state],
        )
        for each in found.survey.misses
    )


def lines(found: Surveyed) -> tuple[str, ...]:
    """Return the survey as lines of running text, headings led by "# ", for a page of a packet."""
    one, verdict = found.survey, found.verdict
    said = [f"# Verdict when {one.point}: {verdict.word}", *verdict.reasons]
    if verdict.remedies:
        said += ["# What to do", *(each.text for each in verdict.remedies)]
    said += ["# Errors against the drawing, mm, with their 95 % band"]
    said += [f"{name}: {off}; limit {limit}; {stands}." for name, off, limit, stands in rows(found)]
    said += [f"{each}." for each in _effects(one)]
    said += ["# Readings"]
    said += [f"{each.key}: {shown:.3f}, wanted {each.reading.nominal:.3f}." for each, shown in _shown(one)]
    said += ["# Not seen", *verdict.unseen] if verdict.unseen else []
    said += ["# Pull of your own frames"] if found.pulls else []
    said += [f"{_name(each)}: {each.sentence}" for each in found.pulls]
    said += ["# How readings were read", *found.notes] if found.notes else []
    return (*said, "", verdict.says)


def survey_text(found: Surveyed) -> str:
    """Return the survey as aligned text for a terminal."""
    one, verdict, job = found.survey, found.verdict, found.bench.source.job
    title = " ".join(part for part in (job.frame.id, job.frame.name) if part)
    said = [f"{title}  ({found.bench.source.path}), when {one.point}: {verdict.word.upper()}", ""]
    said += [f"  {each}" for each in verdict.reasons]
    said += [f"  do: {each.text}" for each in verdict.remedies]
    said += [""] if verdict.reasons or verdict.remedies else []
    table = [("error, mm", "found, 95 %", "limit (grade)", ""), *rows(found)]
    wide = [max(len(row[i]) for row in table) for i in range(3)]
    said += [
        "  " + "  ".join(f"{cell:<{wide[i] if i < 3 else 0}}" for i, cell in enumerate(row)).rstrip()
        for row in table
    ]
    said += [""]
    for hole in one.holes:
        if hole.found is None or hole.ellipse is None:
            said.append(f"  {hole.name} hole: its place is not settled by these readings")
        else:
            x, y = hole.found
            e = hole.ellipse
            said.append(
                f"  {hole.name} hole at x {x:.2f}, y {y:.2f} "
                f"(wanted {hole.wanted[0]:.2f}, {hole.wanted[1]:.2f}), "
                f"95 % ellipse {e.long:.2f} by {e.short:.2f}, the longer at {e.angle:.0f} deg"
            )
    said += [f"  {each}" for each in _effects(one)]
    if one.stock:
        said.append(f"  stock: {one.stock:g} is still to be faced off; errors are told as if it were")
    said += [f"  not seen: {each}" for each in verdict.unseen]
    said += [f"  note: {each}" for each in found.notes]
    said += [f"  pull, {_name(each)}: {each.sentence}" for each in found.pulls]
    said += ["  recorded in your pull history"] if found.recorded else []
    return "\n".join([*said, "", verdict.says, ""])


def _effects(one: Survey) -> list[str]:
    """Return what the errors do to pads and caliper, in words."""
    said = []
    # What a recalled mount does to its pads is said with what to do about it.
    if one.pads is not None and one.recall is None:
        out = f"{one.pads.out:.2f} out of the track" if one.pads.out > 0.0 else "on their track"
        said.append(
            f"pads: {_signed(one.pads.move)} ± {TWO_SIDED_95 * one.pads.deviation:.2f} outward, "
            f"{one.pads.play:g} to spare either way: {out}"
        )
    off = [each.error for each in one.misses if each.key.startswith("lateral") and each.error is not None]
    if off:
        slots = sides(one)
        takes = f"slots take {slots.value:g} either way (grade {slots.grade})"
        said.append(f"caliper: {_signed(max(off, key=abs))} sideways to make up, {takes}")
    return said


def _signed(value: float) -> str:
    return f"{round(value, 2) + 0.0:+.2f}"


def _name(each: Pull) -> str:
    return each.quantity.replace("_", " ")


def _shown(one: Survey) -> list[tuple[Taken, float]]:
    return list(zip(one.taken, one.shown, strict=True))


def survey_document(found: Surveyed) -> dict[str, Any]:
    """Return the survey as a JSON document; lengths mm, angles degrees, "state" its check point."""
    one, verdict = found.survey, found.verdict
    document: dict[str, Any] = {
        "job_file": str(found.bench.source.path),
        "frame": found.bench.source.job.frame.id,
        "state": one.point,
        "verdict": verdict.word,
        "reasons": list(verdict.reasons),
        "remedies": [
            {
                "kind": each.kind,
                "text": each.text,
                "answers": list(each.answers),
                "amounts": dict(each.amounts),
                "leaves": each.leaves,
                "least": each.least.value if each.least else None,
            }
            for each in verdict.remedies
        ],
        "errors": [
            {
                "key": each.key,
                "name": each.name,
                "wanted": each.wanted,
                "error": each.error,
                "deviation": each.deviation,
                "limit": each.limit.value if each.limit else None,
                "allowed": list(allowed(each.limit, each.band)) if each.limit else None,
                "grade": each.limit.grade if each.limit else None,
                "state": each.state,
            }
            for each in one.misses
        ],
        "holes": [
            {
                "name": each.name,
                "wanted": list(each.wanted),
                "found": list(each.found) if each.found else None,
                "ellipse": {
                    "long": each.ellipse.long,
                    "short": each.ellipse.short,
                    "angle": each.ellipse.angle,
                }
                if each.ellipse
                else None,
            }
            for each in one.holes
        ],
        "pads": {
            "move": one.pads.move,
            "deviation": one.pads.deviation,
            "play": one.pads.play,
            "out": one.pads.out,
        }
        if one.pads
        else None,
        "caliper_adjustment": sides(one).value,
        "stock": one.stock,
        "contradictions": [
            {
                "readings": list(each.keys),
                "shown": list(each.shown),
                "by": each.by,
                "named": each.sole,
                "text": contradiction_words(each),
            }
            for each in one.contradictions
        ],
        "recall": {
            "row": one.recall.row,
            "key": one.recall.key,
            "was": one.recall.was,
            "radii": list(one.recall.radii),
        }
        if one.recall
        else None,
        "missing": list(one.missing),
        "unmeasured": list(one.unmeasured),
        "next": list(verdict.next),
        "unseen": list(verdict.unseen),
        "readings": [
            {"reading": each.key, "shown": shown, "wanted": each.reading.nominal}
            for each, shown in _shown(one)
        ],
        "reading_error": {
            key: {"value": each.value, "grade": each.grade} for key, each in one.error.used().items()
        },
        "notes": list(found.notes),
        "pull": [
            {
                "quantity": each.quantity,
                "frames": each.count,
                "mean": each.mean,
                "deviation": each.deviation,
                "interval": [each.low, each.high],
                "text": each.sentence,
            }
            for each in found.pulls
        ],
        "recorded": found.recorded,
        "says": verdict.says,
    }
    return _rounded(document)  # type: ignore[no-any-return]


def _rounded(value: Any) -> Any:
    if isinstance(value, float):
        return round(float(value), 6) + 0.0
    if isinstance(value, dict):
        return {key: _rounded(each) for key, each in value.items()}
    return [_rounded(each) for each in value] if isinstance(value, list) else value
