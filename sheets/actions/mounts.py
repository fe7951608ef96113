"""The shipped tables as text or JSON: every number with its grade and source, every missing one named."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict
from typing import Any

from geometry.core.say import named
from geometry.core.tables import Number, numbered
from geometry.tables import adapters, interfaces
from geometry.tables.axles import Axle, axles, unchecked
from geometry.tables.interface_rows import HoleForm, Row
from sheets.actions.row_checks import checked
from sheets.actions.row_checks import lines as check_lines
from sheets.home.own_rows import KeptRow
from sheets.words.tell import either, tell, told

_AXLE_NUMBERS = ("width", "pocket", "rotor")
# What a builder would look for in a row beyond the numbers that place it.
_LOOKED_FOR = {
    "tab": ("hole", "boss.thickness"),
    "post": ("hole", "boss.diameter", "boss.length"),
    "flat": ("hole", "boss.length"),
}


def document(own: Sequence[KeptRow] = ()) -> dict[str, Any]:
    """Return both tables for JSON: interfaces, adapters, axles, and the numbers that nothing bears out.

    A number that was not found is null, and so is a check of another kind than its source.

    Rows of the builder's `own` table follow the shipped interfaces.
    """
    return {
        "interfaces": [*map(_interface, interfaces.rows().values()), *map(_own_interface, own)],
        "adapters": [_adapter(row) for row in adapters.adapter_rows()],
        "axles": [_axle(each) for each in axles().values()],
        "open": [
            {"table": name, "row": each.row, "key": each.key, "settle": each.settle}
            for name, found in (("interfaces", interfaces.unchecked()), ("axles", unchecked()))
            for each in found
        ],
        "checks": checked(),
    }


def listing(own: Sequence[KeptRow] = ()) -> str:
    """Return both tables as text for a terminal, with the rows of the builder's `own` table."""
    table = document(own)
    lines = [tell("mounts.head")]
    for row in table["interfaces"]:
        ends = either(named(end) for end in row["ends"])
        lines += [
            "",
            tell("mounts.row", name=row["name"], title=row["title"], family=row["family"], ends=ends),
            f"  {tell('mounts.made_for', sizes=size_words(row), hole=hole_words(row['hole']))}",
            *(f"  {said}" for said in stamps(row)),
        ]
        lines += _rows([printed(name, entry) for name, entry in row["numbers"].items()])
        loose = [name for name, entry in row["numbers"].items() if entry and entry["tolerance"] is None]
        if loose:
            lines.append(f"  {tell('mounts.no_tolerance', names=', '.join(loose))}")
        lines += check_words(row["numbers"])
        if row["note"]:
            lines.append(f"  {row['note']}")
        lines += doubts(row)
    lines += ["", tell("mounts.adapters")]
    lines += _rows(
        [
            (
                bolts_to(each),
                " ".join(f"{step:+g}" for step in each["steps"]),
                tell("mounts.adapter", name=each["name"], grade=each["grade"], source=each["source"]),
            )
            for each in table["adapters"]
        ]
    )
    lines += ["", tell("mounts.axles")]
    for each in table["axles"]:
        numbers = {tell(f"mounts.axle.{key}"): each[key] for key in _AXLE_NUMBERS}
        what = (each["title"], named(each["end"]), named(each["kind"].replace(" ", "-")))
        lines += ["", f"{each['name']}  {', '.join(map(told, what))}"]
        lines += _rows([printed(name, entry) for name, entry in numbers.items()])
        lines += check_words(numbers)
    lines += ["", *check_lines(table["checks"])]
    lines += ["", tell("mounts.open")]
    grouped: dict[str, list[str]] = {}
    for each in table["open"]:
        grouped.setdefault(each["settle"], []).append(f"{each['row']} {each['key']}")
    for settle, names in grouped.items():
        lines += [f"  {', '.join(names)}", f"    {settle}"]
    return "\n".join(lines)


