"""How far a reading may be off, and how far a mount: the interface's tolerances, or own judgement."""

import functools
import math
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from geometry.interfaces import Interface, rows
from geometry.survey_model import Taken
from geometry.tables import Number, load, number
from geometry.trilateration import TWO_SIDED_95

State = Literal["within", "beyond", "unsure", "unknown", "told"]
"""Within or beyond its limit at 95 %, not to be told apart, not measured, or without a limit."""


@functools.cache
def numbers() -> dict[str, Number]:
    """Return the survey's own numbers by name, "reading hand" for hand in [reading]."""
    raw = load(Path(__file__).with_name("survey.toml"))
    return {
        f"{part} {key}": number(entry, raw["sources"], f"survey.toml: {part}.{key}")
        for part, entries in raw.items()
        if part != "sources"
        for key, entry in entries.items()
    }


@dataclass(frozen=True, slots=True)
class ReadingError:
    """How far a reading may be off, mm: the caliper's step, and one standard deviation of the hand.

    `edge` is the hand's at a tube's edge. None takes the table's (survey.toml, grade D).
    """

    resolution: float | None = None
    hand: float | None = None
    edge: float | None = None

    def used(self) -> dict[str, Number]:
        """Return what is reckoned with, by name: the own numbers, and the table's in place of the others."""
        given = {"resolution": self.resolution, "hand": self.hand, "edge": self.edge}
        return {
            key: numbers()[f"reading {key}"] if value is None else Number(value, "own", "given")
            for key, value in given.items()
        }

    def deviation(self, taken: Taken) -> float:
        """Return the standard deviation of a reading, mm: a step s spreads evenly over s, s / sqrt(12)."""
        used = self.used()
        step, hand = used["resolution"].value, used["edge" if taken.kind == "edge" else "hand"].value
        return math.hypot(step / math.sqrt(12.0), hand)


USUAL = ReadingError()
"""The table's reading error throughout."""


def limits(form: Interface) -> Mapping[str, Number]:
    """Return how far each error may go, by its key; grade D where the interface's own was not found."""
    judged = {key.removeprefix("limit "): each for key, each in numbers().items() if key.startswith("limit ")}
    own = (
        None
        if form.tolerance is None
        else Number(form.tolerance, "own" if form.own else form.grade, "its row")
    )
    found = dict(judged)
    if form.family == "tab":
        for key in ("near", "far", "spacing"):
            found[key] = own or judged["tab"]
            raw: dict[str, Any] = {} if form.own else rows()[form.name]["radii"][key]
            if raw:
                band = raw.get("tolerance")
                found[key] = (
                    judged["tab"] if band is None else Number(float(band), raw["grade"], raw["source"])
                )
    elif own is not None:
        found |= {"height": own, "along": own, "spacing": own}
    if form.lateral.tolerance is not None:
        found["lateral"] = Number(form.lateral.tolerance, form.lateral.grade, form.lateral.source)
    return found


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
