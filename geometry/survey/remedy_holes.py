"""Remedies for holes in the side view: their spacing, the pair as a whole, and its turn about the axle.

Each returns remedies for what is surely beyond its limit; see remedy.py for what a remedy may do.
"""

import math

from geometry.core.say import Say, say
from geometry.survey.recall import Effect, effect
from geometry.survey.remedy_room import discs, half_play
from geometry.survey.remedy_work import Remedy, Work, lost
from geometry.survey.survey import Pads
from geometry.survey.trilateration import TWO_SIDED_95
from geometry.tables.interfaces import table


def in_plane(work: Work) -> list[Remedy]:
    """Return what to do about holes that sit off in the side view.

    Their spacing is taken by the play of both screws, half of it each; the pair as a whole by pads or disc.
    """
    wrong = work.beyond("near", "far") if work.tab else work.beyond("along_near", "along_far")
    apart = work.beyond("spacing")
    if not wrong and not apart:
        return []
    # Whoever built to our own wrong numbers offers up a caliper, and is never sent to the saw for them.
    if work.survey.recall is not None:
        return [Remedy("offer", offer(effect(work.survey.recall)), (*wrong, *apart))]
    play = half_play(work.form)
    if apart and abs(work.error("spacing")) + work.band("spacing") > 2.0 * play.value:
        most = 2.0 * (play.value if play.high is None else play.high)
        return [lost(work, (*wrong, *apart), _no_play(work), {**_takes(work, wrong), "spacing": most})]
    if work.tab:
        return _tab_holes(work, wrong, apart)
    found = _spaced(work) if apart else []
    if wrong:
        most = max((work.error(key) for key in wrong), key=abs)
        found += by_disc(work, wrong, say("remedy.off_along", off=most))
    return found


def offer(built: Effect) -> Say:
    """Return what a mount that was built to recalled numbers does, and what to do about it."""
    way = "remedy.offer.out" if built.outward > 0.0 else "remedy.offer.in"
    lie = "remedy.offer.inside" if built.inside > 0.0 else "remedy.offer.over"
    return say(
        "remedy.offer.caliper",
        moved=say(way, by=abs(built.outward)),
        along=built.along,
        turned=built.turned,
        lie=say(lie, by=abs(built.inside)),
    )


def _tab_holes(work: Work, wrong: tuple[str, ...], apart: tuple[str, ...]) -> list[Remedy]:
    """Return what to do about a tab's holes whose spacing, if it is off, the screws' play takes."""
    pads, play = work.pads, half_play(work.form)
    if pads is None:
        return []  # where the holes are is not settled, and the verdict says what is missing
    need = _need(work)
    if need + max(work.band(key) for key in ("near", "far", "spacing")) <= play.value:
        text = say("remedy.play.push", need=need, play=play.value, grade=play.grade)
        return [Remedy("play", text, (*wrong, *apart), (("worse hole", need),))]
    found = _spaced(work) if apart else []
    if wrong or not _on_track(pads):
        found += by_disc(work, wrong, say("remedy.pair_off"))
    return found


def _spaced(work: Work) -> list[Remedy]:
    """Return the remedy of screws that stand aside in both holes, each by half of what the spacing is off."""
    off, play = abs(work.error("spacing")) / 2.0, half_play(work.form)
    code = "remedy.play.in_caliper" if work.form.hole.kind == "thread" else "remedy.play.in_mount"
    text = say(code, off=off, play=play.value, grade=play.grade)
    return [Remedy("play", text, ("spacing",), (("each hole", off),))]


def _no_play(work: Work) -> Say:
    """Return why no play takes the spacing, and whether one should read again before cutting."""
    off, band, takes = work.error("spacing"), work.band("spacing"), 2.0 * half_play(work.form).value
    code = "remedy.spacing.adapter" if work.tab else "remedy.spacing.caliper"
    why = say(code, off=off, band=band, takes=takes)
    return say("remedy.spacing.read_first", why=why) if abs(off) - band <= takes else why


def _need(work: Work) -> float:
    """Return how far a nominal adapter's screws stand off the found holes at the worse one, mm.

    The adapter may turn with the mount about the axle; it is set where the squares of both are least.
    """
    form = work.form
    pairs = []
    for key, x in (("along_near", form.x_near), ("along_far", form.x_far)):
        pairs.append(((x, form.h), (work.error(key), work.error("height"))))
    turn = sum(x * dy - y * dx for (x, y), (dx, dy) in pairs) / sum(x * x + y * y for (x, y), _ in pairs)
    return max(math.hypot(dx + turn * y, dy - turn * x) for (x, y), (dx, dy) in pairs)


def _on_track(pads: Pads) -> bool:
    return abs(pads.move) + TWO_SIDED_95 * pads.deviation <= pads.play


def _takes(work: Work, wrong: tuple[str, ...]) -> dict[str, float]:
    """Return the most that all parts together take of a pair of holes that sits off, mm.

    Pads within their track, screws within their holes, and what adapters of different makers differ by.
    """
    play = half_play(work.form)
    pads = 0.0 if work.survey.pads is None else work.survey.pads.play
    spread = table().number("adapter_spread", "position").value
    return dict.fromkeys(wrong, pads + spread + (play.value if play.high is None else play.high))


def by_disc(work: Work, wrong: tuple[str, ...], why: Say) -> list[Remedy]:
    """Return the remedy of leaving the mount: pads still on their track, or a disc that suits them.

    It answers errors of the pair of holes as a whole, in height and along; never their spacing.
    """
    pads = work.pads
    if pads is None:
        return []  # where the holes are is not settled, and the verdict says what is missing
    band = TWO_SIDED_95 * pads.deviation
    if _on_track(pads):
        text = say("remedy.track", why=why, move=pads.move, play=pads.play)
        return [Remedy("track", text, wrong, (("pads", pads.move),))]
    place = work.survey.placement
    for size, step in discs(work.survey, pads.move, pads.play - band, work.shop.largest):
        carries = work.form.native + step.step
        off = (2.0 * pads.move + carries - size) / 2.0
        certain = work.shop.largest is not None and work.shop.certain
        text = say(
            "remedy.disc.fits" if certain else "remedy.disc.look",
            size=size,
            fitted=2.0 * place.rotor.radius,
            adapter=say("remedy.disc.no_adapter") if step.name == "none" else step.name,
            carries=carries,
            off=off,
        )
        return [Remedy("rotor", text, wrong, (("disc", size), ("pads", off)))]
    return [lost(work, wrong, say("remedy.disc.none", why=why, move=pads.move), _takes(work, wrong))]


def turned(work: Work) -> list[Remedy]:
    """Return what to do about a mount that is turned about the axle, which the disc does not mind."""
    wrong = work.beyond("turn")
    if not wrong:
        return []
    tilt = work.survey.placement.tilt + work.error("turn")
    text = say("remedy.tilt", turned=work.error("turn"), tilt=tilt)
    return [Remedy("tilt", text, wrong, (("tilt", tilt),))]
