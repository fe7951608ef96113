"""What is said of braking at a slot: in a sentence, in a few words, and what is asked for.

Every angle is said with what it is measured from.
"""

from dataclasses import replace

from geometry.braking.slot import SlotForce, secured
from geometry.clearance.bodies import tab_band
from geometry.tables.axles import End
from geometry.tables.loads import entry
from geometry.tables.stance import Reference

_LINE: dict[End, str] = {"front": "the fork leg's line", "rear": "square down from the chainstay"}
_DOWN: dict[End, str] = {"front": "along the fork leg's line", "rear": "square to the chainstay"}
_TUBE: dict[End, str] = {"front": "a leg", "rear": "a chainstay"}
_HELD = "retention is needed that holds without the quick release's clamp"


def worded(slot: SlotForce) -> SlotForce:
    """Return what braking does at a slot with its sentences."""
    return replace(slot, sentence=_sentence(slot), asks=_asks(slot))


def measured(end: End, reference: Reference | None) -> str:
    """Return what a slot's angle is measured from; None: that it may be either."""
    if reference is None:
        return f"{_LINE[end]} or of plumb"
    return "plumb" if reference == "plumb" else _LINE[end]


def opens(angle: float, end: End, reference: Reference | None) -> str:
    """Return which way a slot opens: "opens 15 degrees forward of plumb"."""
    turn = f"{abs(angle):.4g}"
    if turn == "0":
        down = {"tube": _LINE[end], "plumb": "plumb down", None: f"{_LINE[end]} or plumb down"}[reference]
        return f"opens {'along ' if end == 'front' and reference != 'plumb' else ''}{down}"
    return f"opens {turn} degrees {'forward' if angle > 0.0 else 'rearward'} of {measured(end, reference)}"


def brief(slot: SlotForce) -> str:
    """Return the slot in a few words for the card's line, or nothing where the card says all of it large."""
    if slot.verdict == "unknown":
        return f"slot: unknown, give {_listed(slot.unknown)}"
    if slot.on_pads and not slot.loud and slot.taken is not None and slot.pads is not None:
        return f"slot: {told(slot.taken)}, {told(slot.pads)} if the caliper sits elsewhere on the tab"
    if slot.verdict != "held by shape":
        return f"slot: the worst case, give {_listed(slot.unknown)}" if slot.asks else ""
    return f"slot: held by shape{f' in every case, give {_listed(slot.unknown)}' if slot.asks else ''}"


def _listed(keys: tuple[str, ...]) -> str:
    *first, last = keys
    return f"{', '.join(first)} and {last}" if first else last


def told(out: float) -> str:
    """Return a push at a slot in words: "21 N in", "822 N out"."""
    return f"{out:.0f} N out" if out > 0.0 else f"{abs(out):.0f} N in"


def _most(out: float) -> str:
    return f"{'up to' if out > 0.0 else 'at least'} {told(out)}"


