"""Questions about frame, axle, mount and disc, and what follows from their answers."""

import contextlib
import re
from collections.abc import Mapping

from geometry.core.errors import DropleafError
from geometry.core.meant import meant
from geometry.tables.adapters import Bolts, adapter, disc
from geometry.tables.axles import End, axles
from geometry.tables.interfaces import resolve, rows
from geometry.tables.stance import Reference, leg_of
from sheets.guide.proposals import proposal, usual
from sheets.guide.question import (
    Answers,
    Choices,
    Question,
    choice,
    choice_meant,
    chosen,
    mended,
    number,
    pairs,
    text_of,
    when_is,
    yes_or_no,
)
from sheets.job import limits
from sheets.job.units import length
from sheets.words.lengths import measured
from sheets.words.slot import opens
from sheets.words.tell import lines, reason

_KINDS = {
    "quick release": "the wheel drops out of open dropouts; a skewer or nuts clamp it",
    "thru axle": "the axle is pushed or screwed through closed holes",
}
_GRADES = {
    "A": "a maker's or standard's text",
    "M": "measured on mounts that agree",
    "B": "two independent texts",
    "C": "one text",
    "D": "derived or remembered",
}
OFF_THE_SHEETS = "It is then left off the sheets."
# A bare number is degrees here, never a line of a list: 2 is not "forward".
_SLOT_DEGREES = {"down": "0", "straight down": "0", "forward": "90", "rearward": "-90", "backward": "-90"}


def family(answers: Answers) -> str:
    """Return the family of the mount answered, or an empty text before it is."""
    row = rows().get(answers.get("mount.interface", ""))
    return "" if row is None else row.family


def stands_on_tube(answers: Answers) -> bool:
    """Tell whether the mount stands on its tube, as posts and flat mounts do, so that the tube decides it."""
    return family(answers) in ("post", "flat")


def with_axle_kind(given: Mapping[str, str]) -> dict[str, str]:
    """Return answers with the kind of axle that an axle system given by name tells."""
    known = axles().get(given.get("axle.system", "").strip())
    if known is None or given.get("axle.kind", "").strip():
        return dict(given)
    return {**given, "axle.kind": known.kind}


def _kind_meant(text: str, answers: Answers) -> str:
    """Return the kind of axle that a text means, which may name an axle itself: 12x142."""
    named = [name for name, each in axles().items() if each.end == answers.get("mount.end")]
    system = meant(text, named, sure=True) if re.search(r"[0-9]", text) else ""
    return choice_meant(pairs(_KINDS))(text, answers) or (axles()[system].kind if system else "")


def _axle_choices(answers: Answers) -> Choices:
    """Return the axles of an end and a kind, of every one where that was not asked, as on the desk."""
    end, kind = answers.get("mount.end"), answers.get("axle.kind")
    return tuple(
        (name, each.title)
        for name, each in axles().items()
        if end in (None, "", each.end) and kind in (None, "", each.kind)
    )


def _axle_follows(answers: Answers) -> str:
    system = axles()[answers["axle.system"]]
    if system.pocket is None:
        return "No pocket depth is known for it: give yours."
    deep = measured(system.pocket.value, "g mm")
    sits = f"sits {deep} deep in the dropout" if system.pocket.value else "lies on the dropout's inner face"
    pocket = f"The hub's end {sits} (grade {system.pocket.grade}, {_GRADES[system.pocket.grade]})"
    if system.end == "rear" or not system.pocket.value:
        datum = "sideways numbers count from the dropout's inner face"
    else:
        datum = "sideways numbers count from the floor of that pocket"
    lacking = "; where its disc runs was not found, so give your own hub" if system.rotor is None else ""
    return f"{pocket}; {datum}{lacking}."


def _interface_choices(answers: Answers) -> Choices:
    """Return the mounts of an end, of both where that was not asked yet, as on the desk."""
    end = answers.get("mount.end")
    return tuple((name, row.title) for name, row in rows().items() if not end or end in row.ends)


def _interface_follows(answers: Answers) -> str:
    row = rows()[answers["mount.interface"]]
    if row.provisional:
        return "Its side-view numbers are PROVISIONAL, found in no public text: measure a mount that works."
    one = f" It is made for a {row.sizes[0]:g} disc." if len(row.sizes) == 1 else ""
    return f"{row.title.capitalize()}.{one}"


def _native_choices(answers: Answers) -> Choices:
    sizes = disc().sizes
    row = rows().get(answers.get("mount.interface", ""))
    if row is not None and row.path is not None:
        sizes = tuple(size for size in sizes if row.path.from_ <= size <= row.path.to)
    elif row is not None:
        sizes = row.sizes
    return tuple((f"{size:g}", f"{size:g} mm disc") for size in sizes)


def _native(answers: Answers) -> float | None:
    text = answers.get("mount.native")
    if text:
        with contextlib.suppress(ValueError):
            return length(text)
    sizes = _native_choices(answers)
    return float(sizes[0][0]) if len(sizes) == 1 else None


