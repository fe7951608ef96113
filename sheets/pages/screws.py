"""A mount's screws with their washers, as large as their standards say, where they stand."""

from geometry.mount.placement import Placement
from geometry.tables.fasteners import screw
from sheets.ink.records import Point
from sheets.job.read import Job
from sheets.pages import title as words

_LUG = 6.0
"""How far off its face a screw's washer is drawn where a caliper's lug comes between, mm: own choice."""


def screw_shapes(job: Job, placement: Placement, hole: str) -> list[list[Point]]:
    """Return a screw's head and its washer, closed, in mm up the tube and square to it, as they go in.

    A rear flat mount's head bears on the boss's foot; others clamp a lug whose thickness is the caliper's, so
    that they stand a plain distance off the face.
    """
    face = placement.interface
    one = screw(face.hole.screw)
    x = face.x_near if hole == "near" else face.x_far
    if face.family == "flat" and face.end == "rear":
        way, base = -1.0, face.h - words.boss_length(job, placement, hole)
    else:
        way, base = 1.0, face.h + _LUG
    shapes, at = [], base
    for wide, high in (
        (one.washer.outside.value, one.washer.thickness.value),
        (one.head.value, one.head_height.value),
    ):
        half, top = wide / 2.0, at + way * high
        shapes.append([(x - half, at), (x + half, at), (x + half, top), (x - half, top), (x - half, at)])
        at = top
    return shapes
