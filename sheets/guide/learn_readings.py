"""Readings on a mount that works, asked for at a terminal one after the other, with a way back."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from geometry.survey.learn import expected, instead
from geometry.survey.learn_readings import Kind, P, kinds, reachable
from geometry.survey.limits import numbers
from geometry.tables.interfaces import rows
from sheets.actions import learn
from sheets.guide.talk import Talk, in_turn, nearest_of, typed
from sheets.job.toml import written
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
    "year": "Of which year is it?",
    "instrument": "What do you read it with? A caliper of 150, digital, for one",
    "temperature": "How warm is it? Degrees Celsius",
    "adapter": "Is it read on an adapter? Its step, such as 20; 0 for none",
}
_NAMES = {"family": ("tab", "post", "flat"), "end": ("rear", "front")}
_USUAL = {"resolution": "reading.resolution", "caliper": "reading.caliper", "play": "reading.pin_play"}


def asked(
    given: Mapping[str, Any],
    talk: Talk,
    check: Callable[[Mapping[str, Any]], None],
    more: Sequence[str] = (),
) -> dict[str, Any]:
    """Return what is said and read, as a readings file would have it; `given` is not asked for again.

    `check` is given what was said of the mount before anything is read, and raises where that is of no use.
    `more` are keys that are asked for too, for a report.
    """
    talk.say("Enter: not measured. b: back. Several readings of one distance: 52.6; 52.65. Inches: 2.07 in.")
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
        return True

    in_turn(talk, len(order), ask, "This is the first question.")
    check(head)
    return {**head, learn.READINGS: _readings(head, talk)}


def file_text(document: Mapping[str, Any]) -> str:
    """Return what was said and read as a readings file, so that nobody has to read a mount twice."""
    head = {key: value for key, value in document.items() if key != learn.READINGS}
    lines = [f"{key} = {written(value)}" for key, value in head.items()]
    return "\n".join(
        (
            *lines,
            f"[{learn.READINGS}]",
            *(f"{key} = {written(each)}" for key, each in document[learn.READINGS].items()),
        )
    )


def _head(key: str, talk: Talk) -> Any:
    """Return what is said under a key, "" for nothing, None for the way back."""
    shown = "needed" if key in learn.NEEDED else "Enter: not measured"
    if key in learn.MORE:
        shown = "Enter: not said"
    if key in _USUAL:
        shown = f"Enter: {'up to ' if key == 'play' else ''}{numbers()[_USUAL[key]].value:g}"
    talk.say("")
    talk.say(_ASK[key])

    def read(text: str) -> Any:
        if text:
            return learn.said(key, text)
        if key in learn.NEEDED:
            raise ValueError(f"An answer is needed here: {told(learn.wanted(key))}; < goes back.")
        return ""

    names = _NAMES.get(key, ())
    return typed(
        talk, f"  [{shown}]", read, explain=lambda: (told(learn.wanted(key)),), means=nearest_of(*names)
    )


def _readings(head: Mapping[str, Any], talk: Talk) -> dict[str, list[float]]:
    """Return the readings that are typed, by their keys."""
    listed = kinds(head["family"], head["end"])
    found: dict[str, list[float]] = {}

    def ask(index: int) -> bool | None:
        kind = listed[index]
        shadow = _shadow(kind, head, found)
        if shadow:
            talk.say("")
            talk.say(shadow)
        if shadow is not None or _needless(kind.key, found):
            return False
        question = "", f"{kind.key}: {told(kind.how)}"
        read = typed(talk, "  [mm]", lambda text: learn.values(kind, head["family"], text), question)
        if read is None:
            return None
        found.pop(kind.key, None)
        if read:
            found[kind.key] = list(read)
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
    return (
        f"{stem}: not asked for. The hole should lie {at[P.X_NEAR]:.1f} mm up the tube, so that a pin of "
        f"{at[P.PIN]:g} lies in the shadow of an axle of {at[P.AXLE]:g} and the jaw meets the axle: "
        f"{told(instead(kind))}."
    )


def confirmed(found: learn.Lesson, talk: Talk) -> bool | float:
    """Return whether a mount that fits another size is kept all the same, or another native size, mm."""
    talk.say("")
    for question in found.questions:
        talk.say(question)
    talk.say(f"Is it made for {found.measured.native:g} all the same?")

    def read(text: str) -> bool | float:
        if text.lower() in (*YES, *NO):
            return text.lower() in YES
        return float(learn.said("native", text))

    prompt = "  [yes: keep it so; another size in mm: take that; Enter: keep nothing]"
    return typed(talk, prompt, read, back=()) or False
