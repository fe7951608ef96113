"""The side view's arrows of what is measured as an angle about the axle: stays, tilt, slot and stance."""

from collections.abc import Mapping

from geometry.core.plane import angle_of
from geometry.mount.placement import Placement
from geometry.tables.stance import directions
from geometry.tubes.tube import Tube
from sheets.desk.arrows import Arrows, Handle
from sheets.desk.flat import INSET, Flat, arc, arrow, line, screen
from sheets.job.read import Job


def angles(
    view: Flat,
    job: Job,
    placement: Placement,
    tubes: Mapping[str, Tube],
    arrows: Arrows,
    handles: list[Handle],
) -> None:
    """Draw what is measured as an angle about the axle: stays, tilt, slot and stance."""
    axle = view.at((0.0, 0.0))
    disc = placement.rotor.radius * view.scale
    host = angle_of(placement.t) - placement.tilt
    seatstay = tubes.get("seatstay")
    if seatstay is not None:
        radius = disc * 0.5
        drawn = arc(axle, radius, 180.0, seatstay.direction) + line(
            (axle, screen(axle, radius + 8.0, seatstay.direction)), "helper"
        )
        middle = screen(axle, radius, (180.0 + seatstay.direction) / 2.0)
        arrows.add("tubes.seatstay.included", middle, 150.0, drawn)
    radius = disc + 16.0
    turn = placement.tilt if abs(placement.tilt) > 0.2 else 0.0
    tip = screen(axle, radius, host + placement.tilt)
    rays = line((axle, screen(axle, radius + 10.0, host)), "helper")
    rays += line((axle, tip), "helper") if turn else ""
    handles.append(Handle("mount.tilt", tip, placement.tilt, pivot=axle))
    drawn = arc(axle, radius, host, host + placement.tilt) if turn else ""
    arrows.add("mount.tilt", tip, host + placement.tilt - 40.0, rays, drawn)
    _slot(view, job, placement, arrows)
    _stance(view, job, placement, arrows)


def _slot(view: Flat, job: Job, placement: Placement, arrows: Arrows) -> None:
    axle = view.at((0.0, 0.0))
    radius = 0.42 * placement.rotor.radius * view.scale
    dropout = job.dropout
    down = -90.0
    if dropout.slot is None:
        drawn = arc(axle, radius, down, down - 28.0) + line((axle, screen(axle, radius, down)), "helper")
        arrows.add("dropout.slot", screen(axle, radius, down - 20.0), 240.0, drawn)
        return
    turns = job.stance.of(placement.end).turns
    meant = directions(dropout.slot, dropout.slot_from, turns)
    way = -90.0 - sum(meant) / len(meant)
    line_way = way + dropout.slot
    rays = line((axle, screen(axle, radius + 6.0, line_way)), "helper")
    out = arrow(axle, screen(axle, radius + 14.0, way), both=False)
    turned = arc(axle, radius, line_way, way) if abs(dropout.slot) > 2.0 else ""
    arrows.add("dropout.slot", screen(axle, radius, way), way, rays, out, turned)


def _stance(view: Flat, job: Job, placement: Placement, arrows: Arrows) -> None:
    axle = view.at((0.0, 0.0))
    stance = job.stance.of(placement.end)
    radius = 0.86 * placement.rotor.radius * view.scale
    if placement.end == "rear":
        angle = stance.angle if stance.angle is not None else 9.0
        level = 180.0 - angle
        drawn = line((axle, screen(axle, radius + 14.0, level)), "helper")
        drawn += arc(axle, radius, level, 180.0)
        arrows.add("stance.chainstay", screen(axle, radius, 180.0 - angle / 2.0), 200.0, drawn)
        return
    angle = stance.angle if stance.angle is not None else 72.0
    ground = 90.0 - angle
    drawn = line((axle, screen(axle, radius + 14.0, ground)), "helper") + arc(axle, radius, ground, 90.0)
    arrows.add("stance.leg", screen(axle, radius, ground + 0.3 * angle), 45.0, drawn)
    # The steerer lies beyond the screen: what is measured of it is hinted at on the leg's far side.
    top, left = view.seen(INSET)[1][1], -0.62 * placement.rotor.radius
    ends = view.at((left, 0.0)), view.at((left, top))
    arrows.add("stance.axle_to_crown", view.at((left, 0.62 * top)), 180.0,
               arrow(ends[0], ends[1], both=False), line((axle, ends[0]), "helper"))  # fmt: skip
    for key, at in (("stance.head", 0.84), ("stance.rake", 0.4)):
        spot = view.at((left, at * top))
        arrows.add(key, spot, 180.0, line((spot, (spot[0] - 10.0, spot[1])), "shaft"))
