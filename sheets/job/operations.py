"""The order of work: named operations, where to stop and measure, and where nobody goes on unsigned.

The traveller lists every operation; the card prints a short list of the same work. Builders disagree on when
the mount goes on in the order of the frame, so the list starts with the mount in hand and imposes nothing on
the rest, and a job may bring its own order. All texts and orders here are common practice, no source. An
operation that aims at a number has it in `targets` of sheets/pages/running/traveller_steps.py.
"""

from collections.abc import Sequence
from typing import Literal, get_args

from geometry.core.frozen import dataclass
from geometry.core.say import Say, named, say
from geometry.tables.cautions import cautions
from geometry.tables.interface_rows import Family, HoleKind
from sheets.words.lengths import units
from sheets.words.tell import tell, told

CheckPoint = Literal["tacked", "cold", "aligned", "faced", "finished"]
CHECK_POINTS: tuple[str, ...] = get_args(CheckPoint)
"""Where readings are asked for, in this order."""

SHIPPED = (
    "prepare", "prove-scale", "cut", "fit", "stack", "tack", "brace", "check", "heat", "cool", "clean",
    "align", "survey", "face", "paint-mask", "final-check", "torque", "inspection", "release",
)  # fmt: skip
"""The keys of the shipped operations, in order; "brace" is only for a job that has one."""


@dataclass(frozen=True, slots=True)
class Operation:
    """One operation: its key, what to do, and what to write down of it (`record`, or empty).

    `check` names the check point at which it ends, `hold` says what nobody does before it is signed; both
    may be empty. `brief` is the card's line, empty where an earlier line of the card covers it.
    """

    key: str
    text: str
    check: str = ""
    hold: str = ""
    record: str = ""
    brief: str = ""

    @property
    def title(self) -> str:
        """Return the key as a heading: "Paint mask" for paint-mask."""
        shipped = self.key in SHIPPED
        return tell(f"operations.title.{self._word}") if shipped else self.name.capitalize()

    @property
    def name(self) -> str:
        """Return the key as a part of a sentence: "paint mask" for paint-mask."""
        shipped = self.key in SHIPPED
        return tell(f"operations.name.{self._word}") if shipped else self.key.replace("-", " ")

    @property
    def _word(self) -> str:
        return self.key.replace("-", "_")


def vent_words(family: Family, clear: float) -> Say:
    """Return where tubes are vented, `clear` mm from the joint or more; 0 where no wrap says how far."""
    return say(f"operations.vent.{family}", clear=clear) if clear else say(f"operations.vent.{family}_bare")


def by_hand(hole: str, carrier: str) -> Say:
    """Return how a post is shaped that no wrap shows, by what carries it, "dropout" or "unknown"."""
    return say(f"operations.by_hand.{carrier}", hole=named(hole))


@dataclass(frozen=True, slots=True)
class Making:
    """How a mount is made and put in place, where it changes what is done.

    `hole` is what its screws go through or into: only a thread is chased after the heat. `bench` says what is
    made of its own holes on the bench, with their sizes: posts and bosses are bored and tapped before they
    are set, because pins or screws stand in their holes from the first tack on, and the heat leaves only
    threads to chase (sheets/setup/screws.py). `wrapped` says whether the packet has a wrap for it, without
    which nothing is cut by one, and `clear` how far from the joint its tube is then kept free of holes, mm.
    `stacking` says how plate and mount are put together, on one line and with the pieces
    (sheets/setup/stack.py). `sleeve` is what thickens the tube's wall at its bosses, mm: it must be there
    before the holes are. `loose` are posts that no wrap shows all the same, each with what carries it,
    "dropout" or "unknown" (sheets/setup/carried.py). `brace` is how far up chainstay and seatstay its middle
    meets theirs, mm from the axle, None where the job has none.
    """

    hole: HoleKind = "plain"
    bench: Say | str = ""
    wrapped: bool = True
    clear: float = 0.0
    stacking: tuple[str, str] = ("", "")
    sleeve: float = 0.0
    loose: tuple[tuple[str, str], ...] = ()
    brace: tuple[float, float] | None = None


_PLAIN = Making()


