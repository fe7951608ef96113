"""What is said of the screen of strength: its sentences for card, page and `check`."""

import math

from geometry.braking.mount_strength import Hold, Part
from geometry.braking.strength import At, Screened, Strength, Weak, entry_of, stops_borne
from geometry.tables.loads import Load, entry
from geometry.tables.materials import Material

SCREEN = "A screen of forces, no strength proof and no claim of conformity: have a new design tested."

_AT: dict[At, str] = {
    "start": "at the dropout",
    "foot": "at the mount's foot",
    "top of foot": "at the top of the mount's foot",
    "brace": "at the brace",
    "end": "at its far end",
    "between": "between its joints",
}
_PARTS = {
    "bearing": (
        "A screw presses on its hole in the tab with {:.0f} MPa (force over diameter times thickness)."
    ),
    "weld": "The tab bears {:.0f} MPa where it is joined (a plate of its thickness, joined over its foot).",
    "root": "A post or boss bears {:.0f} MPa at its root (a bar of its length, bored as it is drilled).",
    "section": "The tube bears {:.0f} MPa at a boss let into it, the boss's own metal not counted.",
}
_LACKING = {
    "bearing": "What presses on the tab's holes is unknown: give {}.",
    "weld": "What the tab bears where it is joined is unknown: give {}.",
    "root": "What a post or boss bears at its root is unknown: give {}.",
    "section": "What the tube bears at its bosses is unknown, as its own stress is.",
}


def plain(tube: str) -> str:
    """Return a tube's name as it is said."""
    return tube.replace("-", " ")


def where(weak: Weak) -> str:
    """Return where on its tube a section lies."""
    return f"{_AT[weak.at]}, {weak.cut.s:.0f} mm up"


def section_words(weak: Weak) -> str:
    """Return a weak section: its place, stress, yield with grade, and what the yield is over the stress."""
    told = f"{weak.cut.stress:.0f} MPa {where(weak)}"
    if weak.limit is None or weak.ratio is None:
        return f"{told}; no yield is known for the material"
    heat = " after heat" if weak.joint else " as delivered"
    return (
        f"{told}; yield {weak.limit.value:g}{heat} (grade {weak.limit.grade}), {weak.ratio:.2f} times as much"
    )


def stop_words(found: Strength) -> tuple[str, ...]:
    """Return what the bicycle's own hard stop does to each tube, the weakest first."""
    if not found.stop:
        return (_unknown(found),)
    said = [
        f"One hard stop, {plain(each.tube)}: {section_words(each.weakest)}."
        + (f" Next: {section_words(each.second)}." if each.second else "")
        for each in found.stop
    ]
    if found.aside is None:
        said.append(
            "It is not known how far beside the tube the disc lies (outset, splay), so what that couple does "
            "to the tube is left out."
        )
    else:
        said.append(
            f"The disc lies {abs(found.aside.lever):.0f} mm beside the tube. That couple is left out: at "
            "most "
            f"{found.aside.stress:.0f} MPa more, if this tube alone took what hub and the other side share."
        )
    return tuple(said)


def _unknown(found: Strength) -> str:
    lacking = ", ".join(found.missing)
    if not found.usual:
        return f"The tubes' strength is unknown: {lacking} not given."
    told = ", ".join(f"{each.wall:g} mm: {each.stress:.0f}" for each in found.usual)
    return (
        f"The tubes' strength is unknown: {lacking} not given. With a usual wall the worst section of all "
        "bears, "
        f"in MPa, {told}."
    )


def test_words(found: Strength) -> str:
    """Return what the published fork test's repeated force does to the leg; empty where it is no fork's."""
    if not found.test or found.test_force is None or found.test_arm is None:
        return ""
    weak = found.test[0].weakest
    borne = stops_borne(weak.cut.stress)
    return (
        f"The published fork test's {found.test_force.value:g} N on {found.test_arm_words} arm of "
        f"{found.test_arm.value:g} (grade {found.test_force.grade}): {section_words(weak)}. The class of "
        "welded "
        f"detail on file bears that range {_about(borne)} times; the test asks "
        f"{entry('test', 'cycles').value:.0f}."
    )