def check_words(numbers: Mapping[str, Mapping[str, Any] | None]) -> list[str]:
    """Return the second checks of some numbers, each once, with the numbers that it bears out."""
    found: dict[tuple[str, str], list[str]] = {}
    for name, entry in numbers.items():
        if entry and entry["check"]:
            found.setdefault((entry["check"]["kind"], entry["check"]["text"]), []).append(name)
    return [
        f"  {tell(f'mounts.checked.{kind}', names=', '.join(names), text=text)}"
        for (kind, text), names in found.items()
    ]


def stamps(row: Mapping[str, Any]) -> Iterator[str]:
    """Yield what has to be known of a row before its numbers are."""
    if row["replaces"]:
        yield tell("mounts.replaces", name=row["name"], end=named(row["ends"][0]))
    if row["mounts"] is not None:
        yield tell(_measured_on(row), count=row["mounts"], makers=row["makers"])
    if row["provisional"]:
        yield tell("mounts.provisional")


def doubts(row: Mapping[str, Any]) -> list[str]:
    """Return where published numbers of a row disagree, and what would settle it."""
    lines = []
    if row["disagrees"]:
        settle = tell("mounts.settle", how=row["disagrees"]["settle"])
        lines += [f"  {row['disagrees']['said']}", f"  {settle}"]
    if row["second"]:
        lines.append(f"  {tell('mounts.second_set')}")
        lines += [f"    {tell('mounts.second_puts', **each)}" for each in row["second"]["differs"]]
        lines += _rows([printed(name, entry) for name, entry in row["second"]["numbers"].items()])
    return lines


def bolts_to(adapter: Mapping[str, Any]) -> str:
    """Return what an adapter of the document bolts to: mounts of a family, at one end perhaps, or one row."""
    return ", ".join(
        (adapter.get("row") or adapter["family"], *([told(named(adapter["end"]))] if adapter["end"] else []))
    )


def _adapter(row: adapters.AdapterRow) -> dict[str, Any]:
    """Return an adapter with what the table says of it; an end is told even where it serves both."""
    said = {key: value for key, value in asdict(row).items() if value}
    return {**said, "end": row.end}


def _interface(row: Row) -> dict[str, Any]:
    numbers = _numbers(row)
    for name in _LOOKED_FOR[row.family]:
        numbers.setdefault(name, None)
    conflict = interfaces.disagreements().get(row.disagrees)
    return {
        "name": row.name,
        "title": row.title,
        "family": row.family,
        "ends": row.ends,
        "native": row.sizes,
        "any_between": row.path is not None,
        "provisional": row.provisional,
        "screw": row.screw,
        "hole": _hole_form(row.hole),
        "numbers": numbers,
        "note": row.note,
        "disagrees": None if conflict is None else asdict(conflict),
        "second": _second(row.name),
        "own": False,
        "replaces": False,
        "mounts": None,
    }


def _hole_form(hole: HoleForm) -> dict[str, Any]:
    return {key: getattr(hole, key) for key in ("kind", "length", "screw")}


def _second(name: str) -> dict[str, Any] | None:
    """Return a second published set: its own numbers, and where it puts the mount otherwise, mm, by size."""
    found = interfaces.second_sets().get(name)
    if found is None:
        return None
    places = {size: interfaces.second(name, size) for size in adapters.disc().sizes}
    return {
        "numbers": _numbers(found),
        "differs": [
            {"native": size, "up": round(each.up, 3), "along": round(each.along, 3)}
            for size, each in places.items()
            if each is not None
        ],
    }


def _measured_on(row: Mapping[str, Any]) -> str:
    """Return the code of what is said of the mounts that a row was measured on."""
    if row["mounts"] == 1:
        return "mounts.one_mount"
    return {None: "mounts.more_mounts", 1: "mounts.one_maker"}.get(row["makers"], "mounts.more_makers")