def _sentence(slot: SlotForce) -> str:
    if slot.verdict == "thru axle":
        return f"Thru axle: the axle's {slot.force:.0f} N go into closed holes."
    if slot.out is None or slot.taken is None or slot.given is None:
        return (
            "Which way the slot opens is not given, so whether braking pushes the wheel out is unknown: give "
            f"{_listed(slot.unknown)}. Straight down, {_DOWN[slot.end]} or plumb, it would be "
            f"{_most(slot.down)}; straight rearward {_most(slot.back)}."
        )
    way = f"its slot, which {opens(slot.given, slot.end, slot.reference)}"
    most = "up to " if slot.unknown or slot.on_pads else ""
    if slot.verdict == "held by shape":
        if slot.out > 0.0:
            return f"Braking pushes the axle out of {way}, with {most}{slot.out:.0f} N: held by shape."
        least = "at least " if slot.unknown else ""
        return f"Braking pushes the axle into {way}, with {least}{abs(slot.out):.0f} N: held by shape."
    turn = _turn(slot)
    more = ""
    if slot.pads is not None and slot.pads > slot.out + entry("rest", "slot").value:
        more = f" ({slot.pads:.0f} N, should the caliper sit elsewhere on its tab)"
    if slot.on_pads and not slot.loud:
        return (
            f"Whether braking pushes the axle out of {way}, turns on where on its tab the caliper sits: "
            f"{told(slot.taken)} where the pads are taken to be, up to {slot.out:.0f} N out within "
            f"{_band()}, and then {_HELD}{turn}."
        )
    if slot.verdict == "not with this slot":
        said = (
            f"BRAKING PUSHES THE WHEEL OUT of {way}, with {most}{slot.out:.0f} N{more}, more than a "
            f"secured wheel must bear at one end ({secured().value:g} N, grade {secured().grade}): not "
            "with this "
            f"slot. Take a thru axle, turn slot or caliper{turn}."
        )
    elif not slot.loud:
        said = (
            f"Braking pushes the axle out of {way}, with {most}{slot.out:.0f} N{more}. A closed quick "
            "release "
            f"holds that, as on many frames: see that it is closed well{turn}."
        )
    else:
        said = (
            f"BRAKING PUSHES THE WHEEL towards the open end of {way}, with {most}{slot.out:.0f} N{more}: "
            f"{_HELD}{turn}."
        )
    if slot.on_pads:
        said += (
            f" That turns on where on its tab the caliper sits: {told(slot.taken)} where the pads are taken "
            f"to be, and the worst within {_band()} counts."
        )
    return said


def _band() -> str:
    least, most = tab_band()
    return f"{least.value:g} to {most.value:g} degrees from the hole line (grade {most.grade})"


def _turn(slot: SlotForce) -> str:
    """Say at which angle nothing would push out, where there is one."""
    if slot.vanishes is None:
        return ""
    where = opens(round(slot.vanishes), slot.end, slot.reference or "tube")
    return f"; nothing pushes out where the slot {where}"


def _asks(slot: SlotForce) -> str:
    """Say what is unknown and which keys would settle it, where they are wanted; else nothing.

    A slot's reference is asked for wherever it is not given, the stance where a case is not held, and a whole
    slot at the front alone: a fork's opens downward unless made otherwise, so that one not told of may
    be the dangerous one. This is the one place to ask, with `unknown` and `spread` as its numbers.
    """
    if slot.given is None or slot.taken is None or slot.least is None:
        asked = slot.verdict == "unknown" and slot.end == "front" and slot.down > entry("rest", "slot").value
        return _sentence(slot) if asked else ""
    standing = any(key.startswith("stance.") for key in slot.unknown)
    if not slot.unknown or (slot.reference is not None and not (slot.turns or slot.loud)):
        return ""
    what, keys, gone = [], [], []
    if slot.reference is None:
        what.append(f"what the slot's {slot.given:g} degrees are measured from")
        keys.append(f'dropout.slot_from ("tube": from {_LINE[slot.end]}; "plumb": from plumb)')
        gone.append("both")
    if standing:
        what.append("how the bicycle stands")
        more = ", or stance.head, rake and axle_to_crown" if slot.end == "front" else ""
        keys.append(f"stance.{'leg' if slot.end == 'front' else 'chainstay'}{more}")
        low, high = slot.spread
        gone.append(f"{_TUBE[slot.end]} at {low:g} to {high:g} degrees to the ground")
    unknown = " and ".join(what)
    where = " with the caliper where it is taken to sit" if slot.on_pads else f": {slot.verdict}"
    return (
        f"{unknown[0].upper()}{unknown[1:]} {'are' if len(what) > 1 else 'is'} unknown: give "
        f"{' and '.join(keys)}. Worked out for {' and '.join(gone)}, braking pushes between "
        f"{told(slot.least)} and {told(slot.taken)}; the worst counts{where}."
    )
