"""Remedies for faces: too high or too low, out of square along or across the holes, and off sideways.

Each returns remedies for what is surely beyond its limit; see remedy.py for what a remedy may do.
"""

from geometry.core.say import Say, Value, also, named, say
from geometry.survey.limits import allowed, limits, numbers
from geometry.survey.model import LEAN_BASE
from geometry.survey.remedy_holes import by_disc
from geometry.survey.remedy_room import least_size, sides, spare
from geometry.survey.remedy_work import HOLES, Remedy, Work, down, lost


def depth(work: Work) -> list[Remedy]:
    """Return what to do about the face's height and about a face out of square along the holes.

    `above` is how far each end stands proud of where it should be: a post's height, or a tab's inner face
    inboard of its place. Faced down to a common level, a face that is then too low is shimmed.
    """
    tab = work.tab
    stem, sign = ("lateral", -1.0) if tab else ("height", 1.0)
    wrong = work.beyond(stem, f"{stem}_near", f"{stem}_far", "square_along")
    if not wrong:
        return []
    if work.survey.miss(stem) is not None:
        above = dict.fromkeys(HOLES, sign * work.error(stem))
    else:
        above = {hole: sign * work.error(f"{stem}_{hole}") for hole in HOLES}
        if "square_along" not in wrong:
            above = dict.fromkeys(HOLES, sum(above.values()) / 2.0)
    stock = work.survey.stock
    level = min(0.0, *(stock + each for each in above.values()))
    off = {hole: down(stock + each - level) for hole, each in above.items()}
    limit = limits(work.form)[stem].value
    thinned = {hole: each - stock for hole, each in off.items()}
    found: list[Remedy] = []
    shim = down(-level)
    # A face that is right with its stock on is told so, or the stock would come off.
    if max(off.values()) > 0.0 or (stock and shim == 0.0):
        if max(thinned.values()) > spare(work.form, work.shop.size) + 1e-9:
            return _shimmed(work, wrong, above, max(thinned.values()))
        work.thinned = {hole: max(0.0, each) for hole, each in thinned.items()}
        found.append(_face(work, wrong, off, max(thinned.values())))
    if shim > limit or (shim > 0.0 and not found):
        if shim > numbers()["work.shim"].value:
            return _elsewhere(work, wrong, say("remedy.shim.too_thick", shim=shim))
        text = say("remedy.shim.under_adapter" if tab else "remedy.shim.under_caliper", shim=shim)
        found.append(Remedy("shim", text, wrong, (("shim", shim),)))
        level += shim
    if not tab:
        work.height = level
    return found


def _face(work: Work, wrong: tuple[str, ...], off: dict[str, float], deepest: float) -> Remedy:
    stock, size, least = work.survey.stock, work.shop.size, least_size(work.form)
    left = None if size is None else size - deepest
    rest = say("remedy.face.no_more") if left is None else say("remedy.face.stays", left=left)
    if left is not None and least is not None:
        rest = say("remedy.face.stays_of", left=left, least=least.value, grade=least.grade)
    text = say(
        "remedy.face.planned" if stock else "remedy.face.off",
        **{hole: off[hole] for hole in HOLES},
        face=say("remedy.face.tab" if work.tab else "remedy.face.mount"),
        stock=stock,
        rest=rest,
    )
    return Remedy("face", text, wrong, tuple(off.items()), left, least)


def _shimmed(work: Work, wrong: tuple[str, ...], above: dict[str, float], deepest: float) -> list[Remedy]:
    """Return what is left where facing would thin the mount too much: shims under one screw, and slots.

    The lower end is raised to the higher one; a mount that then still stands too high is answered elsewhere.
    """
    why = _too_thin(work, deepest)
    if work.survey.stock or "square_along" not in wrong:
        return _elsewhere(work, wrong, why)
    high = max(above.values())
    lift = {hole: down(high - each) for hole, each in above.items()}
    if max(lift.values()) > numbers()["work.shim"].value:
        return _elsewhere(work, wrong, why)
    where = tuple(
        say("remedy.shim.at_hole", lift=each, hole=named(hole)) for hole, each in lift.items() if each > 0.0
    )
    stem, sign = ("lateral", -1.0) if work.tab else ("height", 1.0)
    ends = (stem, f"{stem}_near", f"{stem}_far")
    low, top = allowed(limits(work.form)[stem], work.survey.miss_band(ends))
    band = max(work.band(key) for key in ends)
    stays = low + band <= sign * high <= top - band
    rest = tuple(key for key in wrong if key != "square_along")
    answers = wrong if stays else ("square_along",)
    code = "remedy.shim.level_adapter" if work.tab else "remedy.shim.level_caliper"
    text = say(code, where=where, why=why)
    found = [Remedy("shim", text, answers, tuple(lift.items()))]
    if not work.tab:
        work.height = high
    return found if stays or not rest else [*found, *_elsewhere(work, rest, why)]


