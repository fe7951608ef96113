"""Readings on a mount that works, asked for at a terminal one after the other, with a way back."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from geometry.core.shown import Typed
from geometry.survey.learn import expected, instead
from geometry.survey.learn_readings import Kind, P, kinds, reachable
from geometry.survey.limits import numbers
from geometry.tables.interfaces import rows
from sheets.actions import learn
from sheets.actions.readings_file import with_unit
from sheets.guide.talk import BACK, Talk, in_turn, nearest_of, typed
from sheets.job.toml import written
from sheets.words.lengths import Units, measured, telling
from sheets.words.lengths import units as now
from sheets.words.tell import told

YES, NO = ("y", "yes"), ("", "n", "no")
_ASK = {
    "family": "Which family: tab, post or flat?",
    "end": "Which end: rear or front?",
    "native": "Which disc is it made for, without adapter? mm",
    "on": "What do you measure? A frame, a caliper, an adapter; it is printed as the source",
    "date": "When? Such as 2026-01-31",
    "by": "By whom?",
    "resolution": "What does your caliper show to? mm",
    "caliper": "How far may your caliper itself read off? mm; its sheet says, or gauge blocks tell",
    "play": "How loose are the pins in their holes? Hole less pin, mm; 0 where they have to be pushed in",
    "hole": "Which drill, or slot width, have its holes? mm",
    "kind": "Is it a frame, a fork, a caliper or an adapter?",
    "maker": "Who made it? The brand on the part, never a customer; Enter where nobody knows",
    "model": "Which model is it?",
    "year": "Of which year is it?",
    "instrument": "What do you read it with? A caliper of 150, digital, for one",
    "temperature": "How warm is it? Degrees Celsius",
    "adapter": "Is it read on an adapter? Its step, such as 20; 0 for none",
}
LENGTHS = ("resolution", "caliper", "play", "hole")
"""What is said that is a length and no disc's size."""
_KEYS = "Enter: not measured. <: back. ?: explain."
_HOW: dict[Units, str] = {
    "mm": f"{_KEYS} Several readings of one distance: 52.6; 52.65. Inches: 2.07 in.",
    "in": f"{_KEYS} Several readings of one distance: 2.071; 2.073. mm: 52.6 mm.",
    "both": f"{_KEYS} Several readings of one distance: 52.6; 52.65. Inches: 2.07 in.",
}
_NAMES = {"family": ("tab", "post", "flat"), "end": ("rear", "front")}
_USUAL = {"resolution": "reading.resolution", "caliper": "reading.caliper", "play": "reading.pin_play"}


def asked(
    given: Mapping[str, Any],
    talk: Talk,
    check: Callable[[Mapping[str, Any]], None],
    more: Sequence[str] = (),
    units: Units = "mm",
    keep: Callable[[Mapping[str, Any]], None] = lambda document: None,
) -> dict[str, Any]:
    """Return what is said and read, as a readings file would have it; `given` is not asked for again.

    A bare length is inches where `units` are; it is told back in both where they are not mm. `check` is given
    what was said of the mount before anything is read, and raises where that is of no use. `more` are keys
    that are asked for too, for a report. `keep` is handed all that was answered after each answer.
    """
    with telling(units):
        return _asked(given, talk, check, more, keep)


def _asked(
    given: Mapping[str, Any],
    talk: Talk,
    check: Callable[[Mapping[str, Any]], None],
    more: Sequence[str],
    keep: Callable[[Mapping[str, Any]], None],
) -> dict[str, Any]:
    talk.say(_HOW[now()])
    head: dict[str, Any] = dict(given)
    order = [key for key in (*learn.HEAD, *more) if key not in given]

    def ask(index: int) -> bool | None:
        key = order[index]
        answer = _head(key, talk)
        if answer is None:
            return None
        head.pop(key, None)
        if answer != "":
            head[key] = answer
        keep({**head, learn.READINGS: {}})
        return True

    in_turn(talk, len(order), ask, "This is the first question.")
    check(head)
    return {**head, learn.READINGS: _readings(head, talk, keep)}


def file_text(document: Mapping[str, Any]) -> str:
    """Return what was said and read as a readings file, so that nobody has to read a mount twice."""
    head = {key: value for key, value in document.items() if key != learn.READINGS}
    lines = [f"{key} = {written(_as_typed(value))}" for key, value in head.items()]
    return "\n".join(
        (
            *lines,
            f"[{learn.READINGS}]",
            *(
                f"{key} = {written([_as_typed(one) for one in each])}"
                for key, each in document[learn.READINGS].items()
            ),
        )
    )


def _as_typed(value: Any) -> Any:
    """Return a length that was typed in inches as its text, anything else as it is."""
    return value.text if isinstance(value, Typed) else value