def _several_natives(answers: Answers) -> bool:
    return len(_native_choices(answers)) > 1


def _default_native(answers: Answers) -> str:
    sizes = [value for value, _ in _native_choices(answers)]
    return "160" if "160" in sizes else sizes[0]


def _rotor_choices(answers: Answers) -> Choices:
    """Return the discs that an adapter reaches from the native size, each with the adapter's name."""
    native, row = _native(answers), rows().get(answers.get("mount.interface", ""))
    end: End = "front" if answers.get("mount.end") == "front" else "rear"
    found = []
    for size in disc().sizes:
        if row is None:
            # A job that was begun elsewhere may not say yet which mount it is.
            found.append((f"{size:g}", f"{size:g} mm disc"))
            continue
        try:
            step = adapter(Bolts(row.family, end, row.apart, row.name), native or size, size)
        except DropleafError:
            continue
        found.append((f"{size:g}", f"{size:g} mm disc, adapter: {step.name}"))
    return tuple(found)


def _default_rotor(answers: Answers) -> str:
    sizes = [value for value, _ in _rotor_choices(answers)]
    native = _native(answers)
    return f"{native:g}" if native is not None and f"{native:g}" in sizes else (sizes or [""])[0]


def _rotor_follows(answers: Answers) -> str:
    try:
        found = resolve(
            answers["mount.interface"],
            answers["mount.end"],  # type: ignore[arg-type]
            _native(answers),
            float(answers["mount.rotor"]),
        )
    except DropleafError as error:
        return "; ".join(lines(error))
    near, far = found.radii
    holes = f"Axle to near hole {measured(near, '.2f bare')}, to far hole {measured(far, '.2f mm')}"
    return f"{holes}; numbers of grade {found.grade}, {_GRADES[found.grade]}."


def _slot_read(text: str, answers: Answers) -> str:
    word = text.strip().lower()
    if word in _SLOT_DEGREES:
        return word
    try:
        limits.SLOT(text)
    except ValueError as error:
        raise ValueError(f"{reason(error)}; or write down, forward or rearward") from error
    return text


def _slot_means(text: str, answers: Answers) -> str:
    return mended(text, _slot_read, answers) or meant(text, _SLOT_DEGREES)


def _slot_follows(answers: Answers) -> str:
    turn = slot_degrees(answers["dropout.slot"])
    return f"That is {turn} degrees, + forward; from what it is measured comes next."


def slot_degrees(answer: str) -> str:
    """Return the slot's direction as the job file takes it: degrees, + forward."""
    return _SLOT_DEGREES.get(answer, answer)


def _slot_given(answers: Answers) -> bool:
    return answers.get("axle.kind") == "quick release" and bool(answers.get("dropout.slot"))


def _reference_choices(answers: Answers) -> Choices:
    line = (
        "the fork leg's own line, run on downward"
        if answers.get("mount.end") == "front"
        else "square down from the chainstay's line"
    )
    return ("tube", f"tube: {line}"), ("plumb", "plumb: straight down to the ground as the bicycle stands")


def _reference_follows(answers: Answers) -> str:
    end: End = "front" if answers["mount.end"] == "front" else "rear"
    turn = limits.SLOT(slot_degrees(answers["dropout.slot"]))
    reference: Reference = "plumb" if answers["dropout.slot_from"] == "plumb" else "tube"
    return f"The slot {opens(turn, end, reference)}."


def _blade(answers: Answers) -> bool:
    return answers.get("mount.end") == "front" and bool(answers.get("stance.head"))


def _leg_follows(answers: Answers) -> str:
    head, rake, long = (
        allowed(answers[f"stance.{key}"])
        for key, allowed in (
            ("head", limits.HEAD),
            ("rake", limits.RAKE),
            ("axle_to_crown", limits.AXLE_TO_CROWN),
        )
    )
    if abs(rake) >= long:
        return ""
    return f"A straight blade's leg then stands at {leg_of(head, rake, long):.1f} degrees to the ground."


_ENDS = {"rear": "the frame's rear end", "front": "the fork"}
_HOSTS = {"chainstay": "chainstay: the mount lies above it", "seatstay": "seatstay: the mount lies behind it"}

