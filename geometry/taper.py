"""Refuse a taper that leaves no room at the block's low end."""

from collections.abc import Iterator

from shapely import get_coordinates

from fea.errors import BlockError
from geometry.block import Block, Rib
from geometry.plan import plate_plan, rib_strip
from geometry.welds import triangle_gap_mm

SMALLEST_MM = 0.5
STEEPEST_DEG = 10.0
"""Past this a greased plate slides off its wedge rather than press (friction of 0.15 to 0.2 between
steels, any handbook of mechanics): past the trade's 2 to 6 degrees by far."""


def told_mm(value: float) -> str:
    """A size in a refusal."""
    return f"{value:.4g} mm" if abs(value) < 1e4 else f"{value:.0f} mm"


def steepness_problems(block: Block) -> Iterator[BlockError]:
    """A taper that is too steep whatever the block."""
    if not abs(block.taper_deg) <= STEEPEST_DEG:
        yield BlockError(
            "top_plate.taper",
            f"{block.taper_deg:.4g} deg is too steep for a block that is pressed on",
            f"use {-STEEPEST_DEG:.0f} deg to {STEEPEST_DEG:.0f} deg",
        )


def taper_problems(block: Block) -> Iterator[BlockError]:
    """A tapered block that is too low at its low end, its steepness being right."""
    if not block.taper_deg:
        return
    welds, foot = block.welds, block.tube_foot_mm
    low_end = "rear" if block.taper_deg > 0.0 else "front"
    short_mm = min(block.tube_sides_mm)
    room_mm = max((welds.tube_bottom_mm + welds.tube_top_mm) / 0.9, SMALLEST_MM)
    if short_mm < room_mm:
        yield _too_low(block, f"the tube's {low_end} side", short_mm, room_mm)
    x0, _, x1, _ = plate_plan(block, "top").bounds
    edge_mm = min(block.head_at_mm(x) - foot for x in (x0, x1))
    if edge_mm < SMALLEST_MM:
        yield _too_low(block, f"the top plate's {low_end} edge", edge_mm, SMALLEST_MM)
    for rib in block.ribs:
        yield from _rib_under_slope(block, rib)


def _rib_under_slope(block: Block, rib: Rib) -> Iterator[BlockError]:
    ends = [block.head_at_mm(x) - block.tube_foot_mm for x, _ in get_coordinates(rib_strip(rib))]
    least = 2.0 * block.welds.rib_plate_mm / 0.9 if rib.shape == "full" else 0.0
    if rib.inside:
        least = 0.0
    if rib.shape == "triangle":
        # Its nose, and below or above it what keeps it off the other plate.
        least = rib.thickness_mm + triangle_gap_mm(block, rib)
    if min(ends) < max(least, SMALLEST_MM):
        yield _too_low(block, f"{rib.name}, where it is lowest,", min(ends), least)


def _too_low(block: Block, what: str, height_mm: float, least_mm: float) -> BlockError:
    more = block.tube.height_mm + max(least_mm, SMALLEST_MM) - height_mm
    return BlockError(
        "top_plate.taper",
        f"with {abs(block.taper_deg):.4g} deg {what} is {told_mm(height_mm)} high, too low for its "
        "welds",
        f"use a smaller angle, or a tube height of at least {told_mm(more)}",
    )
