"""How long a U-bolt must be, and what rod it takes.

The U-bolt hugs the axle on one side of the stack and its nuts sit on the plate on the other, so
that each leg, measured inside the bend, passes everything between.
"""

import math
from dataclasses import dataclass

from studies.shop.model import Axle, Ubolt


@dataclass(frozen=True)
class UboltSize:
    """One U-bolt.

    ``stack_mm`` names what a leg passes, in order, with each height. ``leg_mm`` is from the inside
    of the bend to the end of the thread; ``width_mm`` between the legs; ``rod_length_mm`` the
    straight rod to bend it from, along its middle line. Over a tapered block legs are as long as
    the one by its thick end must be; ``uneven_mm`` is how much less the other one passes.
    """

    stack_mm: tuple[tuple[str, float], ...]
    leg_mm: float
    width_mm: float
    rod_length_mm: float
    uneven_mm: float = 0.0


def ubolt_size(axle: Axle, ubolt: Ubolt, block_height_mm: float, slope: float = 0.0) -> UboltSize:
    """The U-bolt for a block of this height; the pin sits in the seat's hole and adds nothing.

    leg = axle + seat + block + spring + plates + washer + nut + thread past the nut.

    Worked by hand: a round axle of 60 mm, a spring seat of 8 mm, a block of 60 mm, a spring pack of
    45 mm, one plate of 10 mm, washers of 2.5 mm, nuts of 10.8 mm (M12, ISO 4032, greatest height)
    and 10 mm of thread past them: 60 + 8 + 60 + 45 + 10 + 2.5 + 10.8 + 10 = 206.3 mm. Bent from a
    12 mm rod: two straights of 206.3 − 30 = 176.3 mm and half a circle of diameter 60 + 12 = 72 mm,
    113.1 mm: 465.7 mm in all.

    The rod's length takes the middle line as neither stretched nor squeezed (common practice for a
    bend as wide as this, no source); square bends turn a quarter circle at each corner.

    ``slope`` is a tapered block's rise along the spring. Legs ahead of the axle and behind it stand
    half a width and half a rod from the hole, where the block is that much higher and lower.
    """
    width_mm = axle.width_mm if ubolt.round_bend else max(axle.width_mm, axle.spring_width_mm)
    rise_mm = abs(slope) * (width_mm + ubolt.rod_mm) / 2.0
    block = ("block, at the thick end's leg" if slope else "block", block_height_mm + rise_mm)
    stack = [("axle tube" if axle.round else "axle beam", axle.height_mm)]
    if axle.spring_seat_mm:
        stack.append(("spring seat", axle.spring_seat_mm))
    stack += [block, ("spring pack", axle.spring_height_mm)]
    stack += [("plate", plate) for plate in ubolt.plates_mm]
    if ubolt.washer_mm:
        stack.append(("washer", ubolt.washer_mm))
    stack += [("nut", ubolt.nut_mm), ("thread past the nut", ubolt.thread_past_nut_mm)]
    leg_mm = sum(height for _, height in stack)
    if ubolt.round_bend:
        bend_mm = math.pi * (width_mm + ubolt.rod_mm) / 2.0
        rod_mm = 2.0 * (leg_mm - width_mm / 2.0) + bend_mm
    else:
        radius_mm = ubolt.bend_radius_mm
        bends_mm = math.pi * (radius_mm + ubolt.rod_mm / 2.0)
        rod_mm = 2.0 * (leg_mm - radius_mm) + width_mm - 2.0 * radius_mm + bends_mm
    return UboltSize(tuple(stack), leg_mm, width_mm, rod_mm, 2.0 * rise_mm)
