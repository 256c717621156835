"""Refuse a block that cannot be built, before anything is meshed.

Each check yields a ``BlockError`` with the study-file key to change, the size at fault and a remedy
with a number. ``check_block`` raises the first.
"""

from collections.abc import Iterator

from shapely import LineString, Polygon, get_coordinates
from shapely import Point as PlanPoint

from fea.errors import BlockError
from geometry.block import Block, Plate, PlateSide, Rib
from geometry.plan import (
    along,
    on_plate,
    plate_outline,
    plate_plan,
    rib_footprint,
    rib_run_in_mm,
    rib_strip,
    tube_bore,
    tube_outside,
)
from geometry.taper import SMALLEST_MM, steepness_problems, taper_problems
from geometry.taper import told_mm as _mm
from geometry.welds import wall_height_mm

LARGEST_MM = 2000.0
SMALLEST_LEG_MM = 1.5
"""No torch lays a smaller fillet by hand (common practice, no source)."""

_TOUCH_MM = 1e-6
_ROUND_SHARE = 0.42
"""A sharp corner lies √2 − 1 of the radius off the round one."""

_SHARED_SHARE = 0.2
"""Two outer ribs may meet at a corner, the later fitted to the earlier, by this share at most."""


def check_block(block: Block) -> None:
    """Raise BlockError for the first thing about ``block`` that cannot be built."""
    # A taper is judged from hole or pin and with the welds' legs, so these must be right before.
    for problems in (
        _sizes,
        _tube,
        steepness_problems,
        _plates,
        _pin_and_hole,
        _legs,
        taper_problems,
        _ribs,
        _welds,
    ):
        for error in problems(block):
            raise error


def _sizes(block: Block) -> Iterator[BlockError]:
    tube = block.tube
    named = [
        ("tube.size", tube.length_mm),
        ("tube.size", tube.width_mm),
        ("tube.wall", tube.wall_mm),
        ("tube.height", tube.height_mm),
    ]
    for key, plate in (("bottom_plate", block.bottom), ("top_plate", block.top)):
        named += [
            (f"{key}.size", plate.length_mm),
            (f"{key}.size", plate.width_mm),
            (f"{key}.thickness", plate.thickness_mm),
        ]
    if block.pin:
        named += [("pin.diameter", block.pin.diameter_mm), ("pin.length", block.pin.length_mm)]
    if block.hole:
        named.append(("hole.diameter", block.hole.diameter_mm))
    for rib in block.ribs:
        named.append(("layouts.rib_thickness", rib.thickness_mm))
    for key, value in named:
        if not value >= SMALLEST_MM:
            yield BlockError(key, f"{_mm(value)} is too small", f"use at least {_mm(SMALLEST_MM)}")
        if not value <= LARGEST_MM:
            yield BlockError(key, f"{_mm(value)} is too large", f"use at most {_mm(LARGEST_MM)}")


def _tube(block: Block) -> Iterator[BlockError]:
    tube = block.tube
    least = min(tube.length_mm, tube.width_mm)
    if tube.wall_mm >= 0.45 * least:
        yield BlockError(
            "tube.wall",
            f"a wall of {_mm(tube.wall_mm)} leaves no bore in a tube {_mm(least)} wide",
            f"use less than {_mm(0.45 * least)}, or describe a solid bar's steel as plates",
        )
    if not 0.0 <= tube.corner_radius_mm <= 0.45 * least:
        yield BlockError(
            "tube.corner_radius",
            f"{_mm(tube.corner_radius_mm)} does not fit a tube {_mm(least)} wide",
            f"use 0 mm to {_mm(0.45 * least)}",
        )
    if tube.wall_mm < tube.corner_radius_mm < tube.wall_mm * 1.05:
        yield BlockError(
            "tube.corner_radius",
            f"{_mm(tube.corner_radius_mm)} leaves a bore corner too sharp to mesh",
            f"use {_mm(tube.wall_mm)} or at least {_mm(1.05 * tube.wall_mm)}",
        )
    slender = tube.height_mm / least
    if slender > 10.0:
        yield BlockError(
            "tube.height",
            f"{_mm(tube.height_mm)} is {slender:.0f} times the tube's width: a column, not a block",
            f"use at most {_mm(10 * least)}",
        )


