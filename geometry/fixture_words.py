"""What is said of a fixture: how it is made and used, what to be warned of, and its drill tables."""

import math

from geometry.fasteners import screw
from geometry.fixture import Fixture
from geometry.fixture_numbers import Give, value
from geometry.fixture_shape import JOINING, Drill, Part, trimmed

KERF = "Lines are finished edges: no kerf is allowed for, it is left to the cutter."


def making(fix: Fixture) -> tuple[str, ...]:
    """Return how the parts are made and put together, a sentence each; lengths in mm."""
    said = [
        f"Plate: {fix.metal.name}, {trimmed(fix.plate)} thick; bore {fix.bore:g} to slide on the dummy axle."
    ]
    if fix.assumed:
        said = [f"{said[0]} {fix.plate:g} is ours: bench.plate gives yours."]
    if fix.side_plate.relief is not None:
        said.append(f"Drill the relief {value('relief'):g} first, then saw to it and file to the line.")
    said.append(
        "Drill the holes first, saw last; file the straight edge: all is measured from bore and edge."
    )
    if fix.bar is None:
        return tuple(said)
    width, height = fix.bar
    tap = screw(JOINING)
    drilled, clear = f"{tap.tap_drill.value:g}", tap.clearance["fine"].value
    line_in = 0.0 if fix.line_in is None else fix.line_in
    said.append(
        f"Bar: steel, {width:g} × {height:g}; its bolt line lies {line_in:.2f} from the plate's side."
    )
    allowed = f" ({fix.facing:g} left for facing is in it)" if fix.facing else ""
    said.append(
        f"Clamp the bar to the plate, its top flush with the straight edge and its underside {fix.level:.2f} "
        f"above the axle's centre{allowed}. Drill through both as a pair: screws {drilled}, dowels "
        f"{value('dowel_drill'):g}; tap the bar {tap.name}, open the plate to {clear:g}, ream the dowels "
        f"{value('dowel'):g}."
    )
    slot = slotted(fix)
    if slot is not None:
        said.append(
            f"Slots: drill {slot.diameter:g} at both crosses, file out between, square to the plate's side."
        )
    return tuple(said)


def slotted(fix: Fixture) -> Drill | None:
    """Return the first hole of a fixture that is a slot, None where none is."""
    return next((hole for part in fix.parts for hole in part.holes if hole.length is not None), None)


def using(fix: Fixture) -> tuple[str, ...]:
    """Return how the fixture is set up and the mount held in it, a sentence each; lengths in mm."""
    said = []
    if fix.collar:
        said.append(
            f"Slip a collar {fix.collar:g} long over the axle between the dropout's {_side(fix)} face and "
            "the plate."
        )
    else:
        said.append(f"The plate lies against the dropout's {_side(fix)} face.")
    if fix.spacer is not None:
        said.append(
            f"Spacers {fix.spacer:.2f} between plate and tab on both screws."
            if fix.spacer > 0.005
            else "The tab is screwed flat to the plate."
        )
    said.append(turning(fix))
    said.append("The bore lets the plate turn: set its angle by the card's readings, then clamp it.")
    return tuple(each for each in said if each)


def checking(fix: Fixture) -> tuple[str, ...]:
    """Return what to measure on the finished fixture, and how far its own numbers are to be trusted; mm."""
    if fix.bar is None:
        over = ", ".join(
            f"{hole.name} {hole.radius + (fix.bore + hole.diameter) / 2.0:.2f}"
            for hole in fix.side_plate.holes[1:]
        )
        said = f"Check: over a bar in the bore and a pin that fills the hole, {over}."
    else:
        said = f"Check: from a bar in the bore up to the bar's underside {fix.level - fix.bore / 2.0:.2f}."
    return (
        said,
        f"Edges ({value('edge'):g} × the hole), webs ({value('web'):g}), torch room and the hand's force are "
        "our judgement, grade D.",
    )


