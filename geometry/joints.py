"""Every welded joint of a block in its mesh, and what crosses it in a solution.

Joints are the tube's two ends on the plates, each rib on the plates it touches, and each rib on the
tube. A joint without a fillet is a line too: the model has its parts grown together there.
"""

import math
from dataclasses import dataclass, replace

import numpy as np

from fea.mesh import Floats, Ints
from fea.model import Model
from fea.seams import Bodies, Seam, SeamLoad, bodies_of, seam_loads
from geometry.block import Block, Plate, PlateSide, Rib
from geometry.plan import along, plate_plan
from geometry.plate_face import BOTTOM, TOP, plate_face
from geometry.tube_line import walked_round
from geometry.weld_lines import Bead, Point3, WeldedSteel, WeldLine, WeldPlan
from geometry.welds import rib_corners, rib_side_start, triangle_gap_mm

_TUBE, _FIRST_RIB = 2, 3
_SPACING_SHARE = 0.75
_LEAST_INTERVALS = 4
_LEAST_ROUND = 24


@dataclass(frozen=True, eq=False)
class Joints:
    """All joints of a meshed block: a plan to show and keep, seams to gather forces on."""

    plan: WeldPlan
    seams: tuple[Seam, ...]
    bodies: Bodies

    def loads(
        self, model: Model, at_vertices_mpa: Floats, name: str, applied_n: Floats, factor: float
    ) -> tuple[SeamLoad, ...]:
        """What crosses each line under ``factor`` times a load case; see ``fea.seams.seam_loads``.

        Raises SolveError unless the lines on each plate carry together what is applied to it.
        """
        cuts = (BOTTOM, TOP)
        return seam_loads(
            model, self.bodies, self.seams, cuts, at_vertices_mpa, name, applied_n, factor
        )


def joints_of(block: Block, model: Model) -> Joints:
    """Find the joints of ``block`` in its mesh."""
    bodies = bodies_of(model, np.array([_body(block, part.name) for part in model.mesh.parts]))
    made = [_tube_end(block, model, bodies, side) for side in ("bottom", "top")]
    for number, rib in enumerate(block.ribs):
        for side in ("bottom", "top"):
            if rib.shape == "full" or rib.side == side:
                made.append(_rib_on_plate(block, model, bodies, number, side))
        made += _rib_on_tube(block, model, bodies, number)
    plan = WeldPlan(
        tuple(line for line, _ in made),
        _box(block, "bottom"),
        _box(block, "top"),
    )
    return Joints(plan, tuple(seam for _, seam in made), bodies)


def _box(block: Block, side: PlateSide) -> tuple[float, float, float, float]:
    x0, y0, x1, y1 = plate_plan(block, side).bounds
    return float(x0), float(y0), float(x1), float(y1)


def _body(block: Block, part: str) -> int:
    """Which body a part counts with: a fillet with what stands, the pin with its plate."""
    known = {
        "bottom plate": BOTTOM,
        "pin": BOTTOM,
        "top plate": TOP,
        "tube": _TUBE,
        "weld tube to bottom plate": _TUBE,
        "weld tube to top plate": _TUBE,
    }
    for number, rib in enumerate(block.ribs):
        for name in (
            rib.name,
            f"weld {rib.name} to bottom plate",
            f"weld {rib.name} to top plate",
            f"weld {rib.name} to tube",
        ):
            known[name] = _FIRST_RIB + number
    return known[part]


def _intervals(length_mm: float, thinner_mm: float, least: int) -> int:
    return max(least, round(length_mm / (_SPACING_SHARE * thinner_mm)))


