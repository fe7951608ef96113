"""What is said of the screen of strength: its sentences for card, page and `check`."""

import math
from collections.abc import Mapping
from types import MappingProxyType

from geometry.braking.mount_strength import Hold, Part
from geometry.braking.strength import Joint, Strength, Weak, entry_of, stops_borne
from geometry.core.say import Say, named, say
from geometry.core.tables import Number
from geometry.tables.fasteners import Torque
from geometry.tables.loads import Load
from geometry.tables.materials import Material, material_words
from sheets.words.tell import tell, told


def where(weak: Weak) -> Say:
    """Return where on its tube a section lies."""
    return say(f"strength.at.{weak.at}", s=weak.cut.s)


def section(weak: Weak) -> Say:
    """Return a weak section: its place, stress, yield with grade, and what the yield is over the stress."""
    stress, at = weak.cut.stress, where(weak)
    if weak.limit is None or weak.ratio is None:
        return say("strength.section.no_yield", stress=stress, where=at)
    return say(
        "strength.section.heated" if weak.joint else "strength.section.delivered",
        stress=stress,
        where=at,
        limit=weak.limit.value,
        grade=weak.limit.grade,
        ratio=weak.ratio,
    )


def stop_words(found: Strength) -> tuple[str, ...]:
    """Return what the bicycle's own hard stop does to each tube, the weakest first; or that it is unknown."""
    if not found.stop:
        return (unknown_words(found),)
    return tuple(
        tell("strength.stop", tube=named(each.tube), section=section(each.weakest))
        if each.second is None
        else tell(
            "strength.stop_next",
            tube=named(each.tube),
            section=section(each.weakest),
            second=section(each.second),
        )
        for each in found.stop
    )


def aside_words(found: Strength) -> str:
    """Return what the plane frame leaves out; empty where there is no frame."""
    if found.bent is None or not found.stop:
        return ""
    tube = named(found.bent.host)
    if found.aside is None:
        return tell("strength.aside.unknown", tube=tube)
    said = tell("strength.aside.lies", tube=tube, lever=abs(found.aside.lever))
    if found.bound is None:
        return said
    return f"{said} {tell('strength.aside.bound', tube=tube, section=section(found.bound))}"


def unknown_words(found: Strength) -> str:
    """Return why it is not known what the tubes bear, and what usual walls come to; empty where it is."""
    if found.level != "unknown":
        return ""
    said = [tell("strength.unknown.give", missing=", ".join(map(told, found.missing)))]
    if "process.material" in found.missing:
        said.append(tell("strength.unknown.materials", words=", ".join(material_words())))
    if found.usual:
        stresses = ", ".join(
            tell("strength.unknown.usual_wall", stress=each.stress, wall=each.wall) for each in found.usual
        )
        limit = found.beside
        if limit is None:
            said.append(tell("strength.unknown.usual", stresses=stresses))
        else:
            said.append(
                tell(
                    "strength.unknown.usual_and_yield",
                    stresses=stresses,
                    limit=limit.value,
                    grade=limit.grade,
                )
            )
    return " ".join(said)


def life_words(found: Strength, joint: Joint) -> str:
    """Return how often the weakest section's range is borne by a published class of welded detail.

    None is on file for a brazed one, and where nobody says how the mount is joined it may be that.
    """
    if found.worst is None or (found.worst.ratio or 0.0) < 1.0:
        # What yields in one stop has no life to tell of.
        return ""
    if joint == "brazed":
        return tell("strength.life_brazed")
    band, cycles = entry_of("fatigue", "range"), entry_of("fatigue", "cycles")
    return tell(
        "strength.life" if joint == "welded" else "strength.life_if_welded",
        band=band.value,
        millions=cycles.value / 1e6,
        grade=band.grade,
        borne=times(stops_borne(found.worst.cut.stress)),
    )


def times(count: float) -> Say:
    """Return how often, to two figures."""
    if count >= 1e7:
        return say("strength.times.over")
    digits = 10 ** max(0, int(math.log10(max(count, 1.0))) - 1)
    return say("strength.times.about", count=f"{round(count / digits) * digits:,}".replace(",", " "))


def hold_words(holds: tuple[Hold, Hold], screw: str, friction: float, torque: Torque) -> str:
    """Return what friction holds across both screws, what braking asks, and what follows from that."""
    near, far = holds
    said = tell(
        "strength.screws",
        screw=screw,
        friction=friction,
        low=torque.low.value,
        near=near.holds,
        far=far.holds,
        high=torque.high.value,
        near_most=near.holds_most,
        far_most=far.holds_most,
        near_across=near.across,
        far_across=far.across,
    )
    if all(each.beyond == 0.0 for each in holds):
        code = "enough"
    elif all(each.across <= each.holds_most for each in holds):
        code = "enough_high"
    else:
        code = "bears"
    stress = max(each.stress for each in holds)
    does = tell(f"strength.screw.{code}", low=torque.low.value, high=torque.high.value, stress=stress)
    return f"{said} {does} {tell('strength.tighten')}"


