"""How all renders of a run look: paint, ground and size."""

from dataclasses import dataclass

from geometry.block import Block
from geometry.tessellation import Shell, tessellated
from studies.figures.ground import Ground
from studies.figures.paint import Rgb

VIEWPOINT = (1.0, -1.25, 0.62)
"""Direction from the block to the eye: from the front, the right and above."""

_PLAIN_SHARE, _WELD_SHARE, _ROUGH_WELD_SHARE = 0.035, 0.18, 0.25
"""Triangles as shares of the block's size, and on welds of the smallest leg."""


@dataclass(frozen=True)
class Look:
    """Paint, ground, and how many pixels wide every picture is."""

    colour: Rgb
    paint_name: str
    ground: Ground
    pixels: int


def size_mm(block: Block) -> float:
    """The larger side of the block's larger plate."""
    return max(
        block.top.length_mm, block.top.width_mm, block.bottom.length_mm, block.bottom.width_mm
    )


def surface(block: Block, rough: bool = False) -> tuple[Shell, ...]:
    """The block's parts, fine enough for a large picture, or ``rough`` for a small one."""
    welds = block.welds
    legs = (welds.tube_bottom_mm, welds.tube_top_mm, welds.rib_plate_mm, welds.rib_tube_mm)
    smallest = min((leg for leg in legs if leg), default=None)
    share = _ROUGH_WELD_SHARE if rough else _WELD_SHARE
    largest = _PLAIN_SHARE * size_mm(block) * (4.0 if rough else 1.0)
    return tessellated(block, largest, share * smallest if smallest else None)
