"""What sheets say of their readings: whose the limits are, what is not judged, and how each is read."""

from collections.abc import Iterator, Sequence

from geometry.core.say import Say, named, say
from geometry.core.shown import Down
from geometry.mount.placement import Placement
from geometry.survey.limits import limits, published
from geometry.survey.model import LEAN_BASE
from geometry.survey.quantities import sees_turn
from geometry.survey.reading import Printed, Reading
from geometry.tubes.tube import Tube
from sheets.words.tell import tell, told


def limit_words(
    placement: Placement, readings: Sequence[Reading], tube: Tube | None, close: Sequence[Say]
) -> tuple[str, ...]:
    """Return what goes with the limits: the mark of own judgement, what must be alike, what is not judged.

    `close` names the errors whose limits are too close for a common caliper.
    """
    said = []
    grades = {each.limit.grade for each in readings if each.limit is not None}
    if "D" in grades:
        rest = grades - {"D"}
        code = "reading.limits.judged_and_published" if rest else "reading.limits.judged"
        said.append(tell("reading.limits.judged_and_own" if rest == {"own"} else code))
    others = tuple(_others(placement))
    if others:
        said.append(tell("reading.limits.lopsided", others=others))
    most = limits(placement.interface)["square_along"]
    code = (
        "reading.limits.sides_alike" if placement.interface.family == "tab" else "reading.limits.faces_alike"
    )
    said.append(tell(code, most=Down(f"{most.value:g}"), mark="*" if most.grade == "D" else ""))
    if close:
        said.append(
            tell("reading.limits.too_close", step=0.05, errors=", ".join(told(each) for each in close))
        )
    if not sees_turn(placement, tube):
        said.append(tell("reading.limits.no_turn", tube=named(placement.host)))
    return tuple(said)


def _others(placement: Placement) -> Iterator[Say]:
    """Yield where other published numbers put the mount: the limits begin beyond them."""
    for key in ("height", "along", "lateral"):
        low, high = published(placement.interface, key)
        # A number that is not told apart on paper moves no limit that is printed.
        if low <= -_SEEN:
            yield say(f"reading.limits.other.{key}_low", by=-low)
        if high >= _SEEN:
            yield say(f"reading.limits.other.{key}_high", by=high)


_SEEN = 0.05
"""What moves a limit by less is not told, mm: limits are printed in such steps."""


def how_words(
    placement: Placement, thickness: float | None, deciding: Sequence[Reading] = ()
) -> tuple[str, ...]:
    """Return how the readings are taken, a short sentence each, and what the jaws touch in some."""
    return (*_ways(placement, thickness), *_taken(deciding))


def _taken(deciding: Sequence[Reading]) -> Iterator[str]:
    """Yield between which surfaces readings sideways and to a tube's edge are taken, a kind once."""
    for kind in ("side", "edge"):
        one = next((each for each in deciding if each.kind == kind), None)
        if one is None:
            continue
        how, alike = dict(one.how.values), one.how.code == "reading.how.at_hole"
        name = told(one.row if alike else one.name)
        text = tell("reading.taken", reading=name, how=how["how"] if alike else one.how)
        yield f"{text[:1].upper()}{text[1:]}"


def _ways(placement: Placement, thickness: float | None) -> tuple[str, ...]:
    """Return the ways of reading that several readings share."""
    if placement.interface.family != "tab":
        return tuple(
            tell(f"reading.short.{which}", base=LEAN_BASE) for which in ("along", "face", "lean_face")
        )
    outer = () if thickness is not None else ("no_outer",)
    said = ("over_and_between", "lean_tab", *outer)
    return tuple(tell(f"reading.short.{which}", base=LEAN_BASE) for which in said)


def alike(one: Reading, other: Reading) -> bool:
    """Tell whether readings at the near and the far hole must read the same, so that they share a line."""
    same = one.kind == other.kind in ("face", "side") and one.row == other.row
    return same and (one.mm, one.inch, one.times) == (other.mm, other.inch, other.times)


def band(low: str, high: str) -> str:
    """Return limits with a dash, or with a word where a minus sign would stand beside it."""
    return tell("reading.limits.span", low=low, high=high) if low.startswith("-") else f"{low}–{high}"


def within(printed: Printed) -> str:
    """Return limits that are known as they are read, "±0.15" where they lie evenly about nothing."""
    low, high = printed.low, printed.high
    assert low is not None and high is not None
    return f"±{high}" if low == f"-{high}" and float(printed.nominal) == 0.0 else band(low, high)


def often(times: int) -> Say:
    """Return how often a reading is taken."""
    return say("reading.once") if times == 1 else say("reading.times", times=times)