def _tube_end(block: Block, model: Model, bodies: Bodies, side: PlateSide) -> tuple[WeldLine, Seam]:
    tube, welds = block.tube, block.welds
    face = plate_face(block, side)
    plate = face.plate
    walk = walked_round(
        tube,
        tuple(rib for rib in block.ribs if not rib.inside and side in _sides(rib)),
        face.slope,
    )
    nodes = np.flatnonzero(bodies.has_node[_TUBE] & bodies.has_node[face.body])
    count = _intervals(walk.length_mm, min(tube.wall_mm, plate.thickness_mm), _LEAST_ROUND)
    spacing = walk.length_mm / count
    xy, outward = walk.at(np.arange(float(count)) * spacing)
    axes = np.zeros((count, 3, 3))
    axes[:, 0] = face.away
    axes[:, 2] = face.along(face.up * np.column_stack([-outward[:, 1], outward[:, 0]]))
    axes[:, 1] = np.cross(axes[:, 2], axes[:, 0])
    points = face.lifted(xy)
    at = walk.along_mm(model.space.nodes_mm[nodes, :2])
    line = WeldLine(
        name=f"tube to {side} plate",
        kind="tube end",
        leg_mm=welds.tube_bottom_mm if side == "bottom" else welds.tube_top_mm,
        beads=(Bead(0.0, face.opening_deg(1.0)),),
        length_mm=walk.length_mm,
        spacing_mm=spacing,
        closed=True,
        reached=True,
        points_mm=_points(points),
        places=tuple(_wall(x, y) for x, y in outward),
        parts=(_steel(plate), WeldedSteel(tube.steel.name, tube.steel.ultimate_mpa, tube.wall_mm)),
        weld_ultimate_mpa=welds.steel.ultimate_mpa if welds.steel else None,
    )
    return line, Seam(_TUBE, face.body, nodes, at, spacing, points, axes, closed=True)


def _sides(rib: Rib) -> tuple[PlateSide, ...]:
    return ("bottom", "top") if rib.shape == "full" else (rib.side,)


def _wall(x: float, y: float) -> str:
    """The wall or corner of the tube that looks along (x, y)."""
    lengthwise, crosswise = "front" if x > 0 else "rear", "left" if y > 0 else "right"
    if min(abs(x), abs(y)) > 0.1:
        return f"{lengthwise} {crosswise} corner"
    return f"{lengthwise if abs(x) > abs(y) else crosswise} wall"


def _rib_on_plate(
    block: Block, model: Model, bodies: Bodies, number: int, side: PlateSide
) -> tuple[WeldLine, Seam]:
    rib = block.ribs[number]
    face = plate_face(block, side)
    body, plate = face.body, face.plate
    nodes = np.flatnonzero(bodies.has_node[_FIRST_RIB + number] & bodies.has_node[body])
    start = 0.0 if rib.inside else _mean_start(block, rib)
    dx, dy = rib.direction
    stretch = math.hypot(1.0, face.slope * dx)
    length = (rib.length_mm - start) * stretch
    level = (model.space.nodes_mm[nodes, :2] - np.array(along(rib, start))) @ np.array([dx, dy])
    (way,) = face.along(np.array([rib.direction]))
    # Left of the rib, whichever plate it stands on.
    aside = face.up * np.cross(face.away, way)
    line, seam = _straight(
        block,
        rib,
        number,
        body,
        nodes,
        level * stretch,
        length,
        first=face.lifted(np.array([along(rib, start)]))[0],
        axes=np.array([face.away, aside, way]),
        base=_steel(plate),
    )
    half = rib.thickness_mm / 2
    return replace(
        line,
        name=f"{rib.name} to {side} plate",
        kind="rib on plate",
        leg_mm=0.0 if rib.inside else block.welds.rib_plate_mm,
        beads=tuple(Bead(arm, face.opening_deg(abs(dy))) for arm in (half, -half)),
        places=_thirds(seam, "at the tube", "half-way along", "at its end"),
    ), seam


def _mean_start(block: Block, rib: Rib) -> float:
    starts = [rib_side_start(block, rib, side) for side in (-1.0, 1.0)]
    met = [start for start in starts if start is not None]
    return sum(met) / len(met) if met else 0.0


def _rib_on_tube(
    block: Block, model: Model, bodies: Bodies, number: int
) -> list[tuple[WeldLine, Seam]]:
    """The upright joint at a rib's foot; for a rib inside the tube one at each end."""
    rib = block.ribs[number]
    mine = bodies.has_node[_FIRST_RIB + number]
    plates = bodies.has_node[BOTTOM] | bodies.has_node[TOP]
    earlier = bodies.has_node[_FIRST_RIB : _FIRST_RIB + number].any(axis=0)
    nodes = np.flatnonzero(mine & ~plates & (bodies.has_node[_TUBE] | earlier))
    if not rib.inside:
        return [_upright(block, model, number, nodes, _mean_start(block, rib), 1.0, "to tube")]
    run = (model.space.nodes_mm[nodes, :2] - np.array(rib.start_mm)) @ np.array(rib.direction)
    made = []
    for reach, way in ((0.0, 1.0), (rib.length_mm, -1.0)):
        there = nodes[(run < rib.length_mm / 2) == (way > 0.0)]
        if not len(there):
            continue
        x, y = (-way * d for d in rib.direction)
        others = [
            other.name
            for other, has in zip(block.ribs, bodies.has_node[_FIRST_RIB:], strict=True)
            if other is not rib and has[there].any() and not bodies.has_node[_TUBE, there].any()
        ]
        to = f"to {others[0]}" if others else f"to tube, {_wall(x, y)}"
        made.append(_upright(block, model, number, there, reach, way, to))
    return made


