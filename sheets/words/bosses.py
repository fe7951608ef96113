"""What to say of posts and bosses on their tube: plain sentences, near and far together where they agree."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from geometry.core.errors import GeometryError
from geometry.core.findings import Finding
from geometry.core.plane import short
from geometry.mount.bosses import LEAST, BossFit, blank_lengths, made_length
from geometry.tables.fasteners import FlatScrew, Screw, flat_screw
from sheets.words.tell import told

_SEEN = 0.005
"""What is less than half of the last place printed is not told, mm."""


@dataclass(frozen=True, slots=True)
class Nearer:
    """A tilt at which bosses that end short are long enough, degrees, and the length needed there, mm."""

    tilt: float
    length: float


def boss_words(
    fits: Sequence[BossFit],
    tube: str,
    fastener: Screw,
    *,
    facing: float = 0.0,
    least: float = LEAST,
    own_least: bool = False,
    wall: bool = True,
    nearer: Nearer | None = None,
) -> tuple[Finding, ...]:
    """Return the sentences on a mount's bosses, warnings first; nothing without bosses.

    `tube` is the host's name as it is read, `facing` the stock left on the face in mm, `least` the share to
    warn below and `own_least` whether the job gave it; `wall` whether the tube's wall is known. `nearer` is a
    tilt at which bosses that end short would do, None where there is none.
    """
    if not fits:
        return ()
    part = "post" if fits[0].coped else "boss"
    said = [
        *_misses(fits, tube, part),
        *_sides(fits, tube, part),
        *_lengths(fits, part, nearer),
        *_left(fits, tube, part, least, own_least),
        *_seat(fits, fastener, tube),
        *_quiet(fits, part, facing, wall),
    ]
    return tuple(sorted(said, key=lambda each: each.level == "note"))


def share_words(share: float) -> str:
    """Return a share as whole per cent, rounded down so that it never promises wall that is not there."""
    return f"{int(share * 100.0 + 1e-6)} %"


def rows(fits: Sequence[BossFit]) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]:
    """Return a table for card and terminal, mm and per cent: its headings, and a row a bolt on the tube.

    Posts: stand-off, its range round the rim, the cope's depth and the least length. Bosses: stand-off,
    range, how deep they go in, the tube left beside them, and the shares left.
    """
    heads: tuple[str, ...] = ("", "above tube", "round the rim")
    if any(fit.coped for fit in fits):
        heads += ("cope deep", "length at least")
    else:
        heads += ("goes in", "beside out / in", "wall left", "stiff up", "stiff across")
    return heads, tuple(_row(fit) for fit in fits if fit.standoff is not None or fit.rim is not None)


def _row(fit: BossFit) -> tuple[str, ...]:
    rim = fit.rim
    row = (fit.name, _mm(fit.standoff), " to ".join(map(_mm, rim)) if rim else _NONE)
    if fit.coped:
        return (*row, *((_mm(rim[1] - rim[0]), _mm(rim[1])) if rim else (_NONE, _NONE)))
    left = fit.share
    beside = " / ".join(map(_mm, fit.beside)) if fit.beside else _NONE
    shares = map(share_words, (left.wall, left.side, left.across)) if left else (_NONE,) * 3
    return (*row, _mm(fit.goes_in), beside, *shares)


_NONE = "–"


def _mm(value: float | None) -> str:
    return _NONE if value is None else f"{value:.2f}".replace("-0.00", "0.00")


def _told(fits: Iterable[BossFit], value: Callable[[BossFit], str]) -> str:
    """Return "near and far by 2.00", or "near by 2.00, far by 3.00"; empty where no value has text."""
    groups: dict[str, list[str]] = {}
    for fit in fits:
        if text := value(fit):
            groups.setdefault(text, []).append(fit.name)
    return ", ".join(f"{' and '.join(names)} {text}" for text, names in groups.items())


def _by(length: float | None) -> str:
    """Return "by 1.20", or nothing where there is no length to speak of."""
    return f"by {length:.2f}" if length is not None and length > _SEEN else ""


def _misses(fits: Sequence[BossFit], tube: str, part: str) -> list[Finding]:
    """Return what to say of bolts whose axis does not meet the tube."""
    said = []
    if any(fit.meets == "along" for fit in fits):
        what = f"The bolts run nearly along the {tube}: nothing is worked out; see mount.tilt."
        said.append(Finding("bolts-along", "warn", what))
    if told := _told(fits, lambda fit: _by(fit.miss) if fit.meets == "before" else ""):
        what = f"Before the {tube}'s first station, {told}: whether the {part} meets the dropout is not known"
        said.append(Finding("before-start", "note", f"{what}, no outline of the dropout is given."))
    if told := _told(fits, lambda fit: _by(fit.miss) if fit.meets == "beyond" else ""):
        what = f"Past where the {tube} is known to be straight, {told}: nothing is worked out there."
        said.append(Finding("beyond-straight", "warn", what))
    beside = [fit for fit in fits if fit.meets == "beside"]
    if beside:
        told = _told(beside, lambda fit: f"by {fit.miss or 0.0:.2f} {fit.miss_side}")
        ways = f"move the {tube} sideways (outset, splay) or set the {part} on a plate"
        said.append(Finding("axis-misses", "warn", f"The bolt's axis misses the {tube}, {told}: {ways}."))
    return said


def _sides(fits: Sequence[BossFit], tube: str, part: str) -> list[Finding]:
    """Return what to say of a boss that stands past the tube's side, its end or its top."""

    def out(fit: BossFit) -> str:
        sides = zip(fit.out_by or (0.0, 0.0), ("outboard", "inboard"), strict=True)
        return " and ".join(f"{_by(past)} {side}" for past, side in sides if past > _SEEN)

    said = []
    if told := _told(fits, out):
        end = f"its {'cope' if fits[0].coped else 'hole'} is open there"
        what = f"The {part} breaks out of the {tube}'s side, {told}: {end}."
        said.append(Finding("breaks-out", "warn", what))
    if told := _told(fits, lambda fit: _by(fit.overhang) if fit.rim else ""):
        what = f"Part of the {part} stands past the {tube}'s end, {told}: what carries it there is not known"
        said.append(Finding("past-end", "note", f"{what}, no outline of the dropout is given."))
    if told := _told(fits, lambda fit: _by(None if fit.standoff is None else -fit.standoff)):
        what = f"The {tube} stands above the mount face, {told}: lower it (offset)."
        said.append(Finding("tube-above-face", "warn", what))
    return said


