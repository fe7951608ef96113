"""The order of work: named operations, where to stop and measure, and where nobody goes on unsigned.

The traveller lists every operation; the card prints a short list of the same work. Builders disagree on when
the mount goes on in the order of the frame, so the list starts with the mount in hand and imposes nothing on
the rest, and a job may bring its own order. All texts and orders here are common practice, no source. An
operation that aims at a number has it in `targets` of sheets/pages/running/traveller_steps.py.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from geometry.tables.interfaces import Family

CHECK_POINTS = ("tacked", "cold", "aligned", "faced", "finished")
"""Where readings are asked for, in this order."""

NO_HEAT = "No heat before the scale is proven."
NO_RIDE = "No ride before final check and inspection."
"""The two hold points that every traveller names."""


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
        return self.key.replace("-", " ").capitalize()


def operations(method: str | None, family: Family, facing: float) -> tuple[Operation, ...]:
    """Return the shipped operations in order; `facing` is the stock in mm on the mount face, 0 for none.

    Without a method only what every method shares is listed.
    """
    mount = "tab" if family == "tab" else "posts" if family == "post" else "bosses"
    join = {
        "tig": "Weld in short runs, opposite sides in turn; keep the purge on until it is cold.",
        "fillet-braze": "Flux, heat tube and mount evenly, run the fillet; keep the torch moving.",
        "silver-braze": "Flux, heat until it runs clear, feed the silver from the far side.",
    }.get(method or "", "Join it as your process asks.")
    clean = "Brush clean." if method == "tig" else "Soak the flux off in warm water, then brush clean."
    cool = "Let it cool in still air, still clamped where the fixture allows."
    prove = "Print at full size, measure both bars, lay the template."
    fit = "Clean to bright metal, fit to the tube without rocking, vent every closed space."
    if family == "tab":
        # Its holes are what readings and a fixture's pins go by, so that they come before the first tack.
        fit = f"Prick and drill the tab's holes by its sheet. {fit}"
    on_axle = f"Plate, pieces and {mount} on the dummy axle as listed on the card; clamp without strain."
    stack = f"Stack plate, pieces and {mount} on the dummy axle as listed; clamp without strain."
    tack = "Take paper, wood and plastic off. Tack at both ends."
    align = "Cold-set the dropouts to width and line; never pull on the mount."
    face = (
        f"Face the mount: {facing:g} mm was left for it."
        if facing
        else "Face the mount only if the readings ask for it."
    )
    off = f"{facing:g} mm was left on it; take no more." if facing else "Only if the readings ask for it."
    mask = "Drill or tap what is left, deburr, mask faces and threads before paint."
    last = "Fit hub, disc and caliper cold and clean; spin, squeeze, torque as the caliper's maker says."
    at = "Take the readings asked for here, cold to the hand."
    return (
        Operation("prepare", f"Take tubes and {mount} from stock; write heat numbers and lots at the head."),
        Operation("prove-scale", prove, hold=NO_HEAT, brief=prove),
        Operation("fit", fit, brief=fit),
        Operation("stack", on_axle, record="pieces used", brief=stack),
        Operation("tack", "Take paper, wood and plastic off; tack at both ends.", brief=tack),
        Operation("check", at, "tacked"),
        Operation("heat", join, record="amps or tip" if method != "tig" else "amps", brief=join),
        Operation("cool", cool, brief=f"{cool} {clean}"),
        Operation("clean", f"{clean} Look at the whole joint, then take the readings.", "cold"),
        Operation("align", align, brief=align),
        Operation("survey", f"{at} Square the frame up on plate or strings.", "aligned"),
        Operation("face", off, "faced", brief=face),
        Operation("paint-mask", mask, "finished", brief=mask),
        Operation(
            "final-check",
            "Fit all cold and clean. Spin, squeeze: nothing rubs, pads on the track. Read the gap where it "
            "is least.",
            record="disc to tube, mm",
            brief=last,
        ),
        Operation(
            "torque",
            "The caliper maker's figure governs. Lock every screw as its maker says, then mark it.",
            record="N m, lock",
        ),
        Operation(
            "inspection",
            "Write the owner's note below: what to look at before each ride and after a fall.",
            hold=NO_RIDE,
        ),
        Operation("release", "Every step signed, every failed reading answered below. File this paper."),
    )


def brief(steps: Sequence[Operation]) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Return the card's short list: each line with the check points that end it, in order.

    An operation without a line of its own leaves its check point to the line before.
    """
    lines: list[tuple[str, tuple[str, ...]]] = []
    for step in steps:
        points = (step.check,) if step.check else ()
        if step.brief or (points and not lines):
            lines.append((step.brief or step.text, points))
        elif points:
            text, before = lines[-1]
            lines[-1] = (text, (*before, *points))
    return tuple(lines)


_ORDER = (
    ("prove-scale", "tack", "the mount is tacked where an unproven sheet says"),
    ("prove-scale", "heat", "the mount is joined where an unproven sheet says"),
    ("heat", "paint-mask", "paint burns, gives off fumes and spoils the joint"),
    ("heat", "final-check", "heat moves what was checked"),
    ("align", "final-check", "cold-setting moves what was checked"),
    ("face", "final-check", "facing moves what was checked"),
    ("final-check", "torque", "screws are torqued and marked on a caliper that may still move"),
    ("final-check", "release", "nobody may ride before the final check"),
    ("torque", "release", "nobody may ride on screws that are not torqued"),
    ("inspection", "release", "nobody may ride before the inspection"),
)
"""What is dangerous the other way round, and why: common practice, no source. The rest is the builder's."""

_SIGNED = ("prove-scale", "final-check", "torque", "inspection")
"""What a list should not be without."""


def dangers(steps: Sequence[Operation]) -> tuple[str, ...]:
    """Return a sentence for each pair in a dangerous order, and for each operation that nobody would sign."""
    place = {step.key: number for number, step in enumerate(steps)}
    said = [
        f"Order of work: {second} comes before {first}; {why}."
        for first, second, why in _ORDER
        if place.get(first, -1) > place.get(second, len(steps))
    ]
    lacking = [key for key in _SIGNED if key not in place]
    return (*said, *(f"Order of work: it has no operation {key}, so nobody signs for it." for key in lacking))
