"""The shipped tables as text or JSON: every number with its grade and source, every missing one named."""

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from geometry.core.tables import Check, Number, load, number
from geometry.tables import adapters, interfaces
from geometry.tables.axles import Axle, axles, unchecked
from sheets.home.own_rows import KeptRow

_AXLE_NUMBERS = {"width": "over the hub's ends", "pocket": "pocket a side", "rotor": "hub end to disc"}
_MISSING = "not found"
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
    table = load(Path(interfaces.__file__).with_name("interfaces.toml"))
    return {
        "interfaces": [
            *(_interface(row, table) for row in table["row"]),
            *(_own_interface(row) for row in own),
        ],
        "adapters": [
            {**row, "source": table["sources"][row["source"]], "end": row.get("end")}
            for row in table["adapter"]
        ],
        "axles": [_axle(each) for each in axles().values()],
        "open": [
            {"table": name, "row": each.row, "key": each.key, "settle": each.settle}
            for name, found in (("interfaces", interfaces.unchecked()), ("axles", unchecked()))
            for each in found
        ],
    }


def listing(own: Sequence[KeptRow] = ()) -> str:
    """Return both tables as text for a terminal, with the rows of the builder's `own` table."""
    table = document(own)
    lines = [
        "Interfaces. Grades: A a maker's or standard's text read, B two independent secondary sources,",
        "C one secondary source, D derived or remembered; measured or own: a row of yours. mm and degrees.",
    ]
    for row in table["interfaces"]:
        lines += [
            "",
            f"{row['name']}  {row['title']} (family {row['family']}; end {' or '.join(row['ends'])})",
        ]
        lines.append(f"  made for {_sizes(row)}; each hole {_hole(row['hole'])}")
        if row["replaces"]:
            lines.append(f"  in place of the shipped {row['name']} at the {row['ends'][0]} and this size")
        if row["mounts"] is not None:
            lines.append(f"  {_measured_on(row['mounts'])}")
        if row["provisional"]:
            lines.append("  PROVISIONAL: derived numbers; measure a mount that works before cutting")
        lines += _rows([_printed(name, entry) for name, entry in row["numbers"].items()])
        loose = [name for name, entry in row["numbers"].items() if entry and entry["tolerance"] is None]
        if loose:
            lines.append(f"  tolerance {_MISSING}: {', '.join(loose)}")
        lines += _checks(row["numbers"])
        if row["note"]:
            lines.append(f"  {row['note']}")
        lines += _doubts(row)
    lines += ["", "Adapters, from the size a mount is made for to the disc fitted"]
    lines += _rows(
        [
            (
                each["family"] + (f", {each['end']}" if each["end"] else ""),
                " ".join(f"{step:+g}" for step in each["steps"]),
                f"{each['name']}, grade {each['grade']}, {each['source']}",
            )
            for each in table["adapters"]
        ]
    )
    lines += ["", "Axle systems"]
    for each in table["axles"]:
        lines += ["", f"{each['name']}  {each['title']}, {each['end']}, {each['kind']}"]
        lines += _rows([_printed(name, each[key]) for key, name in _AXLE_NUMBERS.items()])
        lines += _checks({name: each[key] for key, name in _AXLE_NUMBERS.items()})
    lines += ["", "Open numbers: one kind of source alone, and what would settle each"]
    grouped: dict[str, list[str]] = {}
    for each in table["open"]:
        grouped.setdefault(each["settle"], []).append(f"{each['row']} {each['key']}")
    for settle, names in grouped.items():
        lines += [f"  {', '.join(names)}", f"    {settle}"]
    return "\n".join(lines)


def _checks(numbers: Mapping[str, Mapping[str, Any] | None]) -> list[str]:
    """Return the second checks of some numbers, each once, with the numbers that it bears out."""
    found: dict[tuple[str, str], list[str]] = {}
    for name, entry in numbers.items():
        if entry and entry["check"]:
            found.setdefault((entry["check"]["kind"], entry["check"]["text"]), []).append(name)
    return [f"  checked by {kind}, {', '.join(names)}: {text}" for (kind, text), names in found.items()]


def _doubts(row: Mapping[str, Any]) -> list[str]:
    """Return where published numbers of a row disagree, and what would settle it."""
    lines = []
    if row["disagrees"]:
        lines += [f"  {row['disagrees']['said']}", f"  To settle it: {row['disagrees']['settle']}"]
    if row["second"]:
        lines.append("  a second published set, not drawn; it puts mount face and holes elsewhere, mm:")
        lines += [
            f"    made for {each['native']:g}: face {each['up']:+.2f}, holes {each['along']:+.2f} up the tube"
            for each in row["second"]["differs"]
        ]
        lines += _rows([_printed(name, entry) for name, entry in row["second"]["numbers"].items()])
    return lines


def _interface(row: Mapping[str, Any], table: Mapping[str, Any]) -> dict[str, Any]:
    numbers: dict[str, dict[str, Any] | None] = dict(_numbers(row, table))
    for name in _LOOKED_FOR[row["family"]]:
        numbers.setdefault(name, None)
    return {
        "name": row["name"],
        "title": row["title"],
        "family": row["family"],
        "ends": row["ends"],
        "native": list(interfaces.natives(row["name"])),
        "any_between": "path" in row,
        "provisional": row.get("provisional", False),
        "screw": row["screw"],
        "hole": {key: row["hole"].get(key) for key in ("kind", "length", "screw")},
        "numbers": numbers,
        "note": row["note"],
        "disagrees": table["disagreements"].get(row.get("disagrees")),
        "second": _second(row, table),
        "own": False,
        "replaces": False,
        "mounts": None,
    }