def _lengths(fits: Sequence[BossFit], part: str, nearer: Nearer | None) -> list[Finding]:
    short = [fit for fit in fits if fit.short is not None]
    told, needed = _told(short, lambda fit: _by(fit.short)), made_length(short)
    if not told or needed is None:
        return []
    turn = ""
    if nearer is not None:
        turn = f", turn the mount to tilt = {nearer.tilt:g}, where {nearer.length:.2f} is enough"
    what = f"The {part} ends short of the tube at its rim, {told}: make it {needed:.2f} or longer{turn}"
    return [Finding("too-short", "warn", f"{what}{',' if turn else ''} or put it on a plate.")]


def _left(fits: Sequence[BossFit], tube: str, part: str, least: float, own: bool) -> list[Finding]:
    """Return the warning of a weak or open hole, with the ways out."""
    weak = [fit.name for fit in fits if fit.share is not None and fit.share.least < least]
    broken = any(past > _SEEN for fit in fits for past in fit.out_by or ())
    ways = f"a smaller {part}, a larger or sleeved {tube}, or the {part} on a plate."
    if not weak:
        return (
            [Finding("breaks-out-help", "warn", f"What helps where it breaks out: {ways}")] if broken else []
        )
    limit = f"{share_words(least)} ({'the job' if own else 'own judgement'})"
    what = (
        f"Less than {limit} of wall or stiffness is left at the hole, {' and '.join(weak)}. Ways out: {ways}"
    )
    return [Finding("hole-weakens", "warn", what)]


def _seat(fits: Sequence[BossFit], fastener: Screw, tube: str) -> list[Finding]:
    """Return where a rear flat mount's screw seats, and which length its screws are made for."""
    length, one = fits[0].under_head, fits[0].screw
    if length is None:
        return []
    said = []
    if one is not None and one.packing:
        what = f"Screws go in steps of 5: a boss {one.made_for} long needs no packing."
        said.append(Finding("screw-step", "note", what))
    blind = [fit for fit in fits if fit.through is not None and not fit.passes_through]
    seats = [fit for fit in blind if (fit.goes_in or 0.0) > 0.0]
    if seats:
        names, head = " and ".join(fit.name for fit in seats), fastener.head_knurled.value
        what = f"The head seats inside the {tube}, {length:g} below the face ({names})"
        what = f"{what}: open the lower wall for head Ø{head:g} and key."
        said.append(Finding("head-inside", "note", what))
    if blind:
        deepest = max(fit.through for fit in blind if fit.through is not None)
        better = _screw_for(deepest)
        way = f"make it {better.made_for}" if better else f"no screw is so long; raise the {tube} (offset)"
        said.append(Finding("pass-through", "note", f"Passing through takes {deepest:.2f}: {way}."))
    return said


def _screw_for(thickness: float) -> FlatScrew | None:
    try:
        return flat_screw(thickness)
    except GeometryError:
        return None


def _quiet(fits: Sequence[BossFit], part: str, facing: float, wall: bool) -> list[Finding]:
    said = []
    if facing and any(fit.standoff is not None for fit in fits):
        cuts = blank_lengths(fits, facing)
        alike = len({length for _, length in cuts}) == 1
        told = [(part, cuts[0][1])] if alike else [(f"{name} {part}", length) for name, length in cuts]
        blank = "".join(f", the {name} {short(length)} long" for name, length in told)
        said.append(
            Finding("before-facing", "note", f"Before facing the face lies {facing:g} higher{blank}.")
        )
    if any(fit.share is not None for fit in fits):
        known = "" if wall else " (the wall is not given)"
        what = f"Shares: a thin wall's weakest section{known}, bent up in the side plane and across it"
        said.append(Finding("shares", "note", f"{what}; the boss itself is not counted."))
    return said


def paragraphs(said: Iterable[Finding]) -> tuple[str, str]:
    """Return the warnings and the rest, each as one paragraph, empty where there is nothing to say."""
    every = tuple(said)
    loud = " ".join(told(each.text) for each in every if each.level != "note")
    return loud, " ".join(told(each.text) for each in every if each.level == "note")