def operations(
    method: str | None, family: Family, facing: float, making: Making = _PLAIN
) -> tuple[Operation, ...]:
    """Return the shipped operations in order; `facing` is the stock in mm on the mount face, 0 for none.

    Without a method only what every method shares is listed.
    """
    mount = named({"tab": "tab", "post": "posts", "flat": "bosses"}[family])
    way = family if making.wrapped else f"{family}_bare"
    vent = vent_words(family, making.clear if making.wrapped else 0.0)
    prove, fit, align = tell("operations.prove"), tell("operations.fit", vent=vent), tell("operations.align")
    # A tab's holes are what readings and a fixture's pins go by, so that they come before the first tack, and
    # bosses that are let in ask for holes in the tube.
    made: dict[str, Say | str] = {} if family == "tab" else {"bench": making.bench}
    if family == "post" and making.loose:
        names = [name for name, _ in making.loose]
        way = "post_none" if len(names) > 1 else "post_one"
        made["other"] = named("far" if "near" in names else "near")
        made["by_hand"] = " ".join(told(by_hand(name, carrier)) for name, carrier in making.loose)
    cut = tell(f"operations.cut.{way}", **made).strip()
    brief_cut = tell(f"operations.brief_cut.{way}", **made).strip()
    if making.sleeve:
        cut = f"{tell('operations.sleeve', thick=making.sleeve)} {cut}"
        brief_cut = f"{tell('operations.brief_sleeve', thick=making.sleeve)} {brief_cut}"
    join = tell(f"operations.heat.{(method or 'any').replace('-', '_')}")
    brief_join = join
    if family == "post":
        brief_join = f"{tell('operations.heat.brief_unplug')} {join}"
        join = f"{tell('operations.heat.unplug')} {join}"
    clean = tell("operations.brush" if method == "tig" else "operations.soak")
    cool, read = tell("operations.cool"), tell("operations.readings")
    off = next(each.text for each in cautions(None, None, None, None) if each.id == "patterns")
    mask, stock = tell(f"operations.mask.{making.hole}"), "left" if facing else "none"
    return (
        Operation("prepare", tell("operations.prepare", mount=mount)),
        Operation(
            "prove-scale",
            prove,
            hold=tell("operations.no_heat"),
            brief=tell("operations.brief_prove"),
        ),
        Operation("cut", cut, brief=brief_cut),
        Operation("fit", fit, brief=fit),
        Operation(
            "stack",
            making.stacking[1],
            record=tell("operations.record.stack"),
            brief=making.stacking[0],
        ),
        Operation("tack", tell("operations.tack", off=off), brief=tell("operations.brief.tack", off=off)),
        Operation("brace", *_brace(making.brace)),
        Operation("check", read, "tacked"),
        Operation(
            "heat",
            join,
            record=tell(f"operations.record.heat.{(method or 'any').replace('-', '_')}"),
            brief=brief_join,
        ),
        Operation("cool", cool, brief=f"{cool} {clean}"),
        Operation("clean", f"{clean} {tell('operations.look')}", "cold"),
        Operation("align", align, brief=align),
        Operation("survey", f"{read} {tell('operations.square_up')}", "aligned"),
        Operation(
            "face",
            tell(f"operations.face.{stock}", facing=facing),
            "faced",
            brief=tell(f"operations.brief_face.{stock}", facing=facing),
        ),
        Operation("paint-mask", mask, "finished", brief=mask),
        Operation(
            "final-check",
            tell("operations.final_check"),
            record=tell(f"operations.record.final_check.{units()}"),
            brief=tell("operations.brief.final_check"),
        ),
        Operation("torque", tell("operations.torque"), record=tell("operations.record.torque")),
        Operation("inspection", tell("operations.inspection"), hold=tell("operations.no_ride")),
        Operation("release", tell("operations.release")),
    )


def _brace(place: tuple[float, float] | None) -> tuple[str, str, str, str, str]:
    """Return a brace's operation from its text on, with where it goes, or that nobody said where.

    The card says where, as the wrap does; the traveller's line has no room for it.
    """
    where, text = say("operations.brace_unplaced"), tell("operations.brace")
    if place is None:
        text = f"{text} {told(where)}"
    else:
        where = say("operations.brace_at", chainstay=place[0], seatstay=place[1])
    return text, "", "", "", tell("operations.brief.brace", where=where)


def hold_points() -> tuple[str, str]:
    """Return the two hold points that every traveller names: before heat, and before a ride."""
    return tell("operations.no_heat"), tell("operations.no_ride")


def _by_line(steps: Sequence[Operation]) -> list[list[Operation]]:
    """Return the operations that each line of the card stands for.

    One without a line of its own belongs to the line before, and what comes before any line to the first.
    """
    lines: list[list[Operation]] = []
    for step in steps:
        if not lines or (step.brief and any(each.brief or each.check for each in lines[-1])):
            lines.append([])
        lines[-1].append(step)
    return lines


def brief(steps: Sequence[Operation]) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Return the card's short list: each line with the check points that end it, in order."""
    return tuple(
        (
            next((each.brief for each in line if each.brief), line[-1].text),
            tuple(each.check for each in line if each.check),
        )
        for line in _by_line(steps)
    )


def step_numbers(steps: Sequence[Operation]) -> tuple[str, ...]:
    """Return the operations' numbers: that of the card's line, with a letter where it stands for several."""
    return tuple(
        f"{number}{chr(ord('a') + at)}" if len(line) > 1 else f"{number}"
        for number, line in enumerate(_by_line(steps), start=1)
        for at in range(len(line))
    )


_ORDER = (
    ("prove-scale", "tack", "tacked_unproven"),
    ("prove-scale", "heat", "joined_unproven"),
    ("heat", "paint-mask", "paint_burns"),
    ("heat", "final-check", "heat_moves"),
    ("align", "final-check", "setting_moves"),
    ("face", "final-check", "facing_moves"),
    ("final-check", "torque", "still_moves"),
    ("final-check", "release", "not_checked"),
    ("torque", "release", "not_torqued"),
    ("inspection", "release", "not_inspected"),
)
"""What is dangerous the other way round, and why: common practice, no source. The rest is the builder's."""

_SIGNED = ("prove-scale", "final-check", "torque", "inspection")
"""What a list should not be without."""


def dangers(steps: Sequence[Operation]) -> tuple[str, ...]:
    """Return a sentence for each pair in a dangerous order, and for each operation that nobody would sign."""
    place = {step.key: number for number, step in enumerate(steps)}
    said = [
        tell("operations.danger", first=first, second=second, why=say(f"operations.why.{why}"))
        for first, second, why in _ORDER
        if place.get(first, -1) > place.get(second, len(steps))
    ]
    return (*said, *(tell("operations.unsigned_for", key=key) for key in _SIGNED if key not in place))