def _plates(block: Block) -> Iterator[BlockError]:
    tube = block.tube
    for side, key, plate in _both_plates(block):
        outside = on_plate(block, side, tube_outside(tube))
        outline = plate_outline(plate)
        if not outline.buffer(_TOUCH_MM).covers(outside):
            x, y = (abs(c) for c in plate.centre_mm)
            x0, _, x1, _ = outside.bounds
            yield BlockError(
                f"{key}.size",
                f"a plate of {_mm(plate.length_mm)} × {_mm(plate.width_mm)} does not cover the "
                f"tube's end ({_mm(x1 - x0)} × {_mm(tube.width_mm)})",
                f"use at least {_mm(x1 - x0 + 2 * x)} × {_mm(tube.width_mm + 2 * y)}",
            )
        least = min(plate.length_mm, plate.width_mm)
        if plate.thickness_mm > least:
            yield BlockError(
                f"{key}.thickness",
                f"{_mm(plate.thickness_mm)} is more than the plate is wide",
                f"use at most {_mm(least)}",
            )


def _both_plates(block: Block) -> tuple[tuple[PlateSide, str, Plate], ...]:
    return ("bottom", "bottom_plate", block.bottom), ("top", "top_plate", block.top)


def _pin_and_hole(block: Block) -> Iterator[BlockError]:
    if block.pin:
        pin = block.pin
        disc = PlanPoint(pin.centre_mm).buffer(pin.diameter_mm / 2 + SMALLEST_MM)
        if not plate_outline(block.bottom).covers(disc):
            least = min(block.bottom.length_mm, block.bottom.width_mm)
            yield BlockError(
                "pin.diameter",
                f"a pin of {_mm(pin.diameter_mm)} does not stand on the bottom plate",
                f"use less than {_mm(least - 1)}, and put its centre on the plate",
            )
    if block.hole:
        hole = block.hole
        disc = PlanPoint(hole.centre_mm).buffer(hole.diameter_mm / 2)
        room = tube_bore(block.tube).buffer(-SMALLEST_MM)
        if not room.covers(disc):
            tube = block.tube
            bore = min(tube.length_mm, tube.width_mm) - 2 * tube.wall_mm
            yield BlockError(
                "hole.diameter",
                f"a hole of {_mm(hole.diameter_mm)} cuts the tube's wall",
                f"keep it {_mm(SMALLEST_MM)} or more inside the tube's bore, {_mm(bore)} wide",
            )


def _ribs(block: Block) -> Iterator[BlockError]:
    if len({rib.name for rib in block.ribs}) != len(block.ribs):
        yield BlockError("layouts.ribs.name", "two ribs share a name", "give each its own")
    outside, bore = tube_outside(block.tube), tube_bore(block.tube)
    for rib in block.ribs:
        least = max(SMALLEST_MM, rib.thickness_mm / 2, _bury_mm(block, rib))
        if not rib.length_mm >= least:
            yield BlockError(
                "layouts.rib_length",
                f"{rib.name} would be {_mm(rib.length_mm)} long",
                f"leave at least {_mm(least)} for it: a wider plate, a thinner rib or a smaller "
                "weld",
            )
            continue
        if rib.inside:
            if not bore.buffer(1e-3).covers(rib_strip(rib)):
                yield BlockError(
                    "layouts.rib_thickness",
                    f"{rib.name} does not fit inside the tube",
                    f"use less than {_mm(rib.thickness_mm)}",
                )
            continue
        yield from _outer_rib(block, rib, outside)
    yield from _ribs_apart(block)


def _bury_mm(block: Block, rib: Rib) -> float:
    """How long a rib is that the fillets round the tube would bury."""
    welds = block.welds
    return 0.0 if rib.inside else max(welds.tube_bottom_mm, welds.tube_top_mm, welds.rib_tube_mm)


def _outer_rib(block: Block, rib: Rib, outside: Polygon) -> Iterator[BlockError]:
    start = PlanPoint(rib.start_mm)
    astray = max(1.0, rib.thickness_mm / 2)
    if not outside.contains(start):
        # The corner of a drawing without its round is a fair place to start from.
        astray = max(astray, _ROUND_SHARE * block.tube.corner_radius_mm)
    if outside.exterior.distance(start) > astray:
        where = "inside the tube" if outside.contains(start) else "in the air"
        yield BlockError(
            "layouts.ribs.start",
            f"{rib.name} misses the tube: it starts {where}, "
            f"{_mm(outside.exterior.distance(start))} from the wall",
            "start it on the tube's outside",
        )
        return
    footprint = rib_footprint(block, rib)
    whole = rib_strip(rib)
    # Of the bar as given, not of what is added behind its start to reach the tube.
    outwards = whole.difference(outside).area
    if footprint.geom_type != "Polygon" or outwards < 0.5 * whole.area:
        yield BlockError(
            "layouts.ribs.direction",
            f"{rib.name} does not run away from the tube",
            "turn it so that it points outwards",
        )
        return
    if any(side.distance(outside) > _TOUCH_MM for side in _side_lines(block, rib)):
        yield BlockError(
            "layouts.ribs.start",
            f"{rib.name} meets the tube with only part of its end",
            "move it off the tube's edge, turn it squarer to the wall, or use a rib thinner than "
            f"{_mm(rib.thickness_mm)}",
        )
        return
    margin = block.welds.rib_plate_mm
    covered = rib_footprint(block, rib, margin)
    for side, _, _ in _both_plates(block):
        if rib.shape == "triangle" and rib.side != side:
            continue
        plate = plate_plan(block, side)
        beyond = covered.difference(plate.buffer(_TOUCH_MM))
        if not beyond.is_empty:
            corners = get_coordinates(covered)
            over = max(plate.distance(PlanPoint(*corner)) for corner in corners)
            yield BlockError(
                "layouts.rib_length",
                f"{rib.name}, {_mm(rib.length_mm)} long with its welds, runs {_mm(over)} past the "
                f"{side} plate's edge",
                f"use at most {_mm(max(rib.length_mm - over, 0.0))}, or move it from the edge",
            )


