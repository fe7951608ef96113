"""What is said of a fixture: how it is made and used, what to be warned of, and its drill tables."""

import math

from geometry.fixture.fixture import Fixture
from geometry.fixture.numbers import Give, value
from geometry.fixture.play import SEEN, Chain, Lean
from geometry.fixture.shape import JOINING, Drill, Part, reamed, trimmed
from geometry.mount.spacers import THIN
from geometry.tables.fasteners import screw

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
        size = fix.side_plate.holes[1].diameter
        said.append(
            f"Clamp the tab's blank on the plate: {reamed(size)} through both, so that they are a pair."
        )
        return tuple(said)
    width, height = fix.bar
    tap = screw(JOINING)
    drilled_, clear = f"{tap.tap_drill.value:g}", tap.clearance["fine"].value
    line_in = 0.0 if fix.line_in is None else fix.line_in
    said.append(
        f"Bar: steel, {width:g} × {height:g}; its bolt line lies {line_in:.2f} from the plate's side."
    )
    allowed = f" ({fix.facing:g} left for facing is in it)" if fix.facing else ""
    said.append(
        f"Clamp the bar to the plate, its top flush with the straight edge and its underside {fix.level:.2f} "
        f"above the axle's centre{allowed}. Drill through both as a pair: screws {drilled_}, dowels "
        f"{value('dowel_drill'):g}; tap the bar {tap.name}, open the plate to {clear:g}, ream the dowels "
        f"{value('dowel'):g}."
    )
    slot = slotted(fix)
    if slot is not None:
        said.append(
            f"Slots: drill {slot.diameter:g} at both crosses, file out between, square to the plate's side."
        )
    else:
        size = fix.parts[1].holes[0].diameter
        said.append(f"Holes for the mount's screws: {reamed(size)}, square to the bar's underside.")
    return tuple(said)


def slotted(fix: Fixture) -> Drill | None:
    """Return the first hole of a fixture that is a slot, None where none is."""
    return next((hole for part in fix.parts for hole in part.holes if hole.length is not None), None)


def using(fix: Fixture) -> tuple[str, ...]:
    """Return how the fixture is set up and the mount held in it, a sentence each; lengths in mm."""
    said = []
    if fix.collar:
        thin = " (thin: use shim)" if fix.collar < THIN else ""
        said.append(
            f"Slip a collar {trimmed(fix.collar)} long{thin} over the axle, between the dropout's "
            f"{_side(fix)} face and the plate."
        )
    else:
        said.append(f"The plate lies against the dropout's {_side(fix)} face.")
    if fix.spacer is not None:
        said.append(
            f"Spacers {fix.spacer:.2f} between plate and tab on both pins."
            if fix.spacer > SEEN
            else "The tab lies flat on the plate."
        )
        if fix.facing and fix.face == "inside":
            said.append(f"The {fix.facing:g} left for facing on the tab's inner face is in these numbers.")
    said += holding(fix)
    said.append("The bore lets the plate turn: set its angle by the card's readings, then clamp it.")
    return tuple(said)


def stacking(fix: Fixture) -> str:
    """Return what lies between dropout and mount, in the order in which it goes on the axle; mm."""
    found = [f"collar {trimmed(fix.collar)}"] if fix.collar else []
    found.append(f"plate {trimmed(fix.plate)}")
    if fix.spacer is not None and fix.spacer > SEEN:
        found.append(f"spacers {fix.spacer:.2f} on each pin")
    if fix.line_in is not None:
        found.append(f"bolt line {fix.line_in:.2f} from it")
    return f"From the dropout's {_side(fix)} face: {', '.join(found)}."


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
        f"Edges ({value('edge'):g} × the hole), webs ({value('web'):g}), plays, torch room and the hand's "
        "force are our judgement or remembered, grade D.",
    )