def _upright(
    block: Block, model: Model, number: int, nodes: Ints, reach: float, way: float, to: str
) -> tuple[WeldLine, Seam]:
    rib, tube = block.ribs[number], block.tube
    low, high = block.tube_foot_mm, block.head_at_mm(along(rib, reach)[0])
    if rib.shape == "triangle":
        gap = triangle_gap_mm(block, rib)
        low, high = (low, high - gap) if rib.side == "bottom" else (low + gap, high)
    dx, dy = (way * d for d in rib.direction)
    line, seam = _straight(
        block,
        rib,
        number,
        _TUBE,
        nodes,
        model.space.nodes_mm[nodes, 2] - low,
        high - low,
        first=np.array([*along(rib, reach), low]),
        axes=np.array([(dx, dy, 0.0), (-dy, dx, 0.0), (0.0, 0.0, 1.0)]),
        base=WeldedSteel(tube.steel.name, tube.steel.ultimate_mpa, tube.wall_mm),
    )
    beads = _corner_beads(block, rib)
    return replace(
        line,
        name=f"{rib.name} {to}",
        kind="rib on tube",
        leg_mm=block.welds.rib_tube_mm if beads and not rib.inside else 0.0,
        beads=beads or (Bead(rib.thickness_mm / 2, 90.0), Bead(-rib.thickness_mm / 2, 90.0)),
        reached=bool(beads) and not rib.inside,
        places=_thirds(seam, "near the bottom", "at mid-height", "near the top"),
    ), seam


def _corner_beads(block: Block, rib: Rib) -> tuple[Bead, ...]:
    """The upright fillets that can be laid beside an outer rib; none inside the tube."""
    if rib.inside:
        return (Bead(rib.thickness_mm / 2, 90.0), Bead(-rib.thickness_mm / 2, 90.0))
    welds = block.welds
    if not welds.rib_tube_mm:
        # Where a fillet would go, of a leg as large as usual.
        leg = min(rib.thickness_mm, block.tube.wall_mm) / 2
        block = replace(block, welds=replace(welds, rib_tube_mm=leg))
    dx, dy = rib.direction
    beads = []
    for corner in rib_corners(block, rib):
        x, y = (a - b for a, b in zip(corner.root_mm, rib.start_mm, strict=True))
        beads.append(Bead(dx * y - dy * x, corner.angle_deg))
    return tuple(beads)


def _straight(
    block: Block,
    rib: Rib,
    number: int,
    on: int,
    nodes: Ints,
    at: Floats,
    length: float,
    first: Floats,
    axes: Floats,
    base: WeldedSteel,
) -> tuple[WeldLine, Seam]:
    """A rib's line of ``length`` from ``first`` along the last of ``axes``, still unnamed."""
    intervals = _intervals(length, rib.thickness_mm, _LEAST_INTERVALS)
    spacing = length / intervals
    points = first + np.arange(intervals + 1)[:, None] * spacing * axes[2]
    everywhere = np.broadcast_to(axes, (len(points), 3, 3))
    seam = Seam(_FIRST_RIB + number, on, nodes, at, spacing, points, everywhere, closed=False)
    steel, filler = block.rib_steel, block.welds.steel
    line = WeldLine(
        name="",
        kind="rib on plate",
        leg_mm=0.0,
        beads=(),
        length_mm=length,
        spacing_mm=spacing,
        closed=False,
        reached=not rib.inside,
        points_mm=_points(points),
        places=(),
        parts=(base, WeldedSteel(steel.name, steel.ultimate_mpa, rib.thickness_mm)),
        weld_ultimate_mpa=filler.ultimate_mpa if filler else None,
    )
    return line, seam


def _steel(plate: Plate) -> WeldedSteel:
    return WeldedSteel(plate.steel.name, plate.steel.ultimate_mpa, plate.thickness_mm)


def _thirds(seam: Seam, low: str, middle: str, high: str) -> tuple[str, ...]:
    count = len(seam.points_mm)
    return tuple((low, middle, high)[min(3 * i // count, 2)] for i in range(count))


def _points(points: Floats) -> tuple[Point3, ...]:
    return tuple((float(x), float(y), float(z)) for x, y, z in np.round(points, 3))