def part_words(
    parts: tuple[Part, ...], metal: Number | None = None, carriers: Mapping[str, str] = MappingProxyType({})
) -> tuple[str, ...]:
    """Return what the mount itself bears, a sentence a part; `metal` is the yield of the tube's, heated.

    `carriers` says by hole what holds a post or boss that no known tube does: "dropout", "dropout_part" where
    only part of its end stands on that, or "unknown".
    """
    said = []
    for each in parts:
        if each.left is not None:
            said.append(tell("strength.boss_leaves", left=100.0 * each.left))
        elif each.stress is None:
            said.append(tell(f"strength.part_unknown.{each.kind}", missing=each.missing))
        else:
            at = named(each.where) if each.where else ""
            on = carriers.get(each.where or "") if each.kind == "root" else None
            kind = f"{each.kind}_{on}" if on else each.kind
            bears = tell(f"strength.part.{kind}", stress=each.stress, where=at)
            if metal is not None:
                bears += f" {tell('strength.metal_yields', limit=metal.value, grade=metal.grade)}"
            said.append(bears)
    return tuple(said)


def seam_words(parts: tuple[Part, ...], carriers: Mapping[str, str]) -> tuple[str, ...]:
    """Return what the screen counts on where a post or boss is joined to the dropout, a sentence each."""
    needed = next((each.seam for each in parts if each.seam is not None), None)
    if needed is None:
        return ()
    values = {"throat": needed.throat, "leg": needed.leg}
    codes = {"dropout": "strength.seam", "dropout_part": "strength.seam_part"}
    return tuple(tell(codes[on], where=named(hole), **values) for hole, on in carriers.items() if on in codes)


def judged(parts: tuple[Part, ...]) -> list[tuple[Part, float]]:
    """Return the mount's own parts and their stress, MPa; a tube beside a boss is no part of the mount."""
    return [(each, each.stress) for each in parts if each.stress and each.kind != "section"]


def overloaded(
    parts: tuple[Part, ...],
    metal: Number | None,
    ratio: float,
    carriers: Mapping[str, str] = MappingProxyType({}),
) -> str:
    """Return what is warned of: a part that one hard stop bends for good, if its metal is like the tube's.

    `ratio` is how many times the stress its yield must be, as of tubes. A tube beside a boss is no such part:
    its stress leaves out the boss's metal, an upper bound that ordinary flat mounts pass. How little is left
    of it is warned of by share (sheets/words/bosses.py).
    """
    if metal is None:
        return ""
    over = tuple(each for each, stress in judged(parts) if stress * ratio > metal.value)
    return " ".join(part_words(over, metal, carriers))


def near_part(parts: tuple[Part, ...], metal: Number | None, ratio: float) -> Part | None:
    """Return the part of the mount whose stress comes near the yield of a metal like the tube's, or none.

    Near is by the same line as for tubes; what is below the ratio asked for is warned of (`overloaded`).
    """
    found = judged(parts)
    if metal is None or not found:
        return None
    worst, stress = max(found, key=lambda each: each[1])
    return worst if ratio <= metal.value / stress < max(ratio, entry_of("line", "look").value) else None


def card_words(found: Strength) -> str:
    """Return the card's few words on the tubes."""
    if not found.stop:
        return tell("strength.card.unknown")
    first, weak = found.stop[0], found.stop[0].weakest
    if weak.ratio is None:
        return tell("strength.card.stress", tube=named(first.tube), stress=weak.cut.stress)
    return tell("strength.card.ratio", tube=named(first.tube), stress=weak.cut.stress, ratio=weak.ratio)


def warning(found: Strength, load: Load, material: Material | None) -> str:
    """Return what is warned of: a tube that one hard stop bends for good; empty for none."""
    if found.level != "weak" or material is None:
        return ""
    if found.by_aside and found.bound is not None:
        said = tell("strength.weak_bound", tube=_host(found), section=section(found.bound))
        return f"{said} {tell('strength.screen')}"
    weak = [each for each in found.stop if (each.weakest.ratio or math.inf) < load.ratio.value]
    tubes = "; ".join(f"{told(named(each.tube))} {told(section(each.weakest))}" for each in weak)
    return " ".join((tell("strength.weak", tubes=tubes), *_helps(found), tell("strength.screen")))


