"""A survey in words and as a document: for a terminal, for a page of a packet, and for other programs."""

from typing import Any

from geometry.core.say import Say, named, say
from geometry.survey.limits import allowed
from geometry.survey.remedy_room import sides
from geometry.survey.survey import HoleFound, Miss, Survey
from geometry.survey.trilateration import TWO_SIDED_95
from geometry.survey.verdict import Verdict, contradiction
from sheets.actions.survey import Surveyed
from sheets.pages.running.survey_page import Section
from sheets.words.as_json import as_json, picked
from sheets.words.lengths import units
from sheets.words.tell import tell, told


def word(verdict: Verdict, *, loud: bool = False) -> str:
    """Return a verdict's word in the language spoken; `loud` gives it in capitals."""
    key = verdict.word.replace(" ", "_")
    return tell(f"survey.loud.{key}") if loud else tell(f"survey.word.{key}")


def sections(found: Surveyed) -> tuple[Section, ...]:
    """Return the survey as running text, for a page of a packet."""
    one, verdict = found.survey, found.verdict
    after = [say("survey.page.sentence", text=each) for each in effects(one)]
    readings = [
        say("survey.page.reading", key=each.key, shown=shown, wanted=each.reading.nominal)
        for each, shown in zip(one.taken, one.shown, strict=True)
    ]
    pulls = [say("survey.page.labelled", name=each.name, text=each.sentence) for each in found.pulls]
    below: dict[str, tuple[Say | str, ...]] = {
        "do": tuple(each.text for each in verdict.remedies),
        "errors": (
            say("survey.text.surely"),
            *(say("survey.page.error", **cells(each)) for each in one.misses),
            *after,
        ),
        "readings": tuple(readings),
        "unseen": verdict.unseen,
        "pull": tuple(pulls),
        "notes": found.notes,
    }
    heading = tell("survey.page.verdict", point=named(one.point), verdict=word(verdict))
    return (
        _section(verdict.reasons, heading),
        *(_section(lines, _heading(head)) for head, lines in below.items() if lines),
        _section((verdict.says,)),
    )


def _heading(head: str) -> str:
    return tell(f"survey.heading.errors.{units()}") if head == "errors" else tell(f"survey.heading.{head}")


def _section(lines: tuple[Say | str, ...], heading: str = "") -> Section:
    return Section([told(each) for each in lines], heading)


def cells(each: Miss) -> dict[str, Say]:
    """Return what is told of an error: its name, what was found, its limit, and how it stands."""
    state = say(f"survey.state.{each.state}")
    return {"name": each.name, "found": each.words, "limit": each.allowed, "state": state}


def survey_text(found: Surveyed) -> str:
    """Return the survey as aligned text for a terminal."""
    one, verdict, job = found.survey, found.verdict, found.bench.source.job
    title = " ".join(part for part in (job.frame.id, job.frame.name) if part)
    head = say(
        "survey.text.head",
        title=title,
        file=str(found.bench.source.path),
        point=named(one.point),
        verdict=word(verdict, loud=True),
    )
    reasons = [*verdict.reasons, *(say("survey.text.do", text=each.text) for each in verdict.remedies)]
    after = [*(_place(hole) for hole in one.holes), *effects(one)]
    after += [say("survey.text.stock", stock=one.stock)] if one.stock else []
    after += [say("survey.text.unseen", text=each) for each in verdict.unseen]
    after += [say("survey.text.note", text=each) for each in found.notes]
    after += [say("survey.text.pull", name=each.name, text=each.sentence) for each in found.pulls]
    after += [say("survey.text.recorded")] if found.recorded else []
    columns = [
        tell(f"survey.column.error.{units()}"),
        tell("survey.column.found"),
        tell("survey.column.limit"),
    ]
    table = [[*columns, ""], *([told(cell) for cell in cells(each).values()] for each in one.misses)]
    wide = [max(len(row[i]) for row in table) for i in range(3)]
    rows = [
        "  ".join(f"{cell:<{wide[i] if i < 3 else 0}}" for i, cell in enumerate(row)).rstrip()
        for row in table
    ]
    rows.append(tell("survey.text.surely"))
    parts = ([told(each) for each in reasons], rows, [told(each) for each in after])
    said = [told(head)]
    for part in parts:
        said += ["", *(f"  {each}" for each in part)] if part else []
    return "\n".join([*said, "", told(verdict.says), ""])


