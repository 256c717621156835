"""Where loads press on a block's top plate, which on a tapered block is tilted, and below it."""

import numpy as np

from fea.bearing import Opening, Patch
from fea.mesh import Floats
from geometry.block import Block, Point
from geometry.plan import on_top_face, seen_from_above


def top_seat(
    block: Block, size_mm: tuple[float, float] | None, off_mm: Point = (0.0, 0.0)
) -> tuple[Patch | None, Floats]:
    """A seat on the top plate as a patch seen from above, and its middle (2,).

    Size and place are measured along the plate, ``off_mm`` from its middle. No size means the whole
    plate, and no patch.
    """
    x, y = block.top.centre_mm
    middle = on_top_face(block, (x + off_mm[0], y + off_mm[1]))
    patch = Patch(seen_from_above(block, size_mm), middle) if size_mm else None
    return patch, np.array(middle)


def pin_opening(block: Block, hole_mm: float) -> Opening | None:
    """The hole for the pin in what the block stands on.

    None where it is no wider than the pin: under the pin itself there is no face to bear on.
    """
    pin = block.pin
    return Opening(hole_mm, pin.centre_mm) if pin and hole_mm > pin.diameter_mm else None
