"""How much stronger steel from the mill usually is than the standard's minimum."""

from dataclasses import dataclass

from fea.steel import Steel
from geometry.block import Block

_EN = "EN 1998-1:2004, 6.2(3): recommended overstrength γov = 1.25; from memory"
_AISC = "ANSI/AISC 341-16, table A3.1: expected over minimum yield Ry; from memory"


@dataclass(frozen=True)
class MillStrength:
    """Usual yield over the standard's minimum, and where that stands."""

    times: float
    source: str


_BY_GRADE = {
    "S235": MillStrength(1.25, _EN),
    "S275": MillStrength(1.25, _EN),
    "S355": MillStrength(1.25, _EN),
    "A36": MillStrength(1.3, _AISC),
    "A500 B": MillStrength(1.4, _AISC),
    "A500 C": MillStrength(1.3, _AISC),
}
_OWN = MillStrength(1.0, "own figures, taken as they are")


def mill_strength(steel: Steel) -> MillStrength:
    """Of one steel; a user's own figures are taken as measured, with nothing on top."""
    return _BY_GRADE.get(steel.name, _OWN)


def strongest_at_the_mill(block: Block) -> MillStrength:
    """The highest among tube, plates and ribs: the upper end for a load the whole block carries."""
    steels = [block.tube.steel, block.bottom.steel, block.top.steel]
    steels += [block.rib_steel] if block.ribs else []
    return max((mill_strength(steel) for steel in steels), key=lambda one: one.times)
