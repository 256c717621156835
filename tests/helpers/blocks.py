"""The blocks that many tests share."""

from fea.steel import Steel
from geometry.block import Block, Hole, Pin, Plate, Tube, Welds
from geometry.patterns import PATTERNS, RibChoice, gusseted

S355 = Steel("S355", 355.0, 490.0)


def bare_block(leg_mm: float = 5.0) -> Block:
    """A plain block: 150 × 110 × 8 plates on a 120 × 80 × 6 tube 44 mm high."""
    return Block(
        tube=Tube(120.0, 80.0, 6.0, 12.0, 44.0, S355),
        bottom=Plate(150.0, 110.0, 8.0, S355),
        top=Plate(150.0, 110.0, 8.0, S355),
        ribs=(),
        rib_steel=S355,
        welds=Welds(leg_mm, leg_mm, leg_mm, leg_mm),
        pin=Pin(16.0, 12.0, S355),
        hole=Hole(18.0),
    )


def patterned(name: str, leg_mm: float = 5.0) -> Block:
    """The plain block with the ribs of a pattern, 6 mm thick."""
    return gusseted(bare_block(leg_mm), PATTERNS[name], RibChoice(6.0))
