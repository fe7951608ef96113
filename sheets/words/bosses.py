"""What to say of posts and bosses on their tube, near and far together where they agree."""

from collections.abc import Callable, Iterable, Mapping, Sequence

from geometry.core.errors import GeometryError
from geometry.core.findings import Finding
from geometry.core.frozen import dataclass
from geometry.core.plane import short
from geometry.core.say import Say, named, say
from geometry.mount.bosses import CUT, LEAST, BossFit, Need, blank_lengths, made_length
from geometry.tables.fasteners import FlatScrew, Screw, flat_screw
from sheets.words.lengths import measured
from sheets.words.tell import tell, told

_SEEN = 0.005
"""What is less than half of the last place printed is not told, mm."""
AT_START = 5.0
"""Tube between a hole and where the tube begins, mm, below which it is told. Grade D, own judgement: about
the width of two fillets; no published limit was found."""


@dataclass(frozen=True, slots=True)
class Nearer:
    """A tilt at which bosses that end short are long enough, degrees, and the length needed there, mm."""

    tilt: float
    length: float


def boss_words(
    fits: Sequence[BossFit],
    host: str,
    fastener: Screw,
    *,
    facing: float = 0.0,
    share: float | None = None,
    wall: bool = True,
    nearer: Nearer | None = None,
    left: Mapping[str, float] | None = None,
) -> tuple[Finding, ...]:
    """Return what is to be said of a mount's bosses, warnings first; nothing without bosses.

    `host` is the host tube's key, `facing` the stock left on the face in mm, `share` what the job wants left
    of the tube at least, None where it leaves that to us; `wall` whether the tube's wall is known. `nearer`
    is a tilt at which bosses that end short would do, None where there is none; `left` the tube between where
    it begins and a hole in it, mm.
    """
    if not fits:
        return ()
    part, tube = named("post" if fits[0].coped else "boss"), named(host)
    said = [
        *_misses(fits, tube, part),
        *_sides(fits, tube, part),
        *_starts(fits, tube, part, left or {}),
        *_lengths(fits, part, nearer),
        *_left(fits, tube, part, share),
        *_seat(fits, fastener, tube),
        *_quiet(fits, part, facing, wall),
    ]
    return tuple(sorted(said, key=lambda each: each.level == "note"))


def short_from_side(
    needs: Sequence[Need], lengths: Mapping[str, float], host: str, part: str
) -> list[Finding]:
    """Return what is to be said of bosses that end short of their tube wherever that lies sideways.

    `needs` are the least lengths that the side view alone asks for, `lengths` what each boss has, mm; one
    whose length is not known is not judged.
    """
    lacking = {
        each.name: round(each.length - lengths[each.name], 2)
        for each in needs
        if each.length is not None and each.name in lengths and each.length - lengths[each.name] > _SEEN
    }
    if not lacking:
        return []
    by = {name: say("bosses.by", by=much) for name, much in lacking.items()}
    where = (
        say("bosses.apart", **by)
        if len(set(lacking.values())) > 1
        else say("bosses.at", holes=tuple(map(named, by)), much=next(iter(by.values())))
    )
    least = max(each.length for each in needs if each.name in lacking and each.length is not None)
    what = say("bosses.too_short_from_side", part=named(part), tube=named(host), where=where, least=least)
    return [Finding("too-short", "warn", what)]


def share_words(share: float) -> str:
    """Return a share as whole per cent, rounded down so that it never promises wall that is not there."""
    return f"{int(share * 100.0 + 1e-6)} %"


def rows(fits: Sequence[BossFit]) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]:
    """Return a table for the terminal, mm and per cent: its headings, and a row a bolt on the tube.

    Posts: stand-off, its range round the rim, the cope's depth and the least length. Bosses: stand-off,
    range, how deep they go in, the tube left beside them, and the shares left.
    """
    keys: tuple[str, ...] = ("goes_in", "beside", "wall_left", "stiff_up", "stiff_across")
    if any(fit.coped for fit in fits):
        keys = ("cope_deep", "length")
    heads = tuple(tell(f"bosses.head.{key}") for key in ("above_tube", "rim", *keys))
    return ("", *heads), tuple(_row(fit) for fit in fits if fit.standoff is not None or fit.rim is not None)


def _row(fit: BossFit) -> tuple[str, ...]:
    rim, left = fit.rim, fit.share
    span = tell("bosses.range", least=_mm(rim[0]), most=_mm(rim[1])) if rim else _NONE
    row = (told(named(fit.name)), _mm(fit.standoff), span)
    if fit.coped:
        return (*row, *((_mm(rim[1] - rim[0]), _mm(rim[1])) if rim else (_NONE, _NONE)))
    beside = " / ".join(map(_mm, fit.beside)) if fit.beside else _NONE
    shares = map(share_words, (left.wall, left.side, left.across)) if left else (_NONE,) * 3
    return (*row, _mm(fit.goes_in), beside, *shares)