def life_words(found: Strength) -> str:
    """Return how often the weakest section's range is borne by a published class of welded detail."""
    if found.worst is None:
        return ""
    borne = stops_borne(found.worst.cut.stress)
    band, cycles = entry_of("fatigue", "range"), entry_of("fatigue", "cycles")
    return (
        f"One stop is not a life: a welded detail of class {band.value:g} at {cycles.value / 1e6:g} million "
        f"(grade {band.grade}) bears this range {_about(borne)} times, and stops half as hard 8 times as "
        "often. "
        "Shape, rust and a poor joint take from that."
    )


def _about(count: float) -> str:
    if count >= 1e7:
        return "over 10 million"
    digits = 10 ** max(0, int(math.log10(max(count, 1.0))) - 1)
    return f"about {round(count / digits) * digits:,}".replace(",", " ")


def hold_words(holds: tuple[Hold, Hold], screw: str, friction: float, torque: float) -> str:
    """Return what the screws hold by friction, and what is left to their shanks."""
    worst = max(holds, key=lambda each: each.across)
    told = (
        f"At {torque:g} N·m a dry {screw} presses with {worst.clamp:.0f} N, and friction of {friction:g} "
        "holds "
        f"{worst.holds:.0f} N across it (grade D)."
    )
    if worst.beyond == 0.0:
        return f"{told} The {worst.name} screw must hold {worst.across:.0f}: friction does it."
    return (
        f"{told} The {worst.name} screw must hold {worst.across:.0f}: {worst.beyond:.0f} of that go to its "
        f"shank, {worst.stress:.0f} MPa."
    )


def part_words(parts: tuple[Part, ...]) -> tuple[str, ...]:
    """Return what the mount itself bears, a sentence a part."""
    return tuple(
        _LACKING[each.kind].format(each.missing)
        if each.stress is None
        else _PARTS[each.kind].format(each.stress)
        for each in parts
    )


def retention_words(quick: bool) -> str:
    """Return what holds a quick-release wheel in its slot; empty for a thru axle."""
    if not quick:
        return ""
    return (
        "A quick release holds the wheel in an open slot by its clamp alone, which wears and is forgotten. A "
        "retention tab or a thru axle holds it by shape."
    )


def card_words(found: Strength) -> str:
    """Return the card's few words on the tubes."""
    if not found.stop:
        return "tubes: strength unknown, see the page"
    first = found.stop[0]
    ratio = first.weakest.ratio
    told = f"{plain(first.tube)} {first.weakest.cut.stress:.0f} MPa"
    return told if ratio is None else f"{told}, yield {ratio:.2f} times that"


def warning(found: Strength, load: Load, material: Material | None) -> str:
    """Return what is warned of: a tube that one hard stop bends for good; empty for none."""
    if found.level != "weak" or material is None:
        return ""
    weak = [each for each in found.stop if (each.weakest.ratio or math.inf) < load.ratio.value]
    told = "; ".join(f"{plain(each.tube)} {section_words(each.weakest)}" for each in weak)
    return f"One hard stop may bend a tube for good: {told}. {_helps(found, weak)} {SCREEN}"


def _helps(found: Strength, weak: list[Screened]) -> str:
    ways = [
        f"a wall of about {each.weakest.wall_for:.2f} in the {plain(each.tube)}"
        for each in weak
        if each.weakest.wall_for is not None
    ]
    lacking = [plain(each.tube) for each in weak if each.weakest.wall_for is None]
    if lacking:
        ways.append(f"a larger {' and '.join(lacking)}")
    if len(found.stop) > 1 and found.bent is not None and found.bent.host == "seatstay" and not found.braced:
        ways.append("a brace between the stays from above the mount's foot")
    return f"What helps: {', or '.join(ways)}."


def look_words(found: Strength) -> str:
    """Return what a frame is told whose weakest section is near the line; empty for others."""
    if found.level != "look" or not found.stop:
        return ""
    first = found.stop[0]
    return (
        f"Look here: {plain(first.tube)} {section_words(first.weakest)}. Rough ground and a heavy rider "
        "ask more "
        "than one hard stop."
    )
