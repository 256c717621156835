"""Where loads press on a block's top plate, which on a tapered block is tilted."""

import numpy as np

from fea.bearing import Patch
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
