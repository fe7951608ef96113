"""What is said of a fixture: how it is made and used, what to be warned of, and its drill tables."""

import math

from geometry.core.say import Say, Value, named, say
from geometry.fixture.fixture import Fixture
from geometry.fixture.numbers import Give, value
from geometry.fixture.play import SEEN, Chain, Lean
from geometry.fixture.shape import JOINING, Drill, Part, drilled, trimmed
from geometry.mount.spacers import THIN
from geometry.tables.fasteners import screw
from sheets.words.lengths import measured
from sheets.words.tell import tell, told

_LEAST = 0.01
"""Less than this is not told as a number, mm."""


def making(fix: Fixture) -> tuple[str, ...]:
    """Return how the parts are made and put together, a sentence each; lengths in mm."""
    plate = tell("fixture.making.plate", metal=named(fix.metal.name), thick=trimmed(fix.plate), bore=fix.bore)
    if fix.assumed:
        plate += f" {tell('fixture.making.ours', thick=fix.plate)}"
    said = [plate]
    if fix.side_plate.relief is not None:
        said.append(tell("fixture.making.relief", relief=value("relief")))
    said.append(tell("fixture.making.holes_first"))
    if fix.bar is None:
        size = fix.side_plate.holes[1].diameter
        return (*said, tell("fixture.making.tab", drill=drilled(size), size=size))
    width, height = fix.bar
    tap = screw(JOINING)
    said.append(tell("fixture.making.bar", width=width, height=height, line_in=fix.line_in or 0.0))
    said.append(
        tell(
            "fixture.making.clamp_facing" if fix.facing else "fixture.making.clamp",
            level=fix.level,
            facing=fix.facing,
            tap=tap.tap_drill.value,
            thread=tap.name,
            clear=tap.clearance["fine"].value,
            dowel_drill=value("dowel_drill"),
            dowel=value("dowel"),
        )
    )
    if fix.slot is not None:
        said.append(tell("fixture.making.slots", diameter=fix.slot.diameter))
    else:
        size = fix.parts[1].holes[0].diameter
        said.append(tell("fixture.making.screw_holes", drill=drilled(size), size=size))
    return tuple(said)


def using(fix: Fixture) -> tuple[str, ...]:
    """Return how the fixture is set up and the mount held in it, a sentence each; lengths in mm."""
    said = [tell(f"fixture.against.{fix.face}")]
    if fix.collar:
        thin = say("fixture.thin_collar") if fix.collar < THIN else ""
        said = [tell(f"fixture.collar.{fix.face}", collar=trimmed(fix.collar), thin=thin)]
    if fix.spacer is not None:
        flat = fix.spacer <= SEEN
        said.append(tell("fixture.using.flat" if flat else "fixture.using.spacers", spacer=fix.spacer))
        if fix.facing and fix.face == "inside":
            said.append(tell("fixture.using.facing", facing=fix.facing))
    return (*said, holding(fix), tell("fixture.using.angle"))


def stacking(fix: Fixture) -> str:
    """Return what lies between dropout and mount, in the order in which it goes on the axle; mm."""
    found = [tell("fixture.stack.collar", collar=trimmed(fix.collar))] if fix.collar else []
    found.append(tell("fixture.stack.plate", plate=trimmed(fix.plate)))
    if fix.spacer is not None and fix.spacer > SEEN:
        found.append(tell("fixture.stack.spacers", spacer=fix.spacer))
    if fix.line_in is not None:
        found.append(tell("fixture.stack.bolt_line", line_in=fix.line_in))
    return tell(f"fixture.stacked.{fix.face}", things=", ".join(found))


def checking(fix: Fixture) -> tuple[str, str]:
    """Return what to measure on the finished fixture, and how far its own numbers are to be trusted; mm."""
    if fix.bar is None:
        over = ", ".join(
            f"{told(hole.label)} {measured(hole.radius + (fix.bore + hole.diameter) / 2.0)}"
            for hole in fix.side_plate.holes[1:]
        )
        said = tell("fixture.checking.pins", over=over)
    else:
        said = tell("fixture.checking.bar", up=fix.level - fix.bore / 2.0)
    return said, tell("fixture.checking.grades", edge=value("edge"), web=value("web"))


def holding(fix: Fixture) -> str:
    """Return how the mount is located and kept from turning in the fixture."""
    turn = fix.loose.turn
    if fix.bar is None:
        return tell("fixture.holding.pins", size=fix.side_plate.holes[1].diameter, turn=turn or 0.0)
    if fix.slot is None:
        return tell("fixture.holding.screws")
    how = f"{'rod' if fix.key_rod else 'key'}_{'spins' if turn is None else 'turns'}"
    flats = fix.slot.diameter - value("key_play")
    return tell(f"fixture.keyed.{how}", flats=flats, rod=fix.key_rod, turn=turn or 0.0)


def straying(fix: Fixture) -> tuple[str, ...]:
    """Return how far the fixture may let the mount stray, link by link, against what is asked; mm."""
    said = []
    for each in fix.loose.chains:
        links = (f"{told(link.name)} {measured(link.amount)}" for link in each.links)
        said.append(tell(f"fixture.play.{_state(each)}", links=", ".join(links), **_sums(each)))
    return (*said, leaning(fix.loose.lean))


def strays(fix: Fixture) -> str:
    """Return the same in one sentence, without the links."""
    chains = fix.loose.chains
    sums = (tell(f"fixture.strays.{_state(each)}", **_sums(each)) for each in chains)
    said = tell("fixture.stray.sums", chains="; ".join(sums))
    if all(each.asked is None for each in chains):
        return f"{said} {tell('fixture.stray.none')}"
    if any(each.asked is None for each in chains):
        return f"{said} {tell('fixture.stray.no_other')}"
    return said


