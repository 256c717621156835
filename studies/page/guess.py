"""How large and how long a run is likely to be, told before it starts."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

from geometry.block import Block
from geometry.mesher import SETTINGS, MeshSizes
from geometry.mirroring import mirror_axes
from geometry.plan import tube_bore, tube_outside
from studies.loads import CrushCase, WrapCase
from studies.study import Study

MOST_UNKNOWNS = 2_000_000
"""A layout past this needs more memory than a usual laptop has (judgement, no source)."""

_UNKNOWNS_EACH = 105.0
"""Unknowns for each cube as wide as a part is thick, over the square of the element's share of that
thickness: measured on the example, 0.94 to 1.0 of this at quick and normal."""

_SECONDS_EACH = 3.1e-5
"""Seconds for each unknown and load on one core, both meshes, of a block without mirrors."""

_BY_MIRRORS = (1.0, 0.55, 0.28)
"""Share of that for a block with none, one or two mirrors: two as measured on the example (layouts
done after 33 s on two cores, at normal), one between (judgement, no source)."""

_WELD_GRAIN = 1.3
_STIFF_TIMES = 3.3
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
    counted = sum(
        each[layout.name] * _BY_MIRRORS[len(mirror_axes(layout.block))] for layout in study.layouts
    )
    seconds = counted * len(study.loads) * _SECONDS_EACH
    seconds *= (_STIFF_TIMES if stiff else 1.0) * (_ACCURACY_TIMES if study.accuracy else 1.0)
    return Guess(
        max(each.values()),
        seconds,
        tuple(name for name, unknowns in each.items() if unknowns > MOST_UNKNOWNS),
    )


def _unknowns(block: Block, sizes: MeshSizes) -> int:
    cubes = sum(volume_mm3 / grain_mm**3 for volume_mm3, grain_mm in _volumes(block))
    return round(_UNKNOWNS_EACH * cubes / sizes.body_share**2)


def _volumes(block: Block) -> Iterator[tuple[float, float]]:
    """Each body's volume as its sizes say, nothing cut to fit, and what its elements go by."""
    tube, welds, height = block.tube, block.welds, block.tube.height_mm
    for plate in (block.bottom, block.top):
        yield plate.length_mm * plate.width_mm * plate.thickness_mm, plate.thickness_mm
    outside = tube_outside(tube)
    yield (outside.area - tube_bore(tube).area) * height, tube.wall_mm
    if block.pin:
        pin = block.pin
        yield math.pi / 4.0 * pin.diameter_mm**2 * pin.length_mm, pin.diameter_mm
    outer = [rib for rib in block.ribs if not rib.inside]
    for rib in block.ribs:
        yield rib.length_mm * rib.thickness_mm * height, rib.thickness_mm
    along_ribs_mm = 4.0 * sum(rib.length_mm for rib in outer)
    for leg_mm, length_mm in (
        (welds.tube_bottom_mm, outside.length),
        (welds.tube_top_mm, outside.length),
        (welds.rib_plate_mm, along_ribs_mm),
        (welds.rib_tube_mm, 2.0 * height * len(outer)),
    ):
        if leg_mm:
            yield leg_mm**2 / 2.0 * length_mm, _WELD_GRAIN * leg_mm