def holding(fix: Fixture) -> tuple[str, ...]:
    """Return how the mount is located and kept from turning in the fixture, a sentence each."""
    turn = fix.loose.turn or 0.0
    if fix.bar is None:
        size = fix.side_plate.holes[1].diameter
        return (
            f"Two pins Ø{size:g}, shanks of that drill or ground h6, go through plate, spacers and tab. "
            f"They let it turn by {turn:.2f}° at most. Clamp the tab between them: no screw fills the holes.",
        )
    slot = slotted(fix)
    if slot is None:
        return (
            "Each boss is drawn up to the bar by its screw. Take the thickest screws that go in: they locate "
            "it. A boss may turn on its screw, but its cope must not: scribe bar and boss.",
        )
    flats = slot.diameter - value("key_play")
    held = f"lets a boss turn by {turn:.1f}° at most, both slots together"
    if fix.loose.turn is None:
        held = "does not keep a boss from turning: scribe bar and boss"
    if not fix.key_rod:
        return (
            f"A key {flats:g} thick, its ends rounded, goes through the slots of bar and boss and {held}. "
            "Clamp both on.",
        )
    return (
        f"A bare {fix.key_rod} rod, two flats filed to {flats:g} and its corners rounded until it enters, "
        f"goes through the slots of bar and boss, a nut at each end, and {held}.",
    )


def straying(fix: Fixture) -> tuple[str, ...]:
    """Return how far the fixture may let the mount stray, link by link, against what is asked; mm."""
    return (*(_chain(each) for each in fix.loose.chains), leaning(fix.loose.lean))


def strays(fix: Fixture) -> str:
    """Return the same in one sentence, without the links."""
    chains = fix.loose.chains
    sums = "; ".join(
        f"{each.way} ±{each.worst_case:.2f} and ±{each.rss:.2f}{'' if each.asked is None else _asked(each)}"
        for each in chains
    )
    open_ = "" if all(each.asked is not None for each in chains) else " No other tolerance was found."
    if all(each.asked is None for each in chains):
        open_ = " The mount's own tolerance was not found."
    return f"Play, worst case and root of squares: {sums}.{open_}"


def _chain(chain: Chain) -> str:
    links = ", ".join(f"{each.name} {each.amount:.2f}" for each in chain.links)
    sums = f"worst case ±{chain.worst_case:.2f}, root of squares ±{chain.rss:.2f}"
    return f"Play {chain.way}: {sums} ({links}){_asked(chain)}."


def _asked(chain: Chain) -> str:
    """Return how a chain compares with the mount's own tolerance, as the end of a sentence."""
    # Told and not warned of: it is the readings that set the mount.
    if chain.asked is None:
        return ", the mount's own tolerance was not found"
    if chain.worst_case <= chain.asked:
        return f", ±{chain.asked:g} is asked and kept"
    if chain.rss <= chain.asked:
        return f", ±{chain.asked:g} is asked and kept by the root of squares alone: trust the readings"
    return f", ±{chain.asked:g} is asked and not kept by the fixture alone: set it by the readings"


def leaning(lean: Lean) -> str:
    """Return how the plate leans on its bore, what that does at the far hole, and what helps; mm."""
    said = (
        f"{lean.play:g} of play in a bore {trimmed(lean.bore)} long lets the plate lean by "
        f"{lean.degrees:.2f}°, {lean.amount:.2f} at the far hole, {lean.reach:.0f} from the axle: measure "
        "yours. What helps:"
    )
    longer = f" a bush {lean.bush:g} long in the bore leaves {lean.at(lean.bush):.2f};"
    if lean.bore >= lean.bush:
        longer = ""
    return (
        f"{said}{longer} a nut that pulls the plate against a shoulder Ø{lean.shoulder:g} on the axle, "
        f"{lean.square:g} out of square, leaves {lean.pulled:.2f}."
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
    ream = "ream " if hole.name in ("near", "far") else ""
    return f"{ream}Ø{hole.diameter:g}, {what}{', pair' if hole.pair else ''}"


def _side(fix: Fixture) -> str:
    return "inner" if fix.face == "inside" else "outer"
