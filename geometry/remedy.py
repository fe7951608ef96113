"""What a shop can do about a mount that is off: shims, facing, slots, play, another disc, or a new mount.

No remedy thins a tab or post below its least thickness: the table's where it has one, and where none is known
the size that the job gives, so that nothing but the stock left for facing comes off. Pads on their track, or
a disc that suits them, answer only where the pair of holes sits as a whole; holes too near or too far apart
are answered by the play in both holes, or not at all. What covers an error covers its 95 % band too.
"""

import math
from dataclasses import dataclass, field
from typing import Literal

from geometry.interfaces import Interface
from geometry.recall import Effect, effect
from geometry.remedy_room import discs, half_play, least_size, pads_once_level, spare
from geometry.survey import Pads, Survey
from geometry.survey_limits import limits, numbers
from geometry.survey_model import LEAN_BASE
from geometry.tables import Number
from geometry.trilateration import TWO_SIDED_95

Kind = Literal["face", "shim", "slots", "play", "track", "rotor", "tilt", "offer", "redo"]
_STEP = 0.01
"""Amounts are told to this, mm: a hundredth is what a dial shows."""
_HOLES = ("near", "far")


@dataclass(frozen=True, slots=True)
class Remedy:
    """One remedy in shop words. `amounts` are mm by place; `leaves` the least thickness then left, mm.

    `least` is the thickness below which nothing goes, None where none is known; `answers` the errors' keys.
    """

    kind: Kind
    text: str
    answers: tuple[str, ...]
    amounts: tuple[tuple[str, float], ...] = ()
    leaves: float | None = None
    least: Number | None = None


@dataclass(frozen=True, slots=True)
class Shop:
    """What is known of the mount itself and of the frame, mm.

    `size` is the tab's thickness or the boss's length once faced, `width` the face's across the holes, both
    None where the job does not say; `largest` the largest disc that the frame takes as far as its tubes are
    known, 0 for none, and `certain` that all of them are.
    """

    size: float | None = None
    width: float | None = None
    largest: float | None = None
    certain: bool = True


UNKNOWN = Shop()
"""Nothing known of mount and frame."""


@dataclass(slots=True)
class _Work:
    """A survey at hand; `thinned` is what facing takes beyond the stock, by hole.

    `height` is what facing or a shim leaves of the face's error in height, None where it stays as it is.
    """

    survey: Survey
    shop: Shop
    thinned: dict[str, float] = field(default_factory=lambda: dict.fromkeys(_HOLES, 0.0))
    height: float | None = None

    @property
    def form(self) -> Interface:
        return self.survey.placement.interface

    def beyond(self, *keys: str) -> tuple[str, ...]:
        return tuple(key for key in keys if (one := self.survey.miss(key)) and one.state == "beyond")

    def error(self, key: str) -> float:
        one = self.survey.miss(key)
        return 0.0 if one is None or one.error is None else one.error

    def band(self, key: str) -> float:
        """Return how far an error may be from what was found, at 95 %."""
        one = self.survey.miss(key)
        return 0.0 if one is None or one.deviation is None else TWO_SIDED_95 * one.deviation

    @property
    def pads(self) -> Pads | None:
        """Return where the pads go once the face's height is seen to."""
        return pads_once_level(self.survey, self.height)


def remedies(survey: Survey, shop: Shop = UNKNOWN) -> tuple[Remedy, ...]:
    """Return a remedy for every error that is surely beyond its limit; "redo" alone where one has none."""
    work = _Work(survey, shop)
    found = [*_depth(work), *_across(work), *_sideways(work), *_in_plane(work), *_turn(work)]
    lost = [each for each in found if each.kind == "redo"]
    return (_redo_for(lost),) if lost else tuple(found)