def _place(hole: HoleFound) -> Say:
    """Return where a hole lies, and how surely."""
    if hole.found is None or hole.ellipse is None:
        return say("survey.text.no_place", hole=named(hole.name))
    (x, y), (wanted_x, wanted_y), e = hole.found, hole.wanted, hole.ellipse
    return say(
        "survey.text.place",
        hole=named(hole.name),
        x=x,
        y=y,
        wanted_x=wanted_x,
        wanted_y=wanted_y,
        long=e.long,
        short=e.short,
        angle=e.angle,
    )


def effects(one: Survey) -> list[Say]:
    """Return what the errors do to pads and caliper."""
    said = []
    # What a recalled mount does to its pads is said with what to do about it.
    if one.pads is not None and one.recall is None:
        pads, band = one.pads, TWO_SIDED_95 * one.pads.deviation
        code = "survey.pads_out" if pads.out > 0.0 else "survey.pads_on_track"
        said.append(say(code, move=round(pads.move, 2) + 0.0, band=band, play=pads.play, out=pads.out))
    off = [each.error for each in one.misses if each.key.startswith("lateral") and each.error is not None]
    if off:
        most, slots = max(off, key=abs), sides(one)
        said.append(say("survey.caliper", off=round(most, 2) + 0.0, takes=slots.value, grade=slots.grade))
    return said


def survey_document(found: Surveyed) -> dict[str, Any]:
    """Return the survey as a JSON document; lengths mm, angles degrees, "state" its check point."""
    one, verdict, job = found.survey, found.verdict, found.bench.source
    document = {
        "job_file": str(job.path),
        "frame": job.job.frame.id,
        "state": one.point,
        "verdict": verdict.word,
        "reasons": verdict.reasons,
        "remedies": [
            {
                **picked(each, "kind", "text", "answers"),
                "amounts": dict(each.amounts),
                "leaves": each.leaves,
                "least": each.least and each.least.value,
            }
            for each in verdict.remedies
        ],
        "errors": [
            {
                **picked(each, "key", "name", "wanted", "error", "deviation"),
                "limit": each.limit and each.limit.value,
                "allowed": each.limit and allowed(each.limit, each.band),
                "grade": each.limit and each.limit.grade,
                "state": each.state,
            }
            for each in one.misses
        ],
        "holes": one.holes,
        "pads": one.pads,
        "caliper_adjustment": sides(one).value,
        "stock": one.stock,
        "contradictions": [
            {
                "readings": each.keys,
                "shown": each.shown,
                "by": each.by,
                "named": each.sole,
                "text": contradiction(each),
            }
            for each in one.contradictions
        ],
        "recall": one.recall and picked(one.recall, "row", "key", "was", "radii"),
        "missing": one.missing,
        "unmeasured": one.unmeasured,
        "next": verdict.next,
        "unseen": verdict.unseen,
        "readings": [
            {"reading": each.key, "shown": shown, "wanted": each.reading.nominal}
            for each, shown in zip(one.taken, one.shown, strict=True)
        ],
        "reading_error": {key: picked(each, "value", "grade") for key, each in one.error.used().items()},
        "notes": found.notes,
        "pull": [
            {
                **picked(each, "quantity"),
                "frames": each.count,
                **picked(each, "mean", "deviation"),
                "interval": [each.low, each.high],
                "text": each.sentence,
            }
            for each in found.pulls
        ],
        "recorded": found.recorded,
        "says": verdict.says,
    }
    return as_json(document)  # type: ignore[no-any-return]
