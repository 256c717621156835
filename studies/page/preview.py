"""The block as it is being described: bodies for the viewer, dimensions, and small plans."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
import shapely
from shapely import Polygon

from fea.mesh import Floats
from geometry.block import Block, Layout
from geometry.outline import Body, block_bodies
from geometry.pieces import pieces_mass_kg, weld_mass_kg
from geometry.plan import plate_outline, rib_footprint, tube_bore, tube_outside
from studies.shop.sizes import NO_BREAK, show_size
from studies.study import Study
from studies.units import OutputUnits
from studies.viewer.packing import Shape, packed
from studies.viewer.surfaces import Surface

Point3 = tuple[float, float, float]

_OFF_SHARE = 0.12
"""How far from the block its dimension lines stand, as a share of its length."""


@dataclass(frozen=True)
class Dimension:
    """A dimension line from ``start_mm`` to ``end_mm`` in space, with what it says."""

    key: str
    start_mm: Point3
    end_mm: Point3
    text: str


def block_pack(layouts: tuple[Layout, ...], units: OutputUnits) -> dict[str, Any]:
    """Layouts for the viewer, in the colours of their parts."""
    return packed([_shape(layout) for layout in layouts], (), units)


def _shape(layout: Layout) -> Shape:
    bodies = block_bodies(layout.block)
    counts = np.cumsum([0, *(len(body.points_mm) for body in bodies)])
    points = np.vstack([body.points_mm for body in bodies])
    surface = Surface(
        points_mm=points,
        origin=np.arange(len(points)),
        triangles=_joined([body.triangles for body in bodies], counts),
        part=np.repeat(np.arange(len(bodies)), [len(body.triangles) for body in bodies]),
        lines=_joined([body.edges for body in bodies], counts),
    )
    return Shape(layout.name, layout.sentence, surface, tuple(_part_name(body) for body in bodies))


def _joined(lists: list[Any], counts: Any) -> Any:
    return np.vstack([one + count for one, count in zip(lists, counts, strict=False)])


def _part_name(body: Body) -> str:
    return body.name if body.look != "rib" or "rib" in body.name else f"rib {body.name}"


def dimensions(block: Block, units: OutputUnits) -> tuple[Dimension, ...]:
    """The sizes a shop asks for first, where a drawing would put them."""
    top, tube = block.top, block.tube
    x0, y0, x1, y1 = shapely.union_all([plate_outline(block.bottom), plate_outline(top)]).bounds
    off = _OFF_SHARE * (x1 - x0)
    tx, ty = top.centre_mm
    left, right = tx - top.length_mm / 2, tx + top.length_mm / 2
    back, front = ty - top.width_mm / 2, ty + top.width_mm / 2
    half = tube.length_mm / 2
    foot, front_mm = block.tube_foot_mm, block.tube_sides_mm[1]
    height = block.top_at_mm(x0)

    def line(key: str, a: Point3, b: Point3, mm: float) -> Dimension:
        return Dimension(key, a, b, show_size((mm,), units).replace(NO_BREAK, " "))

    near, nearer, aside = y0 - 2.7 * off, y0 - 0.9 * off, x1 + off
    return (
        line("top_plate.size", (left, near, 0.0), (right, near, 0.0), top.length_mm),
        line("tube.size", (-half, nearer, 0.0), (half, nearer, 0.0), tube.length_mm),
        line("top_plate.size", (aside, back, 0.0), (aside, front, 0.0), top.width_mm),
        line("tube.height", (aside, y1, foot), (aside, y1, foot + front_mm), front_mm),
        line("height", (x0 - off, y0, 0.0), (x0 - off, y0, height), height),
    )


def masses(study: Study, known: Mapping[str, str]) -> list[str]:
    """What each layout weighs, welds included: as ``known`` by its name, or worked out here."""
    return [known.get(layout.name) or _mass(layout.block, study.units) for layout in study.layouts]


@lru_cache(maxsize=128)
def _mass(block: Block, units: OutputUnits) -> str:
    return units.show_mass(pieces_mass_kg(block) + weld_mass_kg(block))


@dataclass(frozen=True)
class Plan:
    """A layout from above as outlines in an SVG's own terms; the front is to the right."""

    view_box: str
    plate: str
    tube: str
    ribs: str


def plan(block: Block) -> Plan:
    """The plan of a block for a small drawing."""
    plates = shapely.union_all([plate_outline(block.bottom), plate_outline(block.top)])
    x0, y0, x1, y1 = plates.bounds
    margin = 0.03 * (x1 - x0)
    wall = tube_outside(block.tube).difference(tube_bore(block.tube))
    ribs = "".join(_path(rib_footprint(block, rib)) for rib in block.ribs)
    return Plan(
        f"{x0 - margin:.1f} {-y1 - margin:.1f} {x1 - x0 + 2 * margin:.1f} "
        f"{y1 - y0 + 2 * margin:.1f}",
        _path(plates),
        _path(wall),
        ribs,
    )


def _path(outline: Polygon) -> str:
    """An outline as the path of an SVG, y downwards."""
    text = ""
    for piece in getattr(outline, "geoms", [outline]):
        for ring in (piece.exterior, *piece.interiors):
            corners: Floats = np.asarray(ring.simplify(0.05).coords)[:-1]
            text += "M" + "L".join(f"{x:.1f} {-y:.1f}" for x, y in corners) + "Z"
    return text