def weak_brief(found: Strength, load: Load) -> str:
    """Return the tube that one hard stop bends for good in one line of a terminal, and which others."""
    if found.by_aside and found.bound is not None:
        return tell("strength.brief.weak_bound", tube=_host(found), section=_short(found.bound))
    weak = [each for each in found.stop if (each.weakest.ratio or math.inf) < load.ratio.value]
    if not weak:
        return ""
    first = weak[0].weakest
    if len(weak) == 1 or first.limit is None:
        return tell("strength.brief.weak", tube=named(weak[0].tube), section=_short(first))
    return tell(
        "strength.brief.weak_too",
        tubes=tuple(named(each.tube) for each in weak),
        stress=first.cut.stress,
        limit=first.limit.value,
        grade=first.limit.grade,
    )


def weak_remedy(found: Strength) -> str:
    """Return what helps a weak tube, in one line of a terminal."""
    walls = _walls(found, "strength.brief.wall")
    if not walls:
        return tell("strength.brief.look_on")
    return tell("strength.brief.take_or_brace" if _braces(found) else "strength.brief.take", walls=walls)


def look_brief(found: Strength) -> str:
    """Return the most stressed tube in one line of a terminal."""
    if found.by_aside and found.bound is not None:
        return tell("strength.brief.look_bound", tube=_host(found), section=_short(found.bound))
    first, weak = found.stop[0], found.stop[0].weakest
    if weak.limit is None:
        return ""
    return tell(
        "strength.brief.look",
        tube=named(first.tube),
        limit=weak.limit.value,
        grade=weak.limit.grade,
        stress=weak.cut.stress,
        where=say(f"strength.brief.at.{weak.at}"),
    )


def one_line(found: Strength, load: Load) -> str:
    """Return the most stressed tube in one hard stop, for the ten numbers; or what is missing."""
    if not found.stop:
        return tell("strength.brief.unknown", missing=tuple(found.missing))
    first, weak = found.stop[0], found.stop[0].weakest
    at = say(f"strength.brief.at.{weak.at}")
    if weak.limit is None:
        return tell("strength.brief.stop_no_yield", stress=weak.cut.stress, tube=named(first.tube), where=at)
    mass = load.mass
    return tell(
        "strength.brief.stop" if mass is None or mass.grade == "own" else "strength.brief.stop_assumed",
        mass=0.0 if mass is None else mass.value,
        stress=weak.cut.stress,
        tube=named(first.tube),
        where=at,
        limit=weak.limit.value,
        grade=weak.limit.grade,
    )


def _host(found: Strength) -> Say:
    return named(found.bent.host if found.bent is not None else found.stop[0].tube)


def load_words(load: Load, *, short: bool = False) -> str:
    """Return for which mass all of it holds, and loudly where the job does not give it."""
    mass = load.mass
    if mass is None:
        return ""
    code = ("given" if mass.grade == "own" else "assumed") + ("_short" if short else "")
    return tell(f"strength.load.{code}", mass=mass.value)


def measure_words(load: Load) -> str:
    """Return what the yield over the stress of a hard stop is measured against."""
    look = entry_of("line", "look")
    return tell(
        "strength.measure",
        bends=load.ratio.value,
        look=max(load.ratio.value, look.value),
        grade=look.grade,
    )


def _short(weak: Weak) -> Say:
    """Return a weak section by its place, stress and yield."""
    stress, at = weak.cut.stress, say(f"strength.brief.at.{weak.at}")
    if weak.limit is None:
        return say("strength.section.no_yield", stress=stress, where=at)
    return say(
        "strength.section.short", stress=stress, where=at, limit=weak.limit.value, grade=weak.limit.grade
    )


def _helps(found: Strength) -> list[str]:
    said = [tell("strength.helps.walls", walls=_walls(found))]
    if _braces(found):
        said.append(tell("strength.helps.brace"))
    return said


def _walls(found: Strength, wall_code: str = "strength.helps.wall") -> tuple[Say, ...]:
    # Tubes that a wall on sale helps come first.
    cure = sorted(found.cure, key=lambda each: each[1] is None)
    return tuple(
        say("strength.helps.larger", tube=named(tube))
        if wall is None
        else say(wall_code, wall=wall, tube=named(tube))
        for tube, wall in cure
    )


def _braces(found: Strength) -> bool:
    """Tell whether a brace between the stays would help."""
    on_seatstay = found.bent is not None and found.bent.host == "seatstay"
    return len(found.stop) > 1 and on_seatstay and not found.braced


def look_words(found: Strength) -> str:
    """Return what a frame is told whose weakest section is near the line; empty for others."""
    if found.level != "look" or not found.stop:
        return ""
    if found.by_aside and found.bound is not None:
        return tell("strength.look_bound", tube=_host(found), section=section(found.bound))
    first = found.stop[0]
    return tell("strength.look", tube=named(first.tube), section=section(first.weakest))