def _too_thin(work: Work, deepest: float) -> Say:
    least, size = least_size(work.form), work.shop.size
    part = named("tab" if work.tab else "boss")
    if least is None:
        return say("remedy.thin.no_least", off=deepest, part=part)
    if size is None:
        return say("remedy.thin.no_size", off=deepest, key="boss.thickness" if work.tab else "boss.length")
    return say("remedy.thin.leaves", off=deepest, left=size - deepest, part=part, least=least.value)


def _elsewhere(work: Work, wrong: tuple[str, ...], why: Say) -> list[Remedy]:
    """Return what takes a height or a tab's place sideways where neither facing nor a shim does."""
    square = tuple(key for key in wrong if key == "square_along")
    rest = tuple(key for key in wrong if key != "square_along")
    found = [lost(work, square, why, {})] if square else []
    if not rest:
        return found
    return [*found, *(_slide(work, rest, why) if work.tab else by_disc(work, rest, why))]


def across(work: Work) -> list[Remedy]:
    """Return the facing of a face that leans across the holes, or the shim that takes the lean."""
    wrong = work.beyond("square_across")
    if not wrong:
        return []
    lean = work.error("square_across")
    width = work.shop.width or numbers()["work.seat"].value
    off = down(abs(lean) * width / LEAN_BASE)
    high, low = ("inboard", "outboard") if lean < 0.0 else ("outboard", "inboard")
    if work.tab:
        high, low = ("outer", "axle") if lean < 0.0 else ("axle", "outer")
    deepest = max(work.thinned.values()) + off
    if deepest > spare(work.form, work.shop.size) + 1e-9:
        why = say("remedy.thin.leans", lean=abs(lean), base=LEAN_BASE, why=_too_thin(work, deepest))
        if abs(lean) + work.band("square_across") > numbers()["work.wedge"].value:
            return [lost(work, wrong, why, {})]
        # A flat mount's caliper lies on the face itself, and its screws come from below.
        text = say(f"remedy.wedge.{work.form.family}", shim=off, side=named(low), wide=width, why=why)
        return [Remedy("shim", text, wrong, ((f"{low} side", off), (f"{high} side", 0.0)))]
    more: dict[str, Value] = {"off": off, "none": 0.0, "high": named(high), "low": named(low), "wide": width}
    left = None if work.shop.size is None else work.shop.size - deepest
    text = say("remedy.face.across", **more)
    if left is not None:
        text = say("remedy.face.across_stays", **more, left=left)
    amounts = ((f"{high} side", off), (f"{low} side", 0.0))
    return [Remedy("face", text, wrong, amounts, left, least_size(work.form))]


def sideways(work: Work) -> list[Remedy]:
    """Return what to do about posts or flats that sit off sideways: the slots take it, or not."""
    if work.tab:
        return []
    wrong = work.beyond("lateral", "lateral_near", "lateral_far")
    return _slide(work, wrong) if wrong else []


def _slide(work: Work, wrong: tuple[str, ...], why: Say | str = "") -> list[Remedy]:
    """Return the remedy of a caliper that slides in its slots, or who is to be asked where they are short."""
    off = {
        key: work.error(key) for key in ("lateral", "lateral_near", "lateral_far") if work.survey.miss(key)
    }
    most, band = max(abs(each) for each in off.values()), max(work.band(key) for key in off)
    play = sides(work.survey)
    if most + band > play.value:
        short = say("remedy.slots.short", off=most, band=band, takes=play.value)
        far = play.value if play.high is None else play.high
        more = numbers()["work.shim"].value if work.tab else 0.0
        return [lost(work, wrong, also([why, short] if why else [short]), dict.fromkeys(wrong, far + more))]
    amounts = tuple((key, -each) for key, each in off.items())
    ways = {
        key.removeprefix("lateral_"): say(
            "remedy.slots.inboard" if each > 0.0 else "remedy.slots.outboard", by=abs(each)
        )
        for key, each in off.items()
    }
    code = "remedy.slots.move" if "lateral" in ways else "remedy.slots.move_each"
    return [Remedy("slots", say(code, **ways, takes=play.value, grade=play.grade), wrong, amounts)]
