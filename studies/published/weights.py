"""Weights that steel stockists and welding handbooks publish, against the cut list's."""

from dataclasses import replace

from fea.steel import Steel
from geometry.block import Block, Pin, Plate, Tube, Welds
from geometry.pieces import pieces
from geometry.stock import inner_corner_radius_mm, outer_corner_radius_mm
from geometry.weld_metal import beads
from studies.published.check import PublishedCheck, within

_IN_MM = 25.4
_LB_KG = 0.45359237
_STEEL = Steel("S355", 355.0, 490.0)


def _block() -> Block:
    """100 × 100 × 5 tube, plates 8 thick, pin of 16; a fillet of 1/4 in round the tube's foot."""
    radius = outer_corner_radius_mm("EN 10219", 5.0)
    bore = inner_corner_radius_mm("EN 10219", 5.0)
    plate = Plate(150.0, 150.0, 8.0, _STEEL)
    tube = Tube(100.0, 100.0, 5.0, radius, 50.0, _STEEL, bore)
    welds = Welds(tube_bottom_mm=_IN_MM / 4.0)
    return Block(tube, plate, plate, (), _STEEL, welds, Pin(16.0, 20.0, _STEEL))


def _kg(name: str) -> float:
    return next(piece.mass_kg for piece in pieces(_block()) if name in piece.parts)


def _fillet_lb_per_ft() -> float:
    # A sharp-cornered tube: its fillet is straight, as the handbook's is.
    block = _block()
    (bead,) = beads(replace(block, tube=replace(block.tube, corner_radius_mm=0.0)))
    kg_per_mm = bead.volume_mm3 / bead.length_mm * 7850e-9
    return kg_per_mm / _LB_KG * 12 * _IN_MM


CHECKS: tuple[PublishedCheck, ...] = (
    PublishedCheck(
        "Square tube 100×5: mass of a metre",
        "EN 10219-2, table of masses (from memory)",
        14.4,
        "kg/m",
        within(0.05 / 14.4),
        lambda: _kg("tube") / 0.050,
    ),
    PublishedCheck(
        "Steel plate 8 mm thick: mass of a square metre",
        "EN 10025-1 and stockists' tables, 7.85 kg/m² for each mm (from memory)",
        62.8,
        "kg/m²",
        within(0.001),
        lambda: _kg("bottom plate") / 0.150**2,
    ),
    PublishedCheck(
        "Round bar of 16 mm: mass of a metre",
        "EN 10060, table of masses (from memory)",
        1.58,
        "kg/m",
        within(0.005 / 1.58),
        lambda: _kg("pin") / 0.020,
    ),
    PublishedCheck(
        "Fillet weld of 1/4 in: weld metal in a foot",
        "The Procedure Handbook of Arc Welding, table of weld metal, flat fillet (from memory)",
        0.106,
        "lb/ft",
        within(0.0005 / 0.106),
        _fillet_lb_per_ft,
    ),
)
