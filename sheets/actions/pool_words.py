"""Several mounts put together: as text for a terminal, as rows of TOML, and as JSON."""

from collections.abc import Sequence
from typing import Any

from geometry.core.say import say
from geometry.survey.limits import numbers
from geometry.survey.pool import prior
from geometry.tables.interfaces import AGREEING, rows
from sheets.actions.learn import mount
from sheets.actions.learn_words import change, row_text, up
from sheets.actions.makers import UNKNOWN
from sheets.actions.pool import PLACED, Group, Pool
from sheets.words.tell import tell, told, visible

_ORDER = ("h", "x_near", "x_far", "spacing", "near", "far", "lateral")


def source(of: Group) -> str:
    """Return the line that is printed with a pooled row's numbers."""
    days = sorted(each.lesson.measured.date for each in of.entries)
    dates: Any = days[0] if days[0] == days[-1] else say("pool.dates", first=days[0], last=days[-1])
    if of.mounts == 1:
        return tell("pool.source_one", dates=dates)
    code = {None: "pool.source", 1: "pool.source_maker"}.get(of.counted, "pool.source_makers")
    return tell(code, count=of.mounts, makers=of.counted or 0, dates=dates)


def block(of: Group, name: str | None = None, replaces: bool = False) -> str:
    """Return a pooled row as TOML: a job's [interface], or with a `name` a [[row]] of an own table."""
    family, end, native = of.key
    head: dict[str, object] = {} if name is None else {"name": name, "end": end}
    head |= {"family": family, "native": native}
    more: dict[str, object] = {} if of.hole is None else {"hole": of.hole}
    more |= {} if of.counted is None else {"makers": of.counted}
    found = {key: (each.value, each.band) for key, each in of.numbers.items()}
    replaced = replaces and name is not None
    row = row_text(head, found, {**more, "source": source(of)}, of.mounts, replaced)
    # By these the files are known again, under whatever names.
    digests = ", ".join(each.digest[:12] for each in of.entries)
    return f"{row}# {tell('pool.from', digests=digests)}\n"


def named(key: str) -> str:
    """Return the name of a number by a row's key."""
    return tell(f"learned.number.{f'{key}_radius' if key in ('near', 'far') else key}")


def sentences(of: Group) -> tuple[str, ...]:
    """Return what is to be said of mounts put together: their spread, which stand apart, and the grade."""
    if len(of.entries) == 2:
        said = [tell("pool.apart", number=named(key), off=off) for _, key, off in of.odd if off > 0.0]
    else:
        said = [
            tell("pool.odd", file=str(of.entries[place].file), number=named(key), off=off)
            for place, key, off in of.odd
        ]
    said += [told(each) for each in of.doubts]
    said += _spreads(of)
    if "lateral" not in of.numbers:
        said.append(tell("pool.sideways_open"))
    elif of.numbers["lateral"].count < len(of.entries):
        count = of.numbers["lateral"].count
        said.append(tell("pool.lateral_on_fewer", count=count, all=len(of.entries)))
    if of.graded:
        said.append(tell("pool.graded", count=of.mounts, makers=of.counted or 0))
    elif not of.agrees:
        said.append(tell("pool.not_graded"))
    elif (of.counted or 0) >= AGREEING:
        said.append(tell("pool.ungraded_sideways"))
    return tuple(said)


def _spreads(of: Group) -> list[str]:
    """Return how far makers and their mounts differ: as they show it, or as it had to be assumed."""
    placed = [key for key in PLACED if key in of.numbers]
    read = [key for key in placed if not of.numbers[key].assumed]
    said = []
    if read:
        spreads = ", ".join(
            tell("pool.spread", name=named(key), value=of.numbers[key].between) for key in read
        )
        said.append(tell("pool.between_read", spreads=spreads))
    if len(read) < len(placed):
        assumed = [key for key in placed if key not in read]
        count = min(of.numbers[key].makers for key in assumed)
        code = "pool.between_assumed_one" if count == 1 else "pool.between_assumed_more"
        priors = sorted({prior(key) for key in assumed})
        also = {"sideways": priors[-1]} if len(priors) > 1 else {}
        apart = say("pool.prior_and_sideways" if also else "pool.prior", prior=priors[0], **also)
        alike, share = (
            numbers()[f"pool.{key}"].value for key in ("within", "twice_one" if count == 1 else "twice_two")
        )
        listed = ", ".join(named(key) for key in assumed)
        said.append(tell(code, number=listed, count=count, prior=apart, alike=alike, twice=100.0 * share))
    unknown = of.makers.count(UNKNOWN)
    if unknown and len(of.entries) > 1:
        said.append(tell("pool.unknown_one" if unknown == 1 else "pool.unknown_more", count=unknown))
    names = [entry.lesson.measured.maker for entry in of.entries]
    pairs = dict.fromkeys(
        (who, name)
        for name, who in zip(names, of.makers, strict=True)
        if who and name.casefold() != who.casefold()
    )
    return [*said, *(tell("pool.one_maker", one=one, other=other) for one, other in pairs)]


def complaints(found: Pool) -> list[str]:
    """Return what is told of files that do not count."""
    return [tell("pool.line", file=str(file), what=what) for file, what in found.left_out]


