"""Remedies for holes in the side view: their spacing, the pair as a whole, and its turn about the axle.

Each returns remedies for what is surely beyond its limit; see remedy.py for what a remedy may do.
"""

import math

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
        return [Remedy("offer", offer_words(effect(work.survey.recall)), (*wrong, *apart))]
    play = half_play(work.form)
    if apart and abs(work.error("spacing")) + work.band("spacing") > 2.0 * play.value:
        most = 2.0 * (play.value if play.high is None else play.high)
        return [lost(work, (*wrong, *apart), _no_play(work), {**_takes(work, wrong), "spacing": most})]
    if work.tab:
        return _tab_holes(work, wrong, apart)
    found = _spaced(work) if apart else []
    if wrong:
        most = max((work.error(key) for key in wrong), key=abs)
        found += by_disc(work, wrong, f"the holes sit {most:+.2f} mm off along the mount")
    return found


def offer_words(built: Effect) -> str:
    """Return what a mount that was built to recalled numbers does, and what to do about it, in sentences."""
    way = "further out" if built.outward > 0.0 else "further in"
    lie = (
        f"the pads still end {built.inside:.1f} mm inside the disc's edge, the highest on sale too"
        if built.inside > 0.0
        else f"the highest pads on sale stand {-built.inside:.1f} mm over the disc's edge"
    )
    return (
        f"With a caliper on it the pads sit about {abs(built.outward):.1f} mm {way} and {built.along:.1f} mm "
        f"along the track, turned by {built.turned:.1f} degrees to the disc; {lie}. Some adapters have the "
        "play to take that up, others do not. Put no heat on a sound tab. Offer up a caliper on its adapter, "
        "cold: both screws must turn in by hand, and the pads must lie wholly on the disc."
    )


def _tab_holes(work: Work, wrong: tuple[str, ...], apart: tuple[str, ...]) -> list[Remedy]:
    """Return what to do about a tab's holes whose spacing, if it is off, the screws' play takes."""
    pads, play = work.pads, half_play(work.form)
    if pads is None:
        return []  # where the holes are is not settled, and the verdict says what is missing
    need = _need(work)
    if need + max(work.band(key) for key in ("near", "far", "spacing")) <= play.value:
        text = (
            f"Push the adapter to its proper place before the screws bite: it needs {need:.2f} mm at "
            f"the worse hole, the screws have {play.value:.2f} (grade {play.grade}). "
            "Both must turn in by hand."
        )
        return [Remedy("play", text, (*wrong, *apart), (("worse hole", need),))]
    found = _spaced(work) if apart else []
    if wrong or not _on_track(pads):
        found += by_disc(work, wrong, "the pair of holes sits off by more than the screws' play pushes back")
    return found


def _spaced(work: Work) -> list[Remedy]:
    """Return the remedy of screws that stand aside in both holes, each by half of what the spacing is off."""
    off, play = abs(work.error("spacing")) / 2.0, half_play(work.form)
    which = "its hole in the caliper, which" if work.form.hole.kind == "thread" else "its hole, which"
    text = f"Let each screw stand {off:.2f} mm aside in {which} has {play.value:.2f} (grade {play.grade})."
    return [Remedy("play", f"{text} Both must turn in by hand.", ("spacing",), (("each hole", off),))]


def _no_play(work: Work) -> str:
    """Return why no play takes the spacing, and whether one should read again before cutting."""
    off, band, both = work.error("spacing"), work.band("spacing"), 2.0 * half_play(work.form).value
    part = "adapter's" if work.tab else "caliper's"
    why = f"the holes are {off:+.2f} ± {band:.2f} mm from the {part} spacing"
    close = "; read it again, several times, before you cut" if abs(off) - band <= both else ""
    return f"{why}, and the play in both holes together takes {both:.2f}{close}"


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
    spread = float(table()["adapter_spread"]["position"]["value"])
    return dict.fromkeys(wrong, pads + spread + (play.value if play.high is None else play.high))


def by_disc(work: Work, wrong: tuple[str, ...], why: str) -> list[Remedy]:
    """Return the remedy of leaving the mount: pads still on their track, or a disc that suits them.

    It answers errors of the pair of holes as a whole, in height and along; never their spacing.
    """
    pads = work.pads
    if pads is None:
        return []  # where the holes are is not settled, and the verdict says what is missing
    band = TWO_SIDED_95 * pads.deviation
    if _on_track(pads):
        text = (
            f"Leave the mount as it is: {why}, but the pads move {pads.move:+.2f} mm outward and have "
            f"{pads.play:g} either way on their track (grade D). "
            "Look at their print on the disc before you ride."
        )
        return [Remedy("track", text, wrong, (("pads", pads.move),))]
    place = work.survey.placement
    for size, step in discs(work.survey, pads.move, pads.play - band, work.shop.largest):
        name = "no adapter" if step.name == "none" else step.name
        rest = 2.0 * pads.move + work.form.native + step.step - size
        known = (
            "the frame has room for it"
            if work.shop.largest is not None and work.shop.certain
            else "see that the frame has room for it"
        )
        text = (
            f"Fit a {size:g} disc instead of {2.0 * place.rotor.radius:g}, "
            f"with {name} as for {work.form.native + step.step:g}: "
            f"the pads then run {rest / 2.0:+.2f} mm off their track's middle; {known}."
        )
        return [Remedy("rotor", text, wrong, (("disc", size), ("pads", rest / 2.0)))]
    told = f"{why}; the pads move {pads.move:+.2f} mm outward, and no disc on sale suits that"
    return [lost(work, wrong, told, _takes(work, wrong))]


def turned(work: Work) -> list[Remedy]:
    """Return what to do about a mount that is turned about the axle, which the disc does not mind."""
    wrong = work.beyond("turn")
    if not wrong:
        return []
    tilt = work.survey.placement.tilt + work.error("turn")
    text = (
        f"The mount sits turned {work.error('turn'):+.2f} degrees about the axle; the disc does not mind. "
        f"Set mount.tilt = {tilt:.2f} in a copy of the job and run dropleaf check: "
        "caliper, key and wheel must still clear."
    )
    return [Remedy("tilt", text, wrong, (("tilt", tilt),))]