def _second(row: Mapping[str, Any], table: Mapping[str, Any]) -> dict[str, Any] | None:
    """Return a second published set: its own numbers, and where it puts the mount otherwise, mm, by size."""
    raw = next((each for each in table["second"] if each["row"] == row["name"]), None)
    if raw is None:
        return None
    places = {size: interfaces.second(row["name"], size) for size in adapters.disc().sizes}
    return {
        "numbers": dict(_numbers(raw, table)),
        "differs": [
            {"native": size, "up": round(each.up, 3), "along": round(each.along, 3)}
            for size, each in places.items()
            if each is not None
        ],
    }


def _own_interface(row: KeptRow) -> dict[str, Any]:
    """Return a row of the builder's own table in the same form; what it leaves out is a shipped row's."""
    form = interfaces.resolve(row.name, row.end, row.native, row.native, row.geometry)
    given = {key: getattr(row, key) for key in ("near", "far", "spacing", "h", "x_near", "x_far")}
    numbers: dict[str, dict[str, Any] | None] = {
        key: _own_number(row, key, value) for key, value in given.items() if value is not None
    }
    for key, each in ((f"lateral.{row.end}", form.lateral), ("hole", form.hole.diameter)):
        own = each.grade == "own"
        numbers[key] = _own_number(row, key.partition(".")[0], each.value) if own else _graded(each)
    return {
        "name": row.name,
        "title": form.title,
        "family": form.family,
        "ends": [row.end],
        "native": [row.native],
        "any_between": False,
        "provisional": False,
        "screw": form.screw,
        "hole": {"kind": form.hole.kind, "length": form.hole.length, "screw": form.hole.screw},
        "numbers": numbers,
        "note": " ".join(form.notes),
        "disagrees": None,
        "second": None,
        "own": True,
        "replaces": row.replaces,
        "mounts": form.mounts,
    }


def _measured_on(mounts: int) -> str:
    if mounts == 1:
        return "MEASURED ON ONE MOUNT: measure a second before you trust it, and save it under the same name"
    return f"measured on {mounts} mounts that agree"


def _own_number(row: KeptRow, key: str, value: float) -> dict[str, Any]:
    return {
        "value": value,
        "tolerance": {str(name): band for name, band in row.uncertainty.items()}.get(key, row.tolerance),
        "low": None,
        "high": None,
        "grade": row.grade,
        "source": "; ".join(each for each in (row.source, row.second_source) if each),
        "check": None,
    }


def _graded(number: Number) -> dict[str, Any]:
    return {
        "value": number.value,
        "tolerance": number.tolerance,
        "low": number.low,
        "high": number.high,
        "grade": number.grade,
        "source": number.source,
        "check": _check(number.check),
    }


def _check(check: Check | None) -> dict[str, str] | None:
    return None if check is None else {"kind": check.kind, "text": check.text}


def _numbers(
    row: Mapping[str, Any], table: Mapping[str, Any], path: str = ""
) -> Iterator[tuple[str, dict[str, Any]]]:
    """Yield every number of a row by its key path, whatever the row's form: new rows need no code."""
    for key, value in row.items():
        if not isinstance(value, Mapping):
            continue
        name = f"{path}.{key}" if path else key
        if "value" in value and "source" in value:
            yield (
                name,
                _graded(number(value, table["sources"], f"{row.get('name')} {name}", table["checks"])),
            )
        else:
            yield from _numbers(value, table, name)


def _axle(each: Axle) -> dict[str, Any]:
    return {
        "name": each.name,
        "title": each.title,
        "end": each.end,
        "kind": each.kind,
        **{key: _number(getattr(each, key)) for key in _AXLE_NUMBERS},
    }


def _number(number: Number | None) -> dict[str, Any] | None:
    if number is None:
        return None
    return _graded(number)


def _sizes(row: Mapping[str, Any]) -> str:
    sizes = [f"{size:g}" for size in row["native"]]
    return f"any size from {sizes[0]} to {sizes[-1]}" if row["any_between"] else " or ".join(sizes)


def _hole(hole: Mapping[str, Any]) -> str:
    kind = {"plain": "plain", "thread": "tapped", "slot": f"a slot {hole['length']} long"}[hole["kind"]]
    return f"{kind}, {hole['screw']}"


def _printed(name: str, entry: Mapping[str, Any] | None) -> tuple[str, str, str]:
    if entry is None:
        return name, _MISSING, ""
    value = f"{entry['value']:g}"
    if entry.get("tolerance") is not None:
        value += f" ±{entry['tolerance']:g}"
    if entry.get("low") is not None:
        value += f" ({entry['low']:g} to {entry['high']:g})"
    return name, value, f"grade {entry['grade']}, {entry['source']}"


def _rows(rows: list[tuple[str, str, str]]) -> list[str]:
    names = max(len(name) for name, _, _ in rows)
    values = max(len(value) for _, value, _ in rows)
    return [f"  {name:<{names}}  {value:<{values}}  {source}".rstrip() for name, value, source in rows]