def text(found: Pool, shown: Sequence[str]) -> str:
    """Return mounts put together for a terminal, each group with the block `shown` of it at its end."""
    lines: list[str] = []
    for of, row in zip(found.groups, shown, strict=True):
        lines += [*([""] if lines else []), *_lines(of), *(["", row.rstrip("\n")] if row else [])]
    if not lines:
        return tell("pool.nothing")
    noted = [tell("pool.line", file=str(file), what=what) for file, what in found.noted]
    return "\n".join((*lines, *([""] if noted else []), *noted))


def _lines(of: Group) -> list[str]:
    family, end, native = of.key
    code = "pool.head_one" if len(of.entries) == 1 else "pool.head_more"
    lines = [tell(code, **mount(family, end), native=native, count=len(of.entries)), ""]
    beside = {each.measured.key.removesuffix("_radius"): each for each in of.compared}
    provisional = of.shipped is not None and of.shipped.provisional
    keys = [key for key in _ORDER if key in of.numbers]
    wide = max(len(named(key)) for key in keys)
    for key in keys:
        each = of.numbers[key]
        said = change(beside[key], provisional) if key in beside else ""
        lines.append(f"  {named(key):<{wide}} {each.value:8.2f} ±{up(each.band):.2f}  {said}".rstrip())
    lines += [f"  {tell('lesson.holds')}", "", tell("pool.each")]
    names = [visible(str(each.file)) for each in of.entries]
    wide = max(map(len, names))
    for place, (name, entry) in enumerate(zip(names, of.entries, strict=True)):
        read = {each.key: each.value for each in entry.lesson.learned.quantities}
        off = "  ".join(
            f"{named(key)} {round(read[key] - of.numbers[key].value, 2) + 0.0:+.2f}"
            if key in read
            else f"{named(key)}  -"
            for key in PLACED
            if key in of.numbers
        )
        weight = tell("pool.weight", percent=100.0 * of.numbers["h"].weights[place])
        lines.append(f"  {name:<{wide}}  {off}  {weight:>5}")
    return [*lines, "", *sentences(of)]


def document(found: Pool, shown: Sequence[str], saved: Sequence[str]) -> dict[str, Any]:
    """Return mounts put together as JSON, mm; `shown` is each group's row, `saved` the file that has them."""
    return {
        "groups": [_group(of, row) for of, row in zip(found.groups, shown, strict=True)],
        "left_out": [{"file": str(file), "why": why} for file, why in found.left_out],
        "notes": [{"file": str(file), "text": what} for file, what in found.noted],
        "unreadable": [{"where": told(each.where), "what": told(each.what)} for each in found.wrong],
        "saved": next(iter(saved), None),
    }


def _group(of: Group, row: str) -> dict[str, Any]:
    family, end, native = of.key
    beside = {each.measured.key.removesuffix("_radius"): each for each in of.compared}
    read = [{each.key: each.value for each in entry.lesson.learned.quantities} for entry in of.entries]
    return {
        "family": family,
        "end": end,
        "native": native,
        "count": len(of.entries),
        "mounts": of.mounts,
        "makers": of.counted,
        "agrees": of.agrees,
        "grade": "M" if of.graded else "own",
        "source": source(of),
        "numbers": {
            key: {
                "value": round(each.value, 6) + 0.0,
                "band": round(each.band, 6),
                "mounts": each.count,
                "makers": each.makers,
                "between": round(each.between, 6),
                "within": round(each.within, 6),
                "between_assumed": each.assumed,
                "next": round(each.predicted, 6),
                "shipped": round(beside[key].shipped, 6) + 0.0 if key in beside else None,
                "difference": round(beside[key].difference, 6) + 0.0 if key in beside else None,
                "verdict": beside[key].verdict if key in beside else None,
            }
            for key in _ORDER
            if (each := of.numbers.get(key)) is not None
        },
        "mounts_read": [
            {
                "file": str(entry.file),
                "on": entry.lesson.measured.on,
                "maker": of.makers[place] or None,
                "sha256": entry.digest,
                "weight": round(of.numbers["h"].weights[place], 6),
                **{
                    key: round(read[place][key] - of.numbers[key].value, 6) + 0.0
                    for key in PLACED
                    if key in of.numbers and key in read[place]
                },
            }
            for place, entry in enumerate(of.entries)
        ],
        "odd": [
            {"file": str(of.entries[place].file), "number": key, "off": round(off, 6)}
            for place, key, off in of.odd
        ],
        "shipped": of.shipped and of.shipped.name,
        "sentences": list(sentences(of)),
        "block": row or None,
    }


def not_kept(found: Pool, name: str, despite: bool) -> str:
    """Return why no row is kept under a name; "" where rows may be kept."""
    if not found.groups or not all(of.agrees for of in found.groups):
        return tell("pool.not_kept_disagree" if found.groups else "pool.not_kept", name=name)
    if (found.wrong or found.left_out) and not despite:
        return tell("pool.not_kept", name=name)
    places = [of.key[1:] for of in found.groups]
    twice = next((each for each in places if places.count(each) > 1), None)
    if twice is not None:
        return tell("pool.not_kept_twice", name=name, end=twice[0], native=twice[1])
    if name not in rows() and not all("lateral" in of.numbers for of in found.groups):
        return tell("pool.not_kept_sideways", name=name)
    return ""