def _head(key: str, talk: Talk) -> Any:
    """Return what is said under a key, "" for nothing, None for the way back."""
    shown = "needed" if key in learn.NEEDED else "Enter: not measured"
    if key in learn.MORE:
        shown = "Enter: not said"
    if key in _USUAL:
        usual = measured(numbers()[_USUAL[key]].value, "g bare")
        shown = f"Enter: {'up to ' if key == 'play' else ''}{usual}"
    talk.say("")
    talk.say(_ASK[key].replace("mm", "inches") if key in LENGTHS and now() == "in" else _ASK[key])

    def read(text: str) -> Any:
        if text:
            return learn.said(key, with_unit(text, now()) if key in LENGTHS else text)
        if key in learn.NEEDED:
            raise ValueError(f"An answer is needed here: {told(learn.wanted(key))}; < goes back.")
        return ""

    names = _NAMES.get(key, ())
    return typed(
        talk,
        f"  [{shown}]",
        read,
        explain=lambda: (f"What is wanted: {told(learn.wanted(key))}.", _KEYS),
        means=nearest_of(*names),
    )


def _readings(
    head: Mapping[str, Any], talk: Talk, keep: Callable[[Mapping[str, Any]], None]
) -> dict[str, list[float]]:
    """Return the readings that are typed, by their keys."""
    listed = kinds(head["family"], head["end"])
    found: dict[str, list[float]] = {}

    def values(kind: Kind, text: str) -> tuple[float, ...]:
        parts = [with_unit(part.strip(), now()) for part in text.split(";") if part.strip()]
        return learn.values(kind, head["family"], parts)

    def ask(index: int) -> bool | None:
        kind = listed[index]
        shadow = _shadow(kind, head, found)
        if shadow:
            talk.say("")
            talk.say(shadow)
        if shadow is not None or _needless(kind.key, found):
            return False
        question = "", f"{kind.key}: {told(kind.how)}"
        read = typed(
            talk,
            f"  [{'in' if now() == 'in' else 'mm'}]",
            lambda text: values(kind, text),
            question,
            explain=lambda: (f"{told(kind.how)}.", _HOW[now()]),
        )
        if read is None:
            return None
        if now() != "mm" and read:
            # So that a slip of units is seen at once.
            with telling("both"):
                talk.say(f"  = {'; '.join(measured(value, '.2f mm') for value in read)}")
        found.pop(kind.key, None)
        if read:
            found[kind.key] = list(read)
        keep({**head, learn.READINGS: found})
        return True

    in_turn(talk, len(listed), ask, "This is the first reading.")
    return found


def _needless(key: str, found: Mapping[str, list[float]]) -> bool:
    """Tell whether a reading need not be asked for: one to work out that was read, or of no use alone."""
    if key == "width":
        return "side-outer" not in found
    if key == "pocket":
        return "side-inner" not in found
    return f"{key}-over" in found or f"{key}-between" in found


def _shadow(kind: Kind, head: Mapping[str, Any], found: Mapping[str, list[float]]) -> str | None:
    """Return what is said of a reading that no caliper can take, "" where another says it; None for others.

    What is known is the shipped row of the size that was named, and the diameters read so far.
    """
    if not {"axle", "pin"} <= set(found):
        return None
    shipped = learn.looked_for(head["family"], head["end"], head["native"])
    known = {each.key: each for each in kinds(head["family"], head["end"])}
    taken = [(known[key], sum(found[key]) / len(found[key])) for key in ("axle", "pin")]
    at = expected(shipped, taken)
    # Where the row's number is a band, the pin that may stand out is asked for.
    derived = rows()[shipped.name].at.get(f"{shipped.native:g}")
    if derived is not None and derived.x_near.high is not None:
        at[P.X_NEAR] = derived.x_near.high
    stem = kind.key.removesuffix("-over").removesuffix("-between")
    over = known.get(f"{stem}-over")
    if over is None or reachable(over, at):
        return None if reachable(kind, at) else ""
    if kind.key != over.key:
        return ""
    up, pin, axle = (
        measured(at[P.X_NEAR], ".1f mm"), measured(at[P.PIN], "g bare"), measured(at[P.AXLE], "g bare")
    )  # fmt: skip
    return (
        f"{stem}: not asked for. The hole should lie {up} up the tube, so that a pin of {pin} lies in the "
        f"shadow of an axle of {axle} and the jaw meets the axle: {told(instead(kind))}."
    )


def confirmed(found: learn.Lesson, talk: Talk) -> bool | float:
    """Return whether a mount that fits another size is kept all the same, or another native size, mm."""
    talk.say("")
    for question in found.questions:
        talk.say(question)
    size = f"{found.measured.native:g}"
    talk.say(f"Is it made for {size} all the same?  (y: keep it so; another size in mm: take that)")
    explain = (
        f"The readings fit another disc's mount better than {size}. y keeps them for {size} all the "
        "same, a size in mm as one for that. Enter keeps no row; what was typed is shown.",
    )

    def read(text: str) -> bool | float:
        if text.lower() in BACK:
            raise ValueError("All is answered, so there is no way back from here.")
        if text.lower() in (*YES, *NO):
            return text.lower() in YES
        return float(learn.said("native", text))

    return typed(talk, "  [keep nothing]", read, back=(), explain=lambda: explain) or False
