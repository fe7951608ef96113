"""What sheets say of their readings: how often each is taken, whose the limits are, and how it is read."""

from collections.abc import Sequence

from geometry.mount.placement import Placement
from geometry.survey.limits import limits
from geometry.survey.quantities import sees_turn
from geometry.survey.reading import Reading
from geometry.tables.interfaces import Interface
from geometry.tubes.tube import Tube, plain

OFTEN = "A verdict needs each as often as it has boxes."
"""What papers with boxes say of how often a reading is taken."""


def limit_words(
    placement: Placement, readings: Sequence[Reading], tube: Tube | None, close: Sequence[str]
) -> tuple[str, ...]:
    """Return what goes with the limits: the mark of own judgement, what must be alike, what is not judged.

    `close` names the errors whose limits are too close for a common caliper.
    """
    said = []
    grades = {each.limit.grade for each in readings if each.limit is not None}
    if "D" in grades:
        rest = {grade == "own" for grade in grades - {"D"}}
        whose = "the job's own" if rest == {True} else "published"
        others = f"; the other limits are {whose}." if rest else "."
        said.append(f"* is our own judgement or doubtful, grade D{others}")
    said.append(_alike(placement.interface))
    if close:
        named = ", ".join(close)
        said.append(f"Limits too close for a caliper of 0.05: {named}. Read these with a finer one.")
    if not sees_turn(placement, tube):
        host = plain(placement.host)
        said.append(f"No hole can be read to the {host} with the numbers given: a turn is not judged.")
    return tuple(said)


def _alike(form: Interface) -> str:
    most = limits(form)["square_along"]
    mark = "*" if most.grade == "D" else ""
    what = "Sideways near and far" if form.family == "tab" else "Near and far face"
    return f"{what} must agree to {most.value:g}{mark}."


def how_words(placement: Placement, thickness: float | None) -> tuple[str, ...]:
    """Return how the readings are taken, a short sentence each."""
    if placement.interface.family == "tab":
        outer = (
            ()
            if thickness is not None
            else ("Without dropout.thickness nothing is read from the outer face.",)
        )
        return (
            "Over: outside jaws over both. Between: inside jaws between them.",
            "Square across: square on the dropout, blade on the tab's outer side, in 50 mm, + outboard.",
            *outer,
        )
    return (
        "Along the face: square on the faces, blade on the axle; over blade and pin, less the blade.",
        "Face: straightedge on it alone, to the axle's near side.",
        "Square across: square on the axle, blade across 50 mm.",
    )