def meeting(fit: BossFit) -> str:
    """Return in sentences what a row of the table tells of a boss or post, as far as it is known."""
    rim, left = fit.rim, fit.share
    said: list[Say] = []
    if fit.standoff is not None:
        said.append(say("bosses.told.standoff", by=fit.standoff))
    if rim:
        said.append(say("bosses.told.rim", least=rim[0], most=rim[1]))
    if rim and fit.coped:
        said.append(say("bosses.told.cope", deep=rim[1] - rim[0], length=rim[1]))
    elif not fit.coped:
        if fit.goes_in is not None:
            said.append(say("bosses.told.goes_in", deep=fit.goes_in))
        if fit.beside:
            said.append(say("bosses.told.beside", **dict(zip(("out", "in"), fit.beside, strict=True))))
        if left:
            wall, up, across = map(share_words, (left.wall, left.side, left.across))
            said.append(say("bosses.told.left", wall=wall, up=up, across=across))
    return " ".join(map(told, said))


_NONE = "–"


def _mm(value: float | None) -> str:
    if value is None:
        return _NONE
    return measured(0.0 if f"{value:.2f}" == "-0.00" else value)


def _where(fits: Iterable[BossFit], much: Callable[[BossFit], Say | None]) -> Say | None:
    """Return "near and far by 2.00", or "near by 2.00, far by 3.00"; None where no boss has anything."""
    found = {fit.name: of for fit in fits if (of := much(fit)) is not None}
    if not found:
        return None
    if len(found) > 1 and len(set(found.values())) > 1:
        return say("bosses.apart", **found)
    return say("bosses.at", holes=tuple(map(named, found)), much=next(iter(found.values())))


def _by(length: float | None) -> Say | None:
    """Return "by 1.20", or None where there is no length to speak of."""
    return say("bosses.by", by=round(length, 2)) if length is not None and length > _SEEN else None


def _misses(fits: Sequence[BossFit], tube: Say, part: Say) -> list[Finding]:
    """Return what to say of bolts whose axis does not meet the tube.

    What carries one below the tube's known beginning is told by sheets/setup/carried.py.
    """
    said = []
    if any(fit.meets == "along" for fit in fits):
        said.append(Finding("bolts-along", "warn", say("bosses.along", tube=tube)))
    if where := _where(fits, lambda fit: _by(fit.miss) if fit.meets == "beyond" else None):
        said.append(Finding("beyond-straight", "warn", say("bosses.beyond", tube=tube, where=where)))
    if where := _where(fits, _beside):
        said.append(Finding("axis-misses", "warn", say("bosses.beside", tube=tube, where=where, part=part)))
    return said


def _beside(fit: BossFit) -> Say | None:
    if fit.meets != "beside" or fit.miss is None or fit.miss_side is None:
        return None
    return say("bosses.by_side", by=round(fit.miss, 2), side=named(fit.miss_side))


def _sides(fits: Sequence[BossFit], tube: Say, part: Say) -> list[Finding]:
    """Return what to say of a boss that stands past the tube's side, its end or its top."""
    said = []
    if where := _where(fits, _out):
        code = "bosses.breaks_out.post" if fits[0].coped else "bosses.breaks_out.boss"
        said.append(Finding("breaks-out", "warn", say(code, tube=tube, where=where)))
    if where := _where(fits, lambda fit: _by(fit.overhang) if fit.rim else None):
        said.append(Finding("past-end", "note", say("bosses.past_end", part=part, tube=tube, where=where)))
    if where := _where(fits, lambda fit: _by(None if fit.standoff is None else -fit.standoff)):
        said.append(Finding("tube-above-face", "warn", say("bosses.above_face", tube=tube, where=where)))
    return said


def _starts(fits: Sequence[BossFit], tube: Say, part: Say, left: Mapping[str, float]) -> list[Finding]:
    """Return what to say of holes that lie where their tube begins, which is joined to the dropout there."""
    if where := _where(fits, lambda fit: _by(-left.get(fit.name, 0.0))):
        remedy = say("bosses.past_start_remedy", part=part, tube=tube)
        what = say("bosses.past_start", part=part, tube=tube, where=where)
        return [Finding("hole-past-start", "warn", what, remedy=remedy)]

    def little(fit: BossFit) -> Say | None:
        metal = left.get(fit.name, AT_START)
        return say("bosses.left", left=round(metal, 1)) if metal < AT_START else None

    if where := _where(fits, little):
        what = say("bosses.near_start", part=part, tube=tube, where=where, least=AT_START)
        return [Finding("hole-near-start", "note", what)]
    return []


def _out(fit: BossFit) -> Say | None:
    """Return by how much a boss stands past either side, or None."""
    past = zip(fit.out_by or (0.0, 0.0), ("outboard", "inboard"), strict=True)
    sides = [(round(by, 2), side) for by, side in past if by > _SEEN]
    if len(sides) > 1:
        return say("bosses.by_both", outboard=sides[0][0], inboard=sides[1][0])
    return say("bosses.by_side", by=sides[0][0], side=named(sides[0][1])) if sides else None


