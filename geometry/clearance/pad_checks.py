"""Whether pads come to lie on the disc and posts beside it, for every row: checks between rows. Lengths mm.

A caliper of a family sits alike on all of its mounts, and its pads belong on the disc's track whatever the
disc's size. Only a post caliper's pads lie where no number of a row was derived from them: between its
screws, on the post plane. Where other calipers' pads lie was derived from these very rows, and a row with
holes of its own takes a caliper that nobody knows, so that their checks show rows that are alike, and never
rows that are right.
"""

import math
from collections.abc import Iterator
from dataclasses import replace

from geometry.clearance.bodies import is_known, room_of
from geometry.tables.adapters import disc
from geometry.tables.axles import axle
from geometry.tables.interface_rows import Row
from geometry.tables.interfaces import place
from geometry.tables.row_checks import HUBS, RowCheck, Rows, expectations, made


def pad_checks(rows: Rows) -> tuple[RowCheck, ...]:
    """Return how far in from the disc's edge each row puts the pads' middle, at every native size."""
    return tuple(each for row in rows.values() for each in (*_of_row(row), *_beside(row)))


def _beside(row: Row) -> Iterator[RowCheck]:
    """Yield how far a row's posts or bosses stay beside the disc's outer face, at each end."""
    wide = row.boss.get("diameter")
    for end, lateral in row.lateral.items() if wide is not None else ():
        hub = axle(HUBS[end])
        if hub.rotor is not None and wide is not None:
            outer = disc().thickness.value - hub.rotor.value
            room = lateral.number.value - wide.value / 2.0 - outer
            yield made(f"beside-{end}", (row.name,), room, expectations()["boss.disc"])


def _of_row(row: Row) -> Iterator[RowCheck]:
    sizes = row.sizes
    if row.path is not None:
        sizes = tuple(size for size in disc().sizes if row.path.from_ <= size <= row.path.to)
    end = row.ends[0]
    room = room_of(row.name, row.family, end)
    derived = row.family != "post" or not is_known(room, row.name, row.family, end, row.apart)
    for size in sizes:
        h, near, far = place(row, size)
        turned = (room.turned or {}).get(f"{size:g}")
        x = (near + far) / 2.0 + room.along.value + (0.0 if turned is None else turned.value)
        inside = size / 2.0 - math.hypot(x, h + room.up.value + room.pad.value)
        check = made("pads", (row.name,), inside, expectations()["pads.edge"], at=size)
        yield replace(check, settles=not derived)
