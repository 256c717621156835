"""Whether a block stands on its seat: loads off the middle, told by statics, and the pin's hole."""

import math

import shapely
from shapely import box

from geometry.block import Block, Point
from studies.reader import Reader

EDGE_SHARE = 0.95
"""How near the edge of what it bears on a load may act, as a share of the way from the middle."""

SLACK = 1.001
"""Limits are told in four figures: a limit typed back must be taken."""


def lands_mm(block: Block, at_mm: Point, load_n: float, shear_n: Point = (0.0, 0.0)) -> Point:
    """Where a load at ``at_mm`` on top, with shear along it, meets the underside.

    Shear at the top is answered below, so it moves the load on by height × shear / load.
    """
    height_mm = block.top_at_mm(at_mm[0])
    x, y = (at + height_mm * s / load_n for at, s in zip(at_mm, shear_n, strict=True))
    return (x, y)


def check_stands(
    reader: Reader,
    key: str,
    block: Block,
    at_mm: Point,
    load_n: float,
    shear_n: Point = (0.0, 0.0),
) -> None:
    """Refuse a load that would tip the block off its bottom plate; raises InputError."""
    plate = block.bottom
    for side, middle, where, words in zip(
        (plate.length_mm, plate.width_mm),
        plate.centre_mm,
        lands_mm(block, at_mm, load_n, shear_n),
        ("lengthwise", "crosswise"),
        strict=True,
    ):
        room_mm, off_mm = EDGE_SHARE * side / 2, abs(where - middle)
        if off_mm > SLACK * room_mm:
            reader.refuse(
                key,
                f"brings the load down {off_mm:.4g} mm {words} from the bottom plate's middle, "
                "so the block would tip",
                f"stay within {room_mm:.4g} mm there: a smaller offset or shear, "
                "or a larger bottom plate",
            )


def check_touches(
    reader: Reader, key: str, block: Block, centre_mm: Point, size_mm: tuple[float, float]
) -> None:
    """Refuse a pad that lies wholly over the hole; raises InputError."""
    hole = block.hole
    if hole is None:
        return
    corner_mm = [
        abs(at - middle) + side / 2
        for at, middle, side in zip(centre_mm, hole.centre_mm, size_mm, strict=True)
    ]
    if math.hypot(*corner_mm) <= hole.diameter_mm / 2:
        reader.refuse(
            key,
            "lies wholly over the hole and touches no steel",
            f"use more than {hole.diameter_mm:.4g} mm, or move it",
        )


def pressed_middle_mm(block: Block, centre_mm: Point, size_mm: tuple[float, float]) -> Point:
    """The middle of what a pad touches, which the hole moves away from itself.

    Places are measured along the top plate; the pad must touch some of it.
    """
    (x, y), (length_mm, width_mm) = centre_mm, size_mm
    pad = box(x - length_mm / 2, y - width_mm / 2, x + length_mm / 2, y + width_mm / 2)
    hole = block.hole
    if hole:
        pad = pad.difference(shapely.Point(hole.centre_mm).buffer(hole.diameter_mm / 2))
    return pad.centroid.x, pad.centroid.y


def pin_hole_mm(reader: Reader, block: Block, hole_mm: float | None) -> float:
    """How wide the hole for the pin in the seat below is, 0 where the file gives none.

    Refuses one that does not take the pin or leaves nothing to stand on; raises InputError.
    """
    pin, plate = block.pin, block.bottom
    if pin is None or hole_mm is None:
        return 0.0
    if hole_mm * SLACK < pin.diameter_mm:
        reader.refuse(
            "pin.seat_hole",
            f"a hole of {hole_mm:.4g} mm does not take a pin of {pin.diameter_mm:.4g} mm",
            f"use at least {pin.diameter_mm:.4g} mm, or leave it out",
        )
    room_mm = (
        2
        * EDGE_SHARE
        * min(
            side / 2 - abs(at - middle)
            for side, at, middle in zip(
                (plate.length_mm, plate.width_mm), pin.centre_mm, plate.centre_mm, strict=True
            )
        )
    )
    if hole_mm > SLACK * room_mm:
        reader.refuse(
            "pin.seat_hole",
            f"a hole of {hole_mm:.4g} mm leaves no seat round it under the bottom plate",
            f"use at most {room_mm:.4g} mm there, or leave it out",
        )
    return hole_mm