def _lengths(fits: Sequence[BossFit], part: Say, nearer: Nearer | None) -> list[Finding]:
    lacking = [fit for fit in fits if fit.short is not None]
    where, needed = _where(lacking, lambda fit: _by(fit.short)), made_length(lacking)
    if where is None or needed is None:
        return []
    if nearer is None:
        return [Finding("too-short", "warn", say("bosses.too_short", part=part, where=where, needed=needed))]
    turn = {"tilt": nearer.tilt, "enough": nearer.length}
    what = say("bosses.too_short_or_turn", part=part, where=where, needed=needed, **turn)
    return [Finding("too-short", "warn", what)]


def _left(fits: Sequence[BossFit], tube: Say, part: Say, share: float | None) -> list[Finding]:
    """Return what is to be said of a hole that cuts its tube, weakens it or is open, with the ways out.

    What the job asks for moves the line of the warning. It does not make a tube whole that is cut in two.
    """
    least = LEAST if share is None else share
    shares = {fit.name: fit.share for fit in fits if fit.share is not None}
    cut = tuple(named(name) for name, left in shares.items() if left.wall < CUT)
    weak = tuple(named(name) for name, left in shares.items() if left.least < least)
    ways = say("bosses.ways", part=part, tube=tube)
    if cut:
        left = share_words(min(each.wall for each in shares.values()))
        brief = say("bosses.cuts", tube=tube, holes=cut, left=left)
        return [
            Finding(
                "hole-cuts",
                "stop",
                say("bosses.cuts_and_ways", what=brief, tube=tube, least=share_words(CUT)),
                brief=brief,
                remedy=say("bosses.cuts_remedy", tube=tube),
            )
        ]
    if weak:
        code = "bosses.weakens.own_judgement" if share is None else "bosses.weakens.job"
        worst = min(shares.values(), key=lambda each: each.least)
        what = say("bosses.wall" if worst.wall == worst.least else "bosses.stiffness")
        left = share_words(worst.least)
        brief = say(code, share=share_words(least), holes=weak, left=left, what=what, tube=tube)
        return [
            Finding(
                "hole-weakens",
                "warn",
                say("bosses.weakens_and_ways", what=brief, ways=ways),
                brief=brief,
                remedy=say("bosses.weakens_remedy", part=part, tube=tube),
            )
        ]
    broken = any(past > _SEEN for fit in fits for past in fit.out_by or ())
    return [Finding("breaks-out-help", "warn", say("bosses.helps", ways=ways))] if broken else []


def _seat(fits: Sequence[BossFit], fastener: Screw, tube: Say) -> list[Finding]:
    """Return where a rear flat mount's screw seats, and which length its screws are made for."""
    length, one = fits[0].under_head, fits[0].screw
    if length is None:
        return []
    said = []
    if one is not None and one.packing:
        said.append(Finding("screw-step", "note", say("bosses.screw_step", made_for=one.made_for)))
    blind = [fit for fit in fits if fit.through is not None and not fit.passes_through]
    seats = tuple(named(fit.name) for fit in blind if (fit.goes_in or 0.0) > 0.0)
    if seats:
        head = fastener.head_knurled.value
        what = say("bosses.head_inside", tube=tube, length=length, holes=seats, head=head)
        said.append(Finding("head-inside", "note", what))
    if blind:
        deepest = max(fit.through for fit in blind if fit.through is not None)
        better = _screw_for(deepest)
        what = say("bosses.through.no_screw", deepest=deepest, tube=tube)
        if better is not None:
            what = say("bosses.through.made", deepest=deepest, made_for=better.made_for)
        said.append(Finding("pass-through", "note", what))
    return said


def _screw_for(thickness: float) -> FlatScrew | None:
    try:
        return flat_screw(thickness)
    except GeometryError:
        return None


def _quiet(fits: Sequence[BossFit], part: Say, facing: float, wall: bool) -> list[Finding]:
    said = []
    if facing and any(fit.standoff is not None for fit in fits):
        cuts = dict(blank_lengths(fits, facing))
        what = say("bosses.facing.higher", facing=facing)
        if len(set(cuts.values())) == 1:
            (length,) = set(cuts.values())
            faced = short(length - facing)
            what = say("bosses.facing.alike", facing=facing, part=part, length=short(length), faced=faced)
        elif cuts:
            lengths = {hole: short(cuts[hole]) for hole in ("near", "far")}
            lengths |= {f"{hole}_faced": short(cuts[hole] - facing) for hole in ("near", "far")}
            what = say("bosses.facing.apart", facing=facing, part=part, **lengths)
        said.append(Finding("before-facing", "note", what))
    if any(fit.share is not None for fit in fits):
        what = say("bosses.shares.wall_given" if wall else "bosses.shares.wall_unknown")
        said.append(Finding("shares", "note", what))
    return said


def paragraphs(said: Iterable[Finding]) -> tuple[str, str]:
    """Return the warnings and the rest, each as one paragraph, empty where there is nothing to say."""
    every = tuple(said)
    loud = " ".join(told(each.text) for each in every if each.level != "note")
    return loud, " ".join(told(each.text) for each in every if each.level == "note")
