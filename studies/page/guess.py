"""How large and how long a run is likely to be, told before it starts."""

from dataclasses import dataclass

from geometry.block import Block
from geometry.mesher import SETTINGS, MeshSizes
from geometry.pieces import pieces
from geometry.weld_metal import beads
from studies.loads import CrushCase, WrapCase
from studies.study import Study

MOST_UNKNOWNS = 2_000_000
"""A layout past this needs more memory than a usual laptop has (judgement, no source)."""

_KG_PER_MM3 = 1e-9
_UNKNOWNS_EACH = 105.0
"""Unknowns for each cube as wide as a part is thick, over the square of the element's share of that
thickness: measured on the example, 0.94 to 1.0 of this at quick and normal."""

_SECONDS_EACH = 3.5e-5
"""Seconds for each unknown and load on one core, both meshes, measured on the example."""

_WELD_GRAIN = 1.3
_STIFF_TIMES = 2.5
_ACCURACY_TIMES = 4.0


@dataclass(frozen=True)
class Guess:
    """A run's likely size. ``too_large`` names the layouts that are past the limit."""

    unknowns: int
    seconds: float
    too_large: tuple[str, ...]


def guess(study: Study) -> Guess:
    """What a comparison of ``study`` will likely take; within a factor of two or so."""
    sizes = SETTINGS[study.setting]
    each = {layout.name: _unknowns(layout.block, sizes) for layout in study.layouts}
    stiff = any(isinstance(one, CrushCase | WrapCase) and one.stiff_seats for one in study.loads)
    seconds = sum(each.values()) * len(study.loads) * _SECONDS_EACH
    seconds *= (_STIFF_TIMES if stiff else 1.0) * (_ACCURACY_TIMES if study.accuracy else 1.0)
    return Guess(
        max(each.values()),
        seconds,
        tuple(name for name, unknowns in each.items() if unknowns > MOST_UNKNOWNS),
    )


def _unknowns(block: Block, sizes: MeshSizes) -> int:
    cubes = 0.0
    for piece in pieces(block):
        volume_mm3 = piece.quantity * piece.mass_kg / (_KG_PER_MM3 * piece.steel.density_kg_m3)
        cubes += volume_mm3 / piece.thickness_mm**3
    cubes += sum(bead.volume_mm3 / (_WELD_GRAIN * bead.leg_mm) ** 3 for bead in beads(block))
    return round(_UNKNOWNS_EACH * cubes / sizes.body_share**2)
