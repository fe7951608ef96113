"""Mounts and axles with the source of every number, and the rows of the builder's own table."""

from collections.abc import Mapping, Sequence
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from geometry.core.say import named
from sheets.actions import mounts
from sheets.desk.shown import page
from sheets.home import own_rows
from sheets.words.tell import either, line, tell, told

_AXLE = ("width", "pocket", "rotor")


async def tables(request: Request) -> Response:
    """Show the shipped tables."""
    return page(request, "mounts.html", **await run_in_threadpool(_tables))


async def rows(request: Request) -> Response:
    """Show the rows of the builder's own table, and what is wrong with it."""
    return page(request, "rows.html", **await run_in_threadpool(_rows))


ROUTES = [Route("/mounts", tables), Route("/rows", rows)]


def _tables() -> dict[str, Any]:
    found = mounts.document()
    settle: dict[str, list[str]] = {}
    for each in found["open"]:
        settle.setdefault(each["settle"], []).append(f"{each['row']} {each['key']}")
    return {
        "rows": [_row(each) for each in found["interfaces"]],
        "adapters": [
            {
                "what": mounts.bolts_to(each),
                "steps": " ".join(f"{step:+g}" for step in each["steps"]),
                "said": tell("mounts.adapter", name=each["name"], grade=each["grade"], source=each["source"]),
            }
            for each in found["adapters"]
        ],
        "axles": [
            {
                "name": each["name"],
                "title": ", ".join(
                    map(told, (each["title"], named(each["end"]), named(each["kind"].replace(" ", "-"))))
                ),
                "numbers": [mounts.printed(tell(f"mounts.axle.{key}"), each[key]) for key in _AXLE],
                "checks": mounts.check_words({tell(f"mounts.axle.{key}"): each[key] for key in _AXLE}),
            }
            for each in found["axles"]
        ],
        "settle": [(", ".join(names), how) for how, names in settle.items()],
    }


def _rows() -> dict[str, Any]:
    own = own_rows.read()
    kept = mounts.document(own.rows)["interfaces"] if own.rows else []
    return {
        "rows": [_row(each) for each in kept if each["own"]],
        "wrong": [line(each) for each in own.problems],
        "file": str(own_rows.file()),
    }


def _row(row: Mapping[str, Any]) -> dict[str, Any]:
    ends = either(named(end) for end in row["ends"])
    made = tell("mounts.made_for", sizes=mounts.size_words(row), hole=mounts.hole_words(row["hole"]))
    said: Sequence[str] = (*mounts.stamps(row), row["note"], *mounts.doubts(row))
    return {
        "head": tell("mounts.row", name=row["name"], title=row["title"], family=row["family"], ends=ends),
        "made": made,
        "numbers": [mounts.printed(name, entry) for name, entry in row["numbers"].items()],
        "said": [each.strip() for each in (*said, *mounts.check_words(row["numbers"])) if each.strip()],
    }
