"""How far a mount may be off: the interface's tolerances, or own judgement.

Card, traveller, check and survey all take their limits from here.
"""

import functools
from collections.abc import Mapping
from pathlib import Path
from typing import Literal

from geometry.core.say import say
from geometry.core.tables import Number, numbered, table
from geometry.survey.trilateration import TWO_SIDED_95
from geometry.tables.interfaces import Interface, rows

State = Literal["within", "beyond", "unsure", "unknown", "told"]
"""Within or beyond its limit at 95 %, not to be told apart, not measured, or without a limit."""


@functools.cache
def numbers() -> dict[str, Number]:
    """Return the survey's own numbers by name, "reading.hand" for hand in [reading]."""
    own = table(Path(__file__).with_name("survey.toml"))
    parts = (part for part in own.raw if part != "sources")
    return {f"{part}.{key}": each for part in parts for key, each in own.numbers(part).items()}


def limits(form: Interface) -> Mapping[str, Number]:
    """Return how far each error may go, by its key; grade D where the interface's own was not found."""
    judged = {key.removeprefix("limit."): each for key, each in numbers().items() if key.startswith("limit.")}
    own = (
        None
        if form.tolerance is None
        else Number(form.tolerance, "own" if form.own else form.grade, say("reading.limits.its_row"))
    )
    found = dict(judged)
    if form.family == "tab":
        published = {} if form.own else dict(numbered(rows()[form.name].radii))
        for key in ("near", "far", "spacing"):
            each = published.get(key)
            if each is None:
                found[key] = own or judged["tab"]
            else:
                band = each.tolerance
                found[key] = judged["tab"] if band is None else Number(band, each.grade, each.source)
    elif own is not None:
        found |= {"height": own, "along": own, "spacing": own}
    if form.lateral.tolerance is not None:
        found["lateral"] = Number(form.lateral.tolerance, form.lateral.grade, form.lateral.source)
    return found


def stem(key: str) -> str:
    """Return the limit that an error keeps: "height" for height_near, "square_along" for itself."""
    first = key.partition("_")[0]
    return first if first in ("height", "along", "lateral") else key


def published(form: Interface, key: str) -> tuple[float, float]:
    """Return the band of an error, mm, that holds all published numbers: the limit begins beyond it.

    Only height, along and lateral have one: a tab's radii and any spacing are published alike by all.
    """
    part = stem(key)
    return form.published(part) if part in ("height", "along", "lateral") else (0.0, 0.0)


def allowed(limit: Number, band: tuple[float, float]) -> tuple[float, float]:
    """Return the least and the largest error that keeps a limit, which begins beyond published numbers."""
    return band[0] - limit.value, band[1] + limit.value


def state(error: float, spread: float, limit: Number | None, band: tuple[float, float] = (0.0, 0.0)) -> State:
    """Return whether an error keeps its limit: surely, surely not, or not to be told at 95 %.

    `band` holds the errors that a mount has which lies between published numbers: none of them is wrong.
    """
    if limit is None:
        return "told"
    low, high = allowed(limit, band)
    half = TWO_SIDED_95 * spread
    if low <= error - half and error + half <= high:
        return "within"
    return "beyond" if error - half > high or error + half < low else "unsure"
