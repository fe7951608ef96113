"""What is said of the screen of strength: its sentences for card, page and `check`."""

import math

from geometry.braking.mount_strength import Hold, Part
from geometry.braking.strength import At, Strength, Weak, entry_of, stops_borne
from geometry.core.tables import Number
from geometry.tables.loads import Load, entry
from geometry.tables.materials import Material, material_words
from geometry.tubes.tube import plain

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
    "weld": (
        "The tab is stressed by {:.0f} MPa where it is joined (a plate as thick, joined over its foot)."
    ),
    "root": (
        "The {1} post or boss is stressed by {0:.0f} MPa at its root (a bored bar, held by the tube and by "
        "the caliper that joins it to the other)."
    ),
    "section": (
        "Beside a boss let into it the tube is stressed by {:.0f} MPa, the boss's own metal not counted."
    ),
}
_LEFT = (
    "Beside a boss let into it the tube keeps {:.0f} % of its stiffness. What the boss and its joint must "
    "then carry is not reckoned here: see that the joint is sound all round, at both walls."
)
_LACKING = {
    "bearing": "What presses on the tab's holes is unknown: give {}.",
    "weld": "What the tab bears where it is joined is unknown: give {}.",
    "root": "What a post or boss bears at its root is unknown: give {}.",
    "section": "What the tube bears at its bosses is unknown, as its own stress is.",
}


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
    """Return what the bicycle's own hard stop does to each tube, the weakest first; or that it is unknown."""
    if not found.stop:
        return (unknown_words(found),)
    return tuple(
        f"One hard stop, {plain(each.tube)}: {section_words(each.weakest)}."
        + (f" Next: {section_words(each.second)}." if each.second else "")
        for each in found.stop
    )


def aside_words(found: Strength) -> str:
    """Return what the plane frame leaves out; empty where there is no frame."""
    if not found.stop:
        return ""
    if found.aside is None:
        return (
            "It is not known how far beside the tube the disc lies (outset, splay), so what that couple does "
            "to the tube is left out."
        )
    return (
        f"The disc lies {abs(found.aside.lever):.0f} mm beside the tube. What that does to it is left out: "
        f"at most {found.aside.stress:.0f} MPa more, if this tube alone took what hub and other side share."
    )


def unknown_words(found: Strength) -> str:
    """Return why it is not known what the tubes bear, and what usual walls come to; empty where it is."""
    if found.level != "unknown":
        return ""
    said = f"Whether the tubes bear one hard stop is not known: give {', '.join(found.missing)}."
    if "process.material" in found.missing:
        said += f" A material is known by one of these words: {', '.join(material_words())}."
    if not found.usual:
        return said
    told = ", ".join(f"{each.stress:.0f} MPa with {each.wall:g} mm" for each in found.usual)
    limit = found.beside
    yields = "" if limit is None else f"; beside a joint it yields at {limit.value:g} (grade {limit.grade})"
    return f"{said} With usual walls the most stressed place of all would have {told}{yields}."


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
    if found.worst is None or (found.worst.ratio or 0.0) < 1.0:
        # What yields in one stop has no life to tell of.
        return ""
    borne = stops_borne(found.worst.cut.stress)
    band, cycles = entry_of("fatigue", "range"), entry_of("fatigue", "cycles")
    return (
        f"One stop is not a life: a welded detail of class {band.value:g} at {cycles.value / 1e6:g} million "
        f"(grade {band.grade}) bears this range {_about(borne)} times, and stops half as hard 8 times as "
        "often. "
        "Shape, rust and a poor joint take from that."
    )


def short_of_test(found: Strength) -> str:
    """Return that the published fork test asks for more cycles than the tube may bear; else nothing."""
    if not found.test or stops_borne(found.test[0].weakest.cut.stress) >= entry("test", "cycles").value:
        return ""
    return test_words(found)


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


def part_words(parts: tuple[Part, ...], metal: Number | None = None) -> tuple[str, ...]:
    """Return what the mount itself bears, a sentence a part; `metal` is the yield of the tube's, heated."""
    said = []
    for each in parts:
        if each.left is not None:
            said.append(_LEFT.format(100.0 * each.left))
        elif each.stress is None:
            said.append(_LACKING[each.kind].format(each.missing))
        else:
            told = _PARTS[each.kind].format(each.stress, each.where)
            if metal is not None:
                told += f" Metal like the tube's yields at {metal.value:g} (grade {metal.grade})."
            said.append(told)
    return tuple(said)


def overloaded(parts: tuple[Part, ...], metal: Number | None) -> str:
    """Return what is warned of: a part that one hard stop bends for good, if its metal is like the tube's.

    A tube beside a boss is no such part: its stress leaves out the boss's metal, an upper bound that ordinary
    flat mounts pass. How little is left of it is warned of by share (sheets/words/bosses.py).
    """
    if metal is None:
        return ""
    judged = (each for each in parts if each.stress is not None and each.kind != "section")
    over = tuple(each for each in judged if (each.stress or 0.0) > metal.value)
    return " ".join(part_words(over, metal))


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
    return f"One hard stop may bend a tube for good: {told}. {_helps(found)} {SCREEN}"


def _helps(found: Strength) -> str:
    walls = [f"a wall of {wall:.2f} in the {plain(tube)}" for tube, wall in found.cure if wall is not None]
    walls += [f"a larger {plain(tube)}" for tube, wall in found.cure if wall is None]
    said = f"What helps: {' and '.join(walls)}."
    if len(found.stop) > 1 and found.bent is not None and found.bent.host == "seatstay" and not found.braced:
        said += " A brace between the stays from above the mount's foot helps too: give it, and check again."
    return said


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