MOUNT: tuple[Question, ...] = (
    Question(
        "frame.id",
        "What number or short name has the frame?",
        "it names the files: letters, digits, - and _",
        text_of(limits.file_name),
        default=lambda answers: "frame-1",
        means=lambda text, answers: re.sub(r"[^A-Za-z0-9._-]+", "-", text[:64]).strip("-."),
    ),
    Question(
        "frame.name",
        "Its name in words?",
        "Enter for none",
        text_of(limits.lettered),
        optional=True,
        left=OFF_THE_SHEETS,
    ),
    Question(
        "frame.maker",
        "Who builds it?",
        "Enter for none",
        text_of(limits.lettered),
        optional=True,
        left=OFF_THE_SHEETS,
    ),
    choice(
        "mount.end",
        "Is the mount for the frame or the fork?",
        "front and rear measure from different faces",
        pairs(_ENDS),
        default=lambda answers: "rear",
    ),
    Question(
        "axle.kind",
        "Which axle?",
        "it settles how deep the hub's end sits",
        chosen(pairs(_KINDS)),
        choices=pairs(_KINDS),
        means=_kind_meant,
        default=lambda answers: "thru axle",
        more="Quick release: the dropouts are open, and a skewer or nuts clamp them. Thru axle: a bar is "
        "pushed or screwed through closed holes.",
    ),
    choice(
        "axle.system",
        "Which of these axles?",
        "over the hub's ends × axle",
        _axle_choices,
        default=lambda answers: {
            ("rear", "thru axle"): "142x12",
            ("rear", "quick release"): "135-qr",
            ("front", "thru axle"): "100x12",
        }.get((answers["mount.end"], answers["axle.kind"]), "100-qr"),
        follows=_axle_follows,
    ),
    number(
        "axle.pocket",
        "How deep are your dropout's pockets, if not as said?",
        "Enter to take the table's",
        limits.POCKET,
        when=when_is("axle.kind", "thru axle"),
        optional=True,
        left="The axle system's own depth is then taken.",
        stands_in=True,
    ),
    choice(
        "mount.interface",
        "Which mount?",
        "it must be the one that caliper or adapter bolts to",
        _interface_choices,
        default=usual,
        more="Tab: a flat plate with two plain holes parallel to the axle. Post mount: two threaded posts on "
        "the tube, square to a face. Flat mount: the caliper lies along the tube, on two bosses in it. Your "
        "caliper, or its adapter, says which.",
        proposes=proposal,
        follows=_interface_follows,
    ),
    choice(
        "mount.native",
        "Which disc is the mount to be made for, without adapter?",
        "its native size",
        _native_choices,
        default=_default_native,
        when=_several_natives,
    ),
    choice(
        "mount.rotor",
        "Which disc will be fitted?",
        "a larger one than the native size takes an adapter",
        _rotor_choices,
        default=_default_rotor,
        follows=_rotor_follows,
    ),
    choice(
        "mount.host",
        "Which tube carries the mount?",
        "the template is laid along it",
        pairs(_HOSTS),
        default=lambda answers: "chainstay",
        when=when_is("mount.end", "rear"),
    ),
    Question(
        "other.stay",
        "Will you give the other stay too?",
        "clearances to it are then checked",
        yes_or_no,
        default=lambda answers: "yes",
        means=lambda text, answers: meant(text, ("yes", "no")),
        when=when_is("mount.end", "rear"),
    ),
    number(
        "dropout.thickness",
        "How thick is the dropout?",
        "from its inner to its outer face; Enter if not measured",
        limits.DROPOUT,
        optional=True,
    ),
    Question(
        "dropout.slot",
        "Which way does the open slot let the wheel out?",
        "down, forward, rearward, or degrees, + forward; braking may push that way",
        _slot_read,
        means=_slot_means,
        follows=_slot_follows,
        left="It is then not known, never 0, and whether braking pushes the wheel out is not judged.",
        when=when_is("axle.kind", "quick release"),
        optional=True,
    ),
    choice(
        "dropout.slot_from",
        "What is the slot's angle measured from?",
        "on a leaning leg the two are far apart; Enter if not known, and the worse of both counts",
        _reference_choices,
        follows=_reference_follows,
        when=_slot_given,
        optional=True,
    ),
    number(
        "stance.leg",
        "At how many degrees does the fork leg stand to the ground?",
        "the line from the axle up the leg: 90 upright, less leaning back; Enter if not known",
        limits.LEG,
        when=when_is("mount.end", "front"),
        optional=True,
    ),
    number(
        "stance.head",
        "What is the head angle?",
        "with rake and length it gives a straight blade's leg, or checks it; Enter if not known",
        limits.HEAD,
        when=when_is("mount.end", "front"),
        optional=True,
        # The leg itself is measured at once.
        stands_in=True,
    ),
    number(
        "stance.rake",
        "What is the fork's rake?",
        "how far the axle lies before the steerer's line, square to it",
        limits.RAKE,
        when=_blade,
    ),
    number(
        "stance.axle_to_crown",
        "How long is the fork, axle to crown?",
        "in a straight line to the crown's seat",
        limits.AXLE_TO_CROWN,
        follows=_leg_follows,
        when=_blade,
    ),
    number(
        "stance.chainstay",
        "By how many degrees does the chainstay fall to the front, against the ground?",
        "+ where the bottom bracket lies below the rear axle; Enter if not known",
        limits.CHAINSTAY,
        when=when_is("mount.end", "rear"),
        optional=True,
    ),
)
"""Asked first, in this order."""