def turning(fix: Fixture) -> str:
    """Return how the mount is kept from turning in the fixture."""
    if fix.family == "tab":
        return "Two screws keep the tab from turning."
    slot = slotted(fix)
    if slot is None:
        return (
            "Each boss is drawn up to the bar by its screw; its round hole may turn without harm, but scribe "
            "bar and boss to see that its cope has not."
        )
    flats = slot.diameter - value("key_play")
    if not fix.key_rod:
        return f"Slots of boss and bar share a key {flats:g} thick, so that no boss can turn; clamp both on."
    lean = math.degrees(math.atan(value("key_play") / (slot.length or 1.0)))
    return (
        f"No boss can turn: a bare {fix.key_rod} rod, two flats filed to {flats:g}, goes through the slots "
        f"of boss and bar, a nut at each end, and keys them to {lean:.1f}° of the axle's direction."
    )


def heat(fix: Fixture) -> tuple[str, ...]:
    """Return the cautions of heat and arc, a short sentence each."""
    clear = value("clear")
    rooms = [each.to_plate for each in fix.seams if each.to_plate < clear]
    bars = [each.to_bar for each in fix.seams if each.to_bar is not None and each.to_bar < clear]
    said = [fix.metal.heat, "No magnet near a TIG arc. Tack in the fixture, finish out of it."]
    if fix.seams:
        at = ", ".join(f"{each.name} {each.to_plate:.0f}" for each in fix.seams)
        said.append(f"Torch room from the joint to the plate, side view: {at}; {clear:g} is asked for.")
    if bars:
        said.append(f"The bar is {min(bars):.0f} from the joint: it draws heat there, so only tack.")
    if rooms and not bars:
        said.append("Where there is less, tack from the open sides.")
    return tuple(said)


def giving(give: Give) -> str:
    """Return how far a part gives under a hand, in words."""
    amount = "below 0.01" if give.amount < 0.01 else f"{give.amount:.2f}"
    return f"{give.part.capitalize()} gives {amount} under {give.force:g} N at its far end ({give.how})"


def warnings(fix: Fixture) -> tuple[str, ...]:
    """Return what to be warned of: a part that a hand bends by more than is asked for."""
    said = []
    limit = value("bend")
    for give in fix.gives:
        thick = fix.plate if fix.bar is None or give.part == "side plate" else fix.bar[1]
        if give.amount > limit:
            enough = math.ceil(thick * (give.amount / limit) ** (1.0 / 3.0) - 1e-9)
            said.append(
                f"The fixture's {give.part}, {thick:g} thick, gives {give.amount:.2f} under "
                f"a hand's {give.force:g} N, more than {limit:g}: take {enough} mm."
            )
    return tuple(said)


def from_end(part: Part, hole: Drill) -> float:
    """Return how far a bar's hole is from the end where `along` is least, mm."""
    return hole.along - min(piece.start[0] for piece in part.outline if not hasattr(piece, "sweep"))


def across(part: Part, hole: Drill) -> float:
    """Return how far a hole is from the part's straight edge, mm; for a bar's top from the plate's side."""
    return abs(part.edge - hole.up)


def table(part: Part) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]:
    """Return a part's drill table: the heads, and a row a hole; mm and degrees."""
    if part.name == "side plate":
        holes = (*part.holes, *((part.relief,) if part.relief else ()))
        rows = tuple(
            (
                hole.name,
                f"{hole.along:.2f}",
                f"{hole.up:.2f}",
                f"{across(part, hole):.2f}",
                f"{hole.radius:.2f}",
                f"{hole.angle:.2f}°" if hole.radius else "",
                size(hole),
            )
            for hole in holes
        )
        return ("hole", "along", "up", "from edge", "radius", "angle", "make"), rows
    second = "from plate side" if part.name == "bar, top" else "up from underside"
    short = tuple(
        (hole.name, f"{from_end(part, hole):.2f}", f"{across(part, hole):.2f}", size(hole))
        for hole in part.holes
    )
    return ("hole", "from end", second, "make"), short


def size(hole: Drill) -> str:
    """Return the hole's size in few words, "pair" where two parts share it."""
    if hole.name == "axle":
        return f"bore {hole.diameter:g}"
    if hole.length is not None:
        return f"slot {hole.diameter:g} × {hole.length:g}"
    what = {"dowel": "dowel", "screw": "M6", "relief": "torch"}.get(
        hole.name.split()[0]
    ) or hole.through.split()[0]
    return f"Ø{hole.diameter:g}, {what}{', pair' if hole.pair else ''}"


def _side(fix: Fixture) -> str:
    return "inner" if fix.face == "inside" else "outer"
