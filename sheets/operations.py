"""The order of work for a process: what to do, and where to stop and measure.

Builders disagree on when the mount goes on in the order of the frame, so the list starts with the mount in
hand and imposes nothing on the rest. Common practice, no source.
"""

from dataclasses import dataclass

from geometry.interfaces import Family

CHECK_POINTS = ("tacked", "cold", "aligned", "faced", "finished")
"""Where readings are asked for, in this order."""


@dataclass(frozen=True, slots=True)
class Operation:
    """One step; `check` names the check point that it ends with, or is empty."""

    text: str
    check: str = ""


def operations(method: str | None, family: Family, facing: float) -> tuple[Operation, ...]:
    """Return the order of work; `facing` is the stock in mm left on the mount face, 0 for none.

    Without a method only what every method shares is listed.
    """
    tab = family == "tab"
    mount = "tab" if tab else "posts" if family == "post" else "bosses"
    prepare = "Clean to bright metal, fit to the tube without rocking, vent every closed space."
    join = {
        "tig": "Weld in short runs, opposite sides in turn; keep the purge on until it is cold.",
        "fillet-braze": "Flux, heat tube and mount evenly, run the fillet; keep the torch moving.",
        "silver-braze": "Flux, heat until it runs clear, feed the silver from the far side.",
    }.get(method or "", "Join it as your process asks.")
    clean = "Brush clean." if method == "tig" else "Soak the flux off in warm water, then brush clean."
    steps = [
        Operation("Print at full size, measure both bars, lay the template."),
        Operation(prepare),
        Operation(f"Stack plate, pieces and {mount} on the dummy axle as listed; clamp without strain."),
        Operation("Take paper, wood and plastic off. Tack at both ends.", "tacked"),
        Operation(join),
        Operation(f"Let it cool in still air, still clamped where the fixture allows. {clean}", "cold"),
        Operation("Cold-set the dropouts to width and line; never pull on the mount.", "aligned"),
        Operation(
            f"Face the mount: {facing:g} mm was left for it."
            if facing
            else "Face the mount only if the readings ask for it.",
            "faced",
        ),
        Operation("Drill or tap what is left, deburr, mask faces and threads before paint.", "finished"),
        Operation(
            "Fit hub, disc and caliper cold and clean; spin, squeeze, torque as the caliper's maker says."
        ),
    ]
    return tuple(steps)