def _state(chain: Chain) -> str:
    """Return how a chain compares with the mount's own tolerance."""
    # Told and not warned of: it is the readings that set the mount.
    if chain.asked is None:
        return "unasked"
    if chain.worst_case <= chain.asked:
        return "kept"
    return "kept_by_squares" if chain.rss <= chain.asked else "not_kept"


def _sums(chain: Chain) -> dict[str, Value]:
    return {
        "way": say(f"fixture.way.{chain.way}"),
        "worst": chain.worst_case,
        "rss": chain.rss,
        "asked": chain.asked or 0.0,
    }


def leaning(lean: Lean) -> str:
    """Return how the plate leans on its bore, what that does at the far hole, and what helps; mm."""
    said = tell(
        "fixture.lean.plate",
        play=lean.play,
        bore=trimmed(lean.bore),
        degrees=lean.degrees,
        amount=lean.amount,
        reach=lean.reach,
    )
    helps = tell(
        "fixture.lean.shoulder" if lean.bore >= lean.bush else "fixture.lean.bush",
        bush=lean.bush,
        bushed=lean.at(lean.bush),
        shoulder=lean.shoulder,
        square=lean.square,
        pulled=lean.pulled,
    )
    return f"{said} {helps}"


def heat(fix: Fixture) -> tuple[str, ...]:
    """Return the cautions of heat and arc, a short sentence each."""
    clear = value("clear")
    rooms = [each.to_plate for each in fix.seams if each.to_plate < clear]
    bars = [each.to_bar for each in fix.seams if each.to_bar is not None and each.to_bar < clear]
    said = [fix.metal.heat, tell("fixture.heat.magnet")]
    if fix.seams:
        at = (f"{told(named(each.name))} {measured(each.to_plate, '.0f bare')}" for each in fix.seams)
        said.append(tell("fixture.heat.room", rooms=", ".join(at), clear=clear))
    if bars:
        said.append(tell("fixture.heat.bar", room=min(bars)))
    if rooms and not bars:
        said.append(tell("fixture.heat.open_sides"))
    return tuple(said)


def giving(give: Give) -> str:
    """Return how far a part gives under a hand, in words."""
    little = give.amount < _LEAST
    amount = say("fixture.reckoned.little", least=_LEAST) if little else measured(give.amount)
    return tell(f"fixture.gives.{give.part}", amount=amount, force=give.force, how=give.how)


def warnings(fix: Fixture) -> tuple[str, ...]:
    """Return what to be warned of: a part that a hand bends by more than is asked for."""
    said = []
    limit = value("bend")
    for give in fix.gives:
        thick = fix.plate if fix.bar is None or give.part == "plate" else fix.bar[1]
        if give.amount > limit:
            enough = math.ceil(thick * (give.amount / limit) ** (1.0 / 3.0) - 1e-9)
            said.append(
                tell(
                    f"fixture.gives_much.{give.part}",
                    thick=thick,
                    amount=give.amount,
                    force=give.force,
                    limit=limit,
                    enough=enough,
                )
            )
    return tuple(said)


_PLATE = ("hole", "along", "up", "from_edge", "radius", "angle", "make")
_TOP = ("hole", "from_end", "from_plate", "make")
_SIDE = ("hole", "from_end", "from_underside", "make")


def heads(*keys: str) -> tuple[str, ...]:
    """Return the heads of a drill table's columns."""
    return tuple(tell(f"fixture.head.{key}") for key in keys)


def table(part: Part) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]:
    """Return a part's drill table: the heads, and a row a hole; mm and degrees."""
    if part.name == "plate":
        holes = (*part.holes, *((part.relief,) if part.relief else ()))
        return heads(*_PLATE), tuple(_row_of_plate(part, hole) for hole in holes)
    return heads(*(_TOP if part.name == "top" else _SIDE)), tuple(
        (told(hole.label), _cell(part.from_end(hole)), _cell(part.from_edge(hole)), size(hole))
        for hole in part.holes
    )


def _row_of_plate(part: Part, hole: Drill) -> tuple[str, ...]:
    return (
        told(hole.label),
        _cell(hole.along),
        _cell(hole.up),
        _cell(part.from_edge(hole)),
        _cell(hole.radius),
        f"{hole.angle:.2f}°" if hole.radius else "",
        size(hole),
    )


def _cell(value: float) -> str:
    """Return a number of a drill table, whose heading says the unit."""
    return measured(value, ".2f cell")


def make(hole: Drill) -> Say:
    """Return how a hole is made."""
    return say(f"fixture.make.{hole.use}", **_sizes(hole))


def through(hole: Drill) -> Say:
    """Return what goes through a hole."""
    return say(f"fixture.through.{hole.use}", **_sizes(hole))


def size(hole: Drill) -> str:
    """Return the hole's size in few words, "pair" where two parts share it."""
    return tell(f"fixture.size.{hole.use}", **_sizes(hole))


def _sizes(hole: Drill) -> dict[str, Value]:
    joining, long = screw(JOINING), hole.length or 0.0
    return {
        "diameter": hole.diameter,
        "drill": drilled(hole.diameter),
        "length": long,
        "long": trimmed(long),
        "thread": hole.thread,
        "tap": joining.tap_drill.value,
        "clear": joining.clearance["fine"].value,
    }
