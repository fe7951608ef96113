"""The answers in a measuring sheet that was filled in as a form."""

from pathlib import Path

from geometry.core.errors import InputError, NoPacketError
from sheets.actions.readings_file import with_unit
from sheets.files.apart import apart
from sheets.files.read.form import read_form
from sheets.guide.bench_questions import QUESTIONS
from sheets.guide.lengths import UNITS, units_of
from sheets.guide.lengths import each as each_length
from sheets.guide.tube_questions import PLACES

_AT, _OUTSIDE = ".at", ".outside"


def answers_of(path: Path) -> dict[str, str]:
    """Return the answers filled into a measuring sheet, by question; what was left empty is not among them.

    A bare length of a sheet that asks for inches gets its unit, and its units are an answer too.
    Raise InputError for a file that is no measuring sheet, for one with nothing filled in, and for a place
    on a tube of which only one half was written.
    """
    try:
        form = apart(path, read_form, path)
    except NoPacketError as error:
        raise InputError.at(str(path), "this is no measuring sheet; dropleaf blank makes one") from error
    values = form.values
    units = units_of({UNITS: str(form.record.get("units", ""))})
    shapes = {question.key: question.lengths for question in QUESTIONS}
    keys = set(shapes)
    known = keys | {key + half for key in keys if ".place." in key for half in (_AT, _OUTSIDE)}
    if not values or not set(values) <= known:
        raise InputError.at(str(path), "this is no measuring sheet; dropleaf blank makes one")
    filled = {key: " ".join(text.split()) for key, text in values.items() if text.strip()}
    if not filled:
        raise InputError.at(str(path), "nothing is filled in; fill the form, save it, and try again")
    found = {key: text for key, text in filled.items() if key in keys}
    for tube in ("chainstay", "seatstay", "fork-leg"):
        for which in PLACES:
            key = f"tubes.{tube}.place.{which}"
            at, outside = filled.get(key + _AT, ""), filled.get(key + _OUTSIDE, "")
            if bool(at) != bool(outside):
                lacking = "at" if outside else "outside"
                what = (
                    f"{lacking} {which} is empty, but {'outside' if outside else 'at'} {which} is filled in"
                )
                raise InputError.at(f"{path}: {tube.replace('-', ' ')}", f"{what}; give both, or neither")
            if at:
                found[key] = f"{at}: {outside}"
    if units == "mm":
        return found
    kept = {
        key: each_length(shapes[key], text, lambda one: with_unit(one, units)) for key, text in found.items()
    }
    return {UNITS: units, **kept}
