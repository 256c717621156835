"""The pieces a block is made of, as a shop cuts them: each distinct one once, with its quantity."""

import math
from dataclasses import dataclass
from typing import Literal

from shapely import Point as PlanPoint
from shapely import Polygon
from shapely.affinity import translate

from fea.steel import Steel
from geometry.amounts import weld_steel
from geometry.block import Block, Plate
from geometry.plan import plate_outline, tube_bore, tube_outside
from geometry.ribs import RibCut, cut_rib, same_cut
from geometry.weld_metal import beads
from geometry.welds import wall_height_mm

Kind = Literal["tube", "plate", "rib", "round bar"]

_KG_PER_MM3 = 1e-9


@dataclass(frozen=True)
class Slant:
    """A tube's end sawn out of square by ``saw_deg``; sides are measured on the outside."""

    saw_deg: float
    long_mm: float
    short_mm: float
    long_side: Literal["front", "rear"]


@dataclass(frozen=True)
class Piece:
    """One distinct piece.

    ``parts`` are the block's parts it stands for. ``size_mm``: a plate's or a rib's rectangle
    before holes and slopes; a tube's or a bar's (length, 0). ``thickness_mm``: of the plate, of the
    tube's wall, or the bar's diameter. ``outline`` is what to cut from plate, its lower left corner
    at the origin; None for tube and bar. ``mass_kg`` is one piece's, fitted. ``cut`` is there for
    ribs alone. A tube's length is that of its longer side, and ``slant`` tells of a slanting end.
    """

    name: str
    kind: Kind
    parts: tuple[str, ...]
    size_mm: tuple[float, float]
    thickness_mm: float
    outline: Polygon | None
    steel: Steel
    mass_kg: float
    cut: RibCut | None = None
    slant: Slant | None = None

    @property
    def quantity(self) -> int:
        """How many of it one block takes."""
        return len(self.parts)


def pieces(block: Block) -> tuple[Piece, ...]:
    """Every distinct piece of ``block``: tube stub, plates, pin, ribs."""
    made = [_stub(block), *_plates(block)]
    if block.pin:
        pin = block.pin
        volume = math.pi * pin.diameter_mm**2 / 4.0 * pin.length_mm
        made.append(
            Piece(
                "pin",
                "round bar",
                ("pin",),
                (pin.length_mm, 0.0),
                pin.diameter_mm,
                None,
                pin.steel,
                volume * _KG_PER_MM3 * pin.steel.density_kg_m3,
            )
        )
    return (*made, *_ribs(block))


def _stub(block: Block) -> Piece:
    tube, slant = block.tube, None
    area = tube_outside(tube).area - tube_bore(tube).area
    # A slanting end leaves as much as one square at mid-tube.
    volume = area * wall_height_mm(block, 0.0)
    if block.taper_deg:
        rear, front = block.tube_sides_mm
        long_side: Literal["front", "rear"] = "front" if front > rear else "rear"
        slant = Slant(abs(block.taper_deg), max(rear, front), min(rear, front), long_side)
    return Piece(
        "tube stub",
        "tube",
        ("tube",),
        (slant.long_mm if slant else tube.height_mm, 0.0),
        tube.wall_mm,
        None,
        tube.steel,
        volume * _KG_PER_MM3 * tube.steel.density_kg_m3,
        slant=slant,
    )


def _plates(block: Block) -> list[Piece]:
    bottom = _plate("bottom plate", block.bottom, plate_outline(block.bottom))
    outline = plate_outline(block.top)
    if block.hole:
        drill = PlanPoint(block.hole.centre_mm).buffer(block.hole.diameter_mm / 2, quad_segs=64)
        return [bottom, _plate("top plate", block.top, outline.difference(drill))]
    top = _plate("top plate", block.top, outline)
    if (bottom.size_mm, bottom.thickness_mm, bottom.steel) != (
        top.size_mm,
        top.thickness_mm,
        top.steel,
    ):
        return [bottom, top]
    return [_plate("plate", block.bottom, outline, ("bottom plate", "top plate"))]


def _plate(name: str, plate: Plate, outline: Polygon, parts: tuple[str, ...] = ()) -> Piece:
    x0, y0, _, _ = outline.bounds
    return Piece(
        name,
        "plate",
        parts or (name,),
        (plate.length_mm, plate.width_mm),
        plate.thickness_mm,
        translate(outline, -x0, -y0),
        plate.steel,
        outline.area * plate.thickness_mm * _KG_PER_MM3 * plate.steel.density_kg_m3,
    )


def _ribs(block: Block) -> list[Piece]:
    kinds: list[tuple[RibCut, list[str]]] = []
    for rib in block.ribs:
        cut = cut_rib(block, rib)
        for known, names in kinds:
            if same_cut(known, cut):
                names.append(rib.name)
                break
        else:
            kinds.append((cut, [rib.name]))
    made = []
    for number, (cut, names) in enumerate(kinds):
        x0, y0, _, _ = cut.outline.bounds
        made.append(
            Piece(
                f"rib {_letter(number)}" if len(kinds) > 1 else "rib",
                "rib",
                tuple(names),
                cut.size_mm,
                cut.thickness_mm,
                translate(cut.outline, -x0, -y0),
                block.rib_steel,
                cut.volume_mm3 * _KG_PER_MM3 * block.rib_steel.density_kg_m3,
                cut,
            )
        )
    return made


def _letter(number: int) -> str:
    return chr(ord("A") + number) if number < 26 else f"A{number - 25}"


def pieces_mass_kg(block: Block) -> float:
    """All pieces of one block, without welds."""
    return sum(piece.mass_kg * piece.quantity for piece in pieces(block))


def weld_mass_kg(block: Block) -> float:
    """Weld metal of one block's fillets."""
    volume = sum(bead.volume_mm3 for bead in beads(block))
    return volume * _KG_PER_MM3 * weld_steel(block).density_kg_m3