def _side_lines(block: Block, rib: Rib) -> list[LineString]:
    """Both sides of a rib's bar from above, reaching back as far as its solid is made to."""
    back, half = -rib_run_in_mm(block.tube, rib), rib.thickness_mm / 2
    return [
        LineString([along(rib, back, aside), along(rib, rib.length_mm, aside)])
        for aside in (-half, half)
    ]


def _ribs_apart(block: Block) -> Iterator[BlockError]:
    outer = [(rib, rib_footprint(block, rib)) for rib in block.ribs]
    for index, (rib, plan) in enumerate(outer):
        for other, taken in outer[:index]:
            shared = plan.intersection(taken).area
            if shared > _SHARED_SHARE * min(plan.area, taken.area) or (
                rib.inside and shared > 1e-3
            ):
                apart = (rib.thickness_mm + other.thickness_mm) / 2
                yield BlockError(
                    "layouts.ribs.start",
                    f"{rib.name} and {other.name} stand in one place",
                    f"move one of them by at least {_mm(apart)}",
                )


def _legs(block: Block) -> Iterator[BlockError]:
    welds, tube = block.welds, block.tube
    outer = [rib for rib in block.ribs if not rib.inside]
    thin_rib = min((rib.thickness_mm for rib in outer), default=float("inf"))
    plates = {"bottom": block.bottom, "top": block.top}
    thin_plate = min(plate.thickness_mm for plate in plates.values())
    legs = [
        ("welds.tube_bottom", welds.tube_bottom_mm, min(tube.wall_mm, block.bottom.thickness_mm)),
        ("welds.tube_top", welds.tube_top_mm, min(tube.wall_mm, block.top.thickness_mm)),
    ]
    if outer:
        legs.append(("welds.rib_plate", welds.rib_plate_mm, min(thin_rib, thin_plate)))
        legs.append(("welds.rib_tube", welds.rib_tube_mm, min(thin_rib, tube.wall_mm)))
    for key, leg, thinner in legs:
        most = 1.25 * thinner
        if leg and not SMALLEST_LEG_MM <= leg <= most:
            span = f"use {_mm(SMALLEST_LEG_MM)} to {_mm(most)}, or " * (most > SMALLEST_LEG_MM)
            yield BlockError(
                key,
                f"a leg of {_mm(leg)} does not suit a part {_mm(thinner)} thick",
                f"{span}fuse the joint",
            )


def _welds(block: Block) -> Iterator[BlockError]:
    welds, tube = block.welds, block.tube
    outside = tube_outside(tube)
    for side, _, _ in _both_plates(block):
        key = f"welds.tube_{side}"
        leg = welds.tube_bottom_mm if side == "bottom" else welds.tube_top_mm
        set_back = plate_plan(block, side).exterior.distance(outside)
        if leg > set_back + _TOUCH_MM:
            yield BlockError(
                key,
                f"a leg of {_mm(leg)} is wider than the set-back of {_mm(set_back)} "
                "(plate edge to tube)",
                f"use at most {_mm(set_back)}, a wider plate, or fuse the joint",
            )
    if welds.tube_bottom_mm + welds.tube_top_mm > 0.9 * tube.height_mm:
        yield BlockError(
            "tube.height",
            f"{_mm(tube.height_mm)} has no room for both fillets",
            f"use at least {_mm((welds.tube_bottom_mm + welds.tube_top_mm) / 0.9)}",
        )
    for rib in block.ribs:
        if rib.inside:
            continue
        at_tube_mm = wall_height_mm(block, rib.start_mm[0])
        if rib.shape == "triangle" and at_tube_mm < 3 * rib.thickness_mm + welds.tube_top_mm:
            yield BlockError(
                "tube.height",
                f"{_mm(at_tube_mm)} is too low for a {_mm(rib.thickness_mm)} triangle rib",
                'use shape = "full"',
            )
