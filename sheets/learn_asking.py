"""Readings on a mount that works, asked for at a terminal one after the other, with a way back."""

from collections.abc import Callable, Mapping
from typing import Any

from geometry.learn_readings import Kind, kinds
from geometry.survey_limits import numbers
from sheets import learn

BACK = ("b", "back")
_ASK = {
    "family": "Which family: tab, post or flat?",
    "end": "Which end: rear or front?",
    "native": "Which disc is it made for, without adapter? mm",
    "on": "What do you measure? A frame, a caliper, an adapter; it is printed as the source",
    "date": "When? Such as 2026-01-31",
    "by": "By whom?",
    "resolution": "What does your caliper show to? mm",
    "hole": "Which drill, or slot width, have its holes? mm",
}
Prompt = Callable[[str], str]
Say = Callable[[str], None]


def asked(given: Mapping[str, Any], prompt: Prompt, say: Say) -> dict[str, Any]:
    """Return what is said and read, as a readings file would have it; `given` is not asked for again."""
    say("Enter: not measured. b: back. Several readings of one distance: 52.6; 52.65. Inches: 2.07 in.")
    head: dict[str, Any] = dict(given)
    order = [key for key in learn.HEAD if key not in given]
    at = 0
    while at < len(order):
        key = order[at]
        answer = _head(key, prompt, say)
        if answer is None:
            if at == 0:
                say("  This is the first question.")
            at = max(0, at - 1)
            continue
        head.pop(key, None)
        if answer != "":
            head[key] = answer
        at += 1
    readings = _readings(kinds(head["family"], head["end"]), head["family"], prompt, say)
    return {**head, learn.READINGS: readings}


def _head(key: str, prompt: Prompt, say: Say) -> Any:
    """Return what is said under a key, "" for nothing, None for the way back."""
    shown = "needed" if key in learn.NEEDED else "Enter: not measured"
    if key == "resolution":
        shown = f"{numbers()['reading resolution'].value:g}"
    say("")
    say(_ASK[key])
    while True:
        typed = prompt(f"  [{shown}]").strip()
        if typed.lower() in BACK:
            return None
        if not typed and key not in learn.NEEDED:
            return ""
        if not typed:
            say(f"  An answer is needed here: {learn.MISSING[key]}; b goes back.")
            continue
        try:
            return learn.said(key, typed)
        except ValueError as error:
            say(f"  {error}")


def _readings(listed: tuple[Kind, ...], family: Any, prompt: Prompt, say: Say) -> dict[str, list[float]]:
    """Return the readings that are typed, by their keys."""
    found: dict[str, list[float]] = {}
    at = 0
    asked_: list[int] = []
    while at < len(listed):
        kind = listed[at]
        if _needless(kind.key, found):
            at += 1
            continue
        say("")
        say(f"{kind.key}: {kind.how}")
        typed = prompt("  [mm]").strip()
        if typed.lower() in BACK:
            if not asked_:
                say("  This is the first reading.")
            at = asked_.pop() if asked_ else 0
            continue
        try:
            read = learn.values(kind, family, typed)
        except ValueError as error:
            say(f"  {error}")
            continue
        found.pop(kind.key, None)
        if read:
            found[kind.key] = list(read)
        asked_.append(at)
        at += 1
    return found


def _needless(key: str, found: Mapping[str, list[float]]) -> bool:
    """Tell whether a reading need not be asked for: one to work out that was read, or of no use alone."""
    if key == "width":
        return "side-outer" not in found
    if key == "pocket":
        return "side-inner" not in found
    return f"{key}-over" in found or f"{key}-between" in found