def _depth(work: _Work) -> list[Remedy]:
    """Return what to do about the face's height and about a face out of square along the holes.

    `above` is how far each end stands proud of where it should be: a post's height, or a tab's inner face
    inboard of its place. Faced down to a common level, a face that is then too low is shimmed.
    """
    tab = work.form.family == "tab"
    stem, sign = ("lateral", -1.0) if tab else ("height", 1.0)
    wrong = work.beyond(stem, f"{stem}_near", f"{stem}_far", "square_along")
    if not wrong:
        return []
    if work.survey.miss(stem) is not None:
        above = dict.fromkeys(_HOLES, sign * work.error(stem))
    else:
        above = {hole: sign * work.error(f"{stem}_{hole}") for hole in _HOLES}
        if "square_along" not in wrong:
            above = dict.fromkeys(_HOLES, sum(above.values()) / 2.0)
    stock = work.survey.stock
    level = min(0.0, *(stock + each for each in above.values()))
    off = {hole: _down(stock + each - level) for hole, each in above.items()}
    limit = limits(work.form)[stem].value
    thinned = {hole: each - stock for hole, each in off.items()}
    found: list[Remedy] = []
    shim = _down(-level)
    # A face that is right with its stock on is told so, or the stock would come off.
    if max(off.values()) > 0.0 or (stock and shim == 0.0):
        if max(thinned.values()) > spare(work.form, work.shop.size) + 1e-9:
            lost = tab or "square_along" in wrong
            return _cannot_face(work, wrong, max(thinned.values()), lost)
        work.thinned = {hole: max(0.0, each) for hole, each in thinned.items()}
        found.append(_face(work, wrong, off, max(thinned.values())))
    if shim > limit or (shim > 0.0 and not found):
        if shim > numbers()["work shim"].value:
            why = f"a shim of {shim:.2f} mm is more than is advised"
            # No disc takes up a tab that sits sideways, or a face out of square.
            return [_redo(wrong, why)] if tab or "square_along" in wrong else _by_disc(work, wrong, why)
        under = "adapter and tab" if tab else "caliper and mount"
        many = "at both screws; take screws as much longer" if not tab else "at both screws"
        found.append(Remedy("shim", f"Shim {shim:.2f} mm between {under}, {many}.", wrong, (("shim", shim),)))
        level += shim
    if not tab:
        work.height = level
    return found


def _face(work: _Work, wrong: tuple[str, ...], off: dict[str, float], deepest: float) -> Remedy:
    what = "the tab's inner face" if work.form.family == "tab" else "the mount face"
    stock, size, least = work.survey.stock, work.shop.size, least_size(work.form)
    planned = f" ({stock:g} was left for it)" if stock else ""
    left = None if size is None else size - deepest
    told = "" if left is None else f" {left:.2f} mm stays"
    if told and least is not None:
        told += f", at least {least.value:g} is wanted (grade {least.grade})"
    near, far = (f"{off[hole]:.2f} mm at the {hole} hole" for hole in _HOLES)
    text = f"Face off {near} and {far} of {what}{planned};"
    return Remedy(
        "face", f"{text}{told or ' no more'}. Then read again.", wrong, tuple(off.items()), left, least
    )


def _cannot_face(work: _Work, wrong: tuple[str, ...], deepest: float, lost: bool) -> list[Remedy]:
    """Return what is left where facing would thin the mount too much; `lost` where only facing would do."""
    least, size = least_size(work.form), work.shop.size
    part = "tab" if work.form.family == "tab" else "boss"
    if least is None:
        why = f"{deepest:.2f} mm would have to come off, and no least length of this {part} is known"
    elif size is None:
        key = "boss.thickness" if part == "tab" else "boss.length"
        why = f"{deepest:.2f} mm would have to come off, and {key} is not given"
    else:
        left = f"{size - deepest:.2f} mm of a {part} that needs {least.value:g}"
        why = f"facing {deepest:.2f} mm off would leave {left}"
    return [_redo(wrong, why)] if lost else _by_disc(work, wrong, why)


def _across(work: _Work) -> list[Remedy]:
    """Return the facing of a face that leans across the holes: both numbers, and what stays."""
    wrong = work.beyond("square_across")
    if not wrong:
        return []
    lean = work.error("square_across")
    width = work.shop.width or numbers()["work seat"].value
    off = _down(abs(lean) * width / LEAN_BASE)
    tab = work.form.family == "tab"
    high, low = ("inboard", "outboard") if lean < 0.0 else ("outboard", "inboard")
    if tab:
        high, low = ("outer", "axle") if lean < 0.0 else ("axle", "outer")
    deepest = max(work.thinned.values()) + off
    if deepest > spare(work.form, work.shop.size) + 1e-9:
        return _cannot_face(work, wrong, deepest, True)
    left = None if work.shop.size is None else work.shop.size - deepest
    told = f"Face off {off:.2f} mm at the {high} side and 0.00 mm at the {low} side of a face {width:g} wide"
    stays = "" if left is None else f"; {left:.2f} mm stays"
    amounts = ((f"{high} side", off), (f"{low} side", 0.0))
    return [Remedy("face", f"{told}{stays}. Then read again.", wrong, amounts, left, least_size(work.form))]