def _own_interface(row: KeptRow) -> dict[str, Any]:
    """Return a row of the builder's own table in the same form; what it leaves out is a shipped row's."""
    form = interfaces.resolve(row.name, row.end, row.native, row.native, row.geometry)
    given = {key: getattr(row, key) for key in ("near", "far", "spacing", "h", "x_near", "x_far")}
    numbers: dict[str, dict[str, Any] | None] = {
        key: _own_number(row, key, value) for key, value in given.items() if value is not None
    }
    for key, each in ((f"lateral.{row.end}", form.lateral), ("hole", form.hole.diameter)):
        own = each.grade in ("own", "M")
        numbers[key] = _own_number(row, key.partition(".")[0], each.value) if own else _graded(each)
    return {
        "name": row.name,
        "title": told(form.title),
        "family": form.family,
        "ends": [row.end],
        "native": [row.native],
        "any_between": False,
        "provisional": False,
        "screw": form.screw,
        "hole": _hole_form(form.hole),
        "numbers": numbers,
        "note": " ".join(map(told, form.notes)),
        "disagrees": None,
        "second": None,
        "own": True,
        "replaces": row.replaces,
        "mounts": form.mounts,
        "makers": form.makers,
    }


def _own_number(row: KeptRow, key: str, value: float) -> dict[str, Any]:
    return {
        "value": value,
        "tolerance": {str(name): band for name, band in row.uncertainty.items()}.get(key, row.tolerance),
        "low": None,
        "high": None,
        "grade": row.geometry.grade if row.geometry.grade == "M" and key != "hole" else row.grade,
        "source": "; ".join(each for each in (row.source, row.second_source) if each),
        "check": None,
    }


def _graded(number: Number | None) -> dict[str, Any] | None:
    if number is None:
        return None
    return {
        "value": number.value,
        "tolerance": number.tolerance,
        "low": number.low,
        "high": number.high,
        "grade": number.grade,
        "source": number.source,
        "check": number.check and {"kind": number.check.kind, "text": number.check.text},
    }


def _numbers(row: object) -> dict[str, dict[str, Any] | None]:
    """Return every number of a row by its key path, whatever the row's form: new rows need no code."""
    return {key: _graded(each) for key, each in numbered(row)}


def _axle(each: Axle) -> dict[str, Any]:
    return {
        "name": each.name,
        "title": each.title,
        "end": each.end,
        "kind": each.kind,
        **{key: _graded(getattr(each, key)) for key in _AXLE_NUMBERS},
    }


def size_words(row: Mapping[str, Any]) -> str:
    """Return the sizes that a row of the document is made for."""
    sizes = row["native"]
    if row["any_between"]:
        return tell("mounts.any_size", low=sizes[0], high=sizes[-1])
    return either(f"{size:g}" for size in sizes)


def hole_words(hole: Mapping[str, Any]) -> str:
    """Return what a row's holes are like."""
    return tell(f"mounts.hole.{hole['kind']}", screw=hole["screw"], length=hole["length"])


def printed(name: str, entry: Mapping[str, Any] | None) -> tuple[str, str, str]:
    """Return a number of the document in words: its name, its value with its band, its grade and source."""
    if entry is None:
        return name, tell("mounts.not_found"), ""
    value = f"{entry['value']:g}"
    if entry.get("tolerance") is not None:
        value += f" ±{entry['tolerance']:g}"
    if entry.get("low") is not None:
        value += f" {tell('mounts.band', low=entry['low'], high=entry['high'])}"
    return name, value, tell("mounts.graded", grade=entry["grade"], source=entry["source"])


def _rows(rows: list[tuple[str, str, str]]) -> list[str]:
    names = max(len(name) for name, _, _ in rows)
    values = max(len(value) for _, value, _ in rows)
    return [f"  {name:<{names}}  {value:<{values}}  {source}".rstrip() for name, value, source in rows]
