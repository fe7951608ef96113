"""What is said of braking at a slot: in a sentence, in a few words, large, and what is asked for."""

from dataclasses import replace

from geometry.braking.slot import SlotForce, secured
from geometry.clearance.bodies import tab_band
from geometry.core.say import Say, Value, say
from geometry.tables.axles import End
from geometry.tables.loads import entry
from geometry.tables.stance import Reference
from sheets.words.tell import tell


def worded(slot: SlotForce) -> SlotForce:
    """Return what braking does at a slot with its sentences."""
    return replace(slot, sentence=_sentence(slot), asks=_asks(slot))


def line(end: End, reference: Reference | None) -> Say:
    """Return what a slot's angle is measured from; None: that it may be either."""
    return say(f"slot.line.{_of(end, reference)}")


def opens(angle: float, end: End, reference: Reference | None) -> str:
    """Return which way a slot opens: "opens 15 degrees forward of plumb"."""
    return tell("slot.opens", way=_way(angle, end, reference))


def brief(slot: SlotForce) -> str:
    """Return the slot in a few words for the card's line, or nothing where the card says all of it large."""
    keys = slot.unknown
    if slot.verdict == "unknown":
        return tell("slot.brief.unknown", keys=keys)
    if slot.on_pads and not slot.loud and slot.taken is not None and slot.pads is not None:
        return tell("slot.brief.unclear", taken=push(slot.taken), pads=push(slot.pads))
    if slot.verdict != "held":
        return tell("slot.brief.worst", keys=keys) if slot.asks else ""
    return tell("slot.brief.held_in_every_case", keys=keys) if slot.asks else tell("slot.brief.held")


def push(out: float) -> Say:
    """Return a push at a slot: "21 N in", "822 N out"."""
    return say("slot.push.out" if out > 0.0 else "slot.push.in", out=abs(out))


def stamp(slot: SlotForce) -> str:
    """Return what is lettered large of a slot, or nothing."""
    if not slot.loud or slot.out is None:
        return ""
    return tell("slot.stamp", force=_force(slot.out, slot), verdict=say(f"slot.verdict.{slot.verdict}"))


def loud_brief(slot: SlotForce) -> str:
    """Return a push out of the slot in one line of a terminal."""
    if slot.given is None or slot.out is None:
        return ""
    way, force = _way(slot.given, slot.end, slot.reference), _force(slot.out, slot)
    return tell("slot.brief.loud", way=way, force=force)


def loud_remedy(slot: SlotForce) -> str:
    """Return what to do about a push out of the slot."""
    serves = None
    if slot.vanishes is not None:
        serves = _way(round(slot.vanishes), slot.end, slot.reference or "tube")
    never = slot.verdict == "never"
    if serves is None:
        return tell("slot.remedy.never" if never else "slot.remedy.retention")
    return tell("slot.remedy.never_or_turn" if never else "slot.remedy.retention_or_turn", way=serves)


def pads_brief(slot: SlotForce) -> str:
    """Return that the push at the slot turns on where the caliper sits, in one line of a terminal."""
    if slot.taken is None or slot.out is None:
        return ""
    return tell("slot.brief.on_pads", taken=push(slot.taken), out=push(slot.out))


def asks_brief(slot: SlotForce) -> str:
    """Return what is not known of a slot, in one line of a terminal."""
    if slot.given is None or slot.least is None or slot.taken is None:
        return tell("slot.brief.not_given")
    return tell("slot.brief.open", least=push(slot.least), most=push(slot.taken))


def _of(end: End, reference: Reference | None) -> str:
    return "plumb" if reference == "plumb" else f"{reference or 'either'}_{end}"


def _way(angle: float, end: End, reference: Reference | None) -> Say:
    if angle == 0.0:
        return say(f"slot.way.{_of(end, reference)}")
    turn = "slot.turned.forward" if angle > 0.0 else "slot.turned.rearward"
    return say(turn, angle=abs(angle), line=line(end, reference))


def _force(out: float, slot: SlotForce) -> Say:
    """Return a push out as it is said where some case is open: up to so much."""
    return say("slot.force.up_to" if slot.unknown or slot.on_pads else "slot.force.exact", force=out)


def _most(out: float) -> Say:
    return say("slot.push.most_out" if out > 0.0 else "slot.push.least_in", out=abs(out))


def _sentence(slot: SlotForce) -> str:
    if slot.verdict == "thru":
        return tell("slot.thru", force=slot.force)
    if slot.out is None or slot.taken is None or slot.given is None:
        return tell(
            f"slot.not_given.{slot.end}", keys=slot.unknown, down=_most(slot.down), back=_most(slot.back)
        )
    way, force = _way(slot.given, slot.end, slot.reference), _force(slot.out, slot)
    if slot.verdict == "held":
        if slot.out > 0.0:
            return tell("slot.held.out", way=way, force=force)
        least = "slot.force.at_least" if slot.unknown else "slot.force.exact"
        return tell("slot.held.in", way=way, force=say(least, force=abs(slot.out)))
    turn: Say | str = ""
    if slot.vanishes is not None:
        serves = _way(round(slot.vanishes), slot.end, slot.reference or "tube")
        turn = say("slot.serves", way=serves)
    low, high = tab_band()
    pads: dict[str, Value] = {
        "taken": push(slot.taken),
        "least": low.value,
        "most": high.value,
        "grade": high.grade,
    }
    if slot.on_pads and not slot.loud:
        return tell("slot.unclear", way=way, out=slot.out, turn=turn, **pads)
    more: Say | str = ""
    if slot.pads is not None and slot.pads > slot.out + entry("rest", "slot").value:
        more = say("slot.elsewhere", pads=slot.pads)
    if slot.verdict == "never":
        most = secured()
        said = tell(
            "slot.never", way=way, force=force, more=more, secured=most.value, grade=most.grade, turn=turn
        )
    else:
        loud = "slot.retention" if slot.loud else "slot.quick_release"
        said = tell(loud, way=way, force=force, more=more, turn=turn)
    return f"{said} {tell('slot.on_pads', **pads)}" if slot.on_pads else said


def _asks(slot: SlotForce) -> str:
    """Return what is unknown and which keys would settle it, where they are wanted; else nothing.

    A slot's reference is asked for wherever it is not given, the stance where a case is not held, and a whole
    slot where one that opens downward, as most do, would be pushed out of: one not told of may be that one.
    This is the one place to ask, with `unknown` and `spread` as its numbers.
    """
    if slot.given is None or slot.taken is None or slot.least is None:
        asked = slot.verdict == "unknown" and slot.down > entry("rest", "slot").value
        return _sentence(slot) if asked else ""
    standing = any(key.startswith("stance.") for key in slot.unknown)
    if not slot.unknown or (slot.reference is not None and not (slot.turns or slot.loud)):
        return ""
    keys, cases = [], []
    if slot.reference is None:
        keys.append(say(f"slot.keys.reference_{slot.end}"))
        cases.append(say("slot.cases.reference"))
    if standing:
        low, high = slot.spread
        keys.append(say(f"slot.keys.stance_{slot.end}"))
        cases.append(say(f"slot.cases.stance_{slot.end}", low=low, high=high))
    what = "both" if len(keys) > 1 else "stance" if standing else "reference"
    asked_for = tell(f"slot.asks.{what}", given=slot.given, keys=tuple(keys))
    worst = tell(
        "slot.worst_here" if slot.on_pads else "slot.worst",
        cases=tuple(cases),
        least=push(slot.least),
        most=push(slot.taken),
        verdict=say(f"slot.verdict.{slot.verdict}"),
    )
    return f"{asked_for} {worst}"
