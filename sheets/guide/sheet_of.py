"""What a measuring sheet of one job knows: its answers, its own measures, and which of them are missing."""

from pathlib import Path

from geometry.core.errors import InputError
from geometry.tables.interfaces import rows
from sheets.guide.bench_questions import QUESTIONS
from sheets.guide.draft import ENDING, answers_in
from sheets.guide.entries import answers_of, entries
from sheets.guide.explain import keys
from sheets.guide.lengths import UNITS, in_file, parted, units_of
from sheets.guide.lengths import each as each_length
from sheets.guide.tube_questions import PLACES
from sheets.job import toml as toml_text
from sheets.words.lengths import Units
from sheets.words.measures import Known, letter

_TUBES = {"rear": ("chainstay", "seatstay"), "front": ("fork-leg",)}


def sheet_of(file: Path, asked: Units | None) -> tuple[Known, Units]:
    """Return what the sheet of a job, or of a draft of `start`, has in it, and its units.

    They are those `asked` for, else the job's own. The job may lack what it needs: that is what is to be
    measured. Raise InputError for a file that cannot be read or says nothing that a job does.
    """
    if file.suffix == ENDING:
        answers, family = answers_in(file), ""
    else:
        document = toml_text.document_in(file, "a job file takes about 2 kB")
        found = entries(document)
        known = set(keys())
        if not any(each.value and (each.key in known or ".place." in each.key) for each in found):
            raise InputError.at(str(file), "this is no job: it has none of a job's keys")
        answers, own = answers_of(found), document.get("interface")
        family = str(own.get("family", "")) if isinstance(own, dict) else ""
    units = asked or units_of(answers)
    end = "front" if answers.get("mount.end") == "front" else "rear"
    row = rows().get(answers.get("mount.interface", ""))
    family = family or (row.family if row else "")
    values: dict[str, str] = {}
    boxes, lacking = set[str](), set[str]()
    # A box stands for every question that this mount may come to.
    opened = {"stance.head": "0", "dropout.slot": "0", "other.stay": "yes"}
    opened |= {f"tubes.{tube}.place.{which}": "0" for tube in _TUBES[end] for which in PLACES}
    for question in QUESTIONS:
        halves = (".at", ".outside") if ".place." in question.key else ("",)
        value = answers.get(question.key, "")
        if question.key == UNITS or not (value or question.when({**answers, **opened})):
            continue
        names = [f"{question.key}{half}" for half in halves]
        boxes |= set(names)
        if value:
            whole = each_length(question.lengths, value, lambda one: in_file(one, units))
            place = parted(whole) if len(halves) > 1 else None
            values |= dict(zip(names, (place[1], " x ".join(place[0])) if place else (whole,), strict=False))
        elif (
            letter(question.key) and not question.stands_in and question.when({**answers, question.key: "0"})
        ):
            lacking |= set(names)
    shown = (family, "") if end == "rear" else ("", family)
    name = answers.get("frame.id", file.stem)
    paper = answers.get("paper.size", "A4")
    return Known(name, paper, shown, values, frozenset(boxes), frozenset(lacking)), units