def _sideways(work: _Work) -> list[Remedy]:
    """Return what to do about posts or flats that sit off sideways: the slots take it, or not."""
    if work.form.family == "tab":
        return []
    wrong = work.beyond("lateral", "lateral_near", "lateral_far")
    if not wrong:
        return []
    off = {
        key: work.error(key) for key in ("lateral", "lateral_near", "lateral_far") if work.survey.miss(key)
    }
    most = max(abs(each) for each in off.values())
    play = work.survey.adjustment
    if play is None:
        return [
            _redo(
                wrong, f"it sits {most:.2f} mm off sideways, and the caliper's own adjustment was not found"
            )
        ]
    band = max(work.band(key) for key in off)
    if most + band > play.value:
        why = f"it sits {most:.2f} ± {band:.2f} mm off sideways, the slots take {play.value:g}"
        return [_redo(wrong, why)]
    amounts = tuple((key, -each) for key, each in off.items())
    ways = ", ".join(
        f"{abs(each):.2f} mm {'inboard' if each > 0.0 else 'outboard'}"
        + (f" at the {key.removeprefix('lateral_')} hole" if "_" in key else "")
        for key, each in off.items()
    )
    takes = f"they take {play.value:g} either way (grade {play.grade})"
    text = f"Move the caliper within the slots: {ways} of their middle; {takes}."
    return [Remedy("slots", text, wrong, amounts)]


def _in_plane(work: _Work) -> list[Remedy]:
    """Return what to do about holes that sit off in the side view.

    Their spacing is taken by the play in both, half of it in each; the pair as a whole by pads or disc.
    """
    tab = work.form.family == "tab"
    wrong = work.beyond("near", "far") if tab else work.beyond("along_near", "along_far")
    apart = work.beyond("spacing")
    if not wrong and not apart:
        return []
    if work.survey.recall is not None:
        return [Remedy("offer", offer_words(effect(work.survey.recall)), (*wrong, *apart))]
    if apart and abs(work.error("spacing")) + work.band("spacing") > 2.0 * half_play(work.form):
        return [_redo((*wrong, *apart), _no_play(work))]
    if tab:
        return _tab_holes(work, wrong, apart)
    found = _spaced(work) if apart else []
    if wrong:
        most = max((work.error(key) for key in wrong), key=abs)
        found += _by_disc(work, wrong, f"the holes sit {most:+.2f} mm off along the mount")
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


def _tab_holes(work: _Work, wrong: tuple[str, ...], apart: tuple[str, ...]) -> list[Remedy]:
    """Return what to do about a tab's holes whose spacing, if it is off, the screws' play takes."""
    pads, half = work.pads, half_play(work.form)
    if pads is None:
        return []  # where the holes are is not settled, and the verdict says what is missing
    need = _need(work)
    if need + max(work.band(key) for key in ("near", "far", "spacing")) <= half:
        text = (
            f"Push the adapter to its proper place before the screws bite: it needs {need:.2f} mm at "
            f"the worse hole, the screws have {half:.2f} (grade D). Both must turn in by hand."
        )
        return [Remedy("play", text, (*wrong, *apart), (("worse hole", need),))]
    found = _spaced(work) if apart else []
    if wrong or not _on_track(pads):
        found += _by_disc(work, wrong, "the pair of holes sits off by more than the screws' play pushes back")
    return found


def _spaced(work: _Work) -> list[Remedy]:
    """Return the remedy of screws that stand aside in both holes, each by half of what the spacing is off."""
    off, half = abs(work.error("spacing")) / 2.0, half_play(work.form)
    text = f"Let each screw stand {off:.2f} mm aside in its hole, which has {half:.2f} (grade D)."
    return [Remedy("play", f"{text} Both must turn in by hand.", ("spacing",), (("each hole", off),))]


def _no_play(work: _Work) -> str:
    """Return why no play takes the spacing, and whether one should read again before cutting."""
    off, band, both = work.error("spacing"), work.band("spacing"), 2.0 * half_play(work.form)
    part = "adapter's" if work.form.family == "tab" else "caliper's"
    why = f"the holes are {off:+.2f} ± {band:.2f} mm from the {part} spacing"
    if both == 0.0:
        return f"{why}, and the thread lets no screw stand aside"
    close = "; read it again, several times, before you cut" if abs(off) - band <= both else ""
    return f"{why}, and the play in both holes together takes {both:.2f}{close}"


def _need(work: _Work) -> float:
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


def _by_disc(work: _Work, wrong: tuple[str, ...], why: str) -> list[Remedy]:
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
    return [_redo(wrong, f"{why}; the pads move {pads.move:+.2f} mm outward, and no disc on sale suits that")]


def _turn(work: _Work) -> list[Remedy]:
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


def _redo(wrong: tuple[str, ...], why: str) -> Remedy:
    return Remedy("redo", why, wrong)


def _redo_for(lost: list[Remedy]) -> Remedy:
    why = "; ".join(dict.fromkeys(each.text for each in lost))
    keys = tuple(dict.fromkeys(key for each in lost for key in each.answers))
    text = f"Cut the mount off and set a new one: {why}. Filing holes or drilling them anew is not advised."
    return Remedy("redo", text, keys)


def _down(value: float) -> float:
    """Return an amount rounded down, so that nobody takes off more than is there to take."""
    return max(0.0, math.floor(value / _STEP + 1e-6) * _STEP)
