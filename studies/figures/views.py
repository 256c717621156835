"""The block seen square on, from above, from the front and from the side, as flat outlines."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from shapely import MultiPolygon, Polygon, polygons, set_precision, union_all

from fea.mesh import Floats, Ints
from geometry.block import Block
from geometry.tessellation import Shell, tessellated
from studies.figures.body import is_weld

Way = Literal["top", "front", "side"]

_AXES: dict[Way, tuple[Floats, Floats, Floats]] = {
    "top": (np.array([1.0, 0, 0]), np.array([0, 1.0, 0]), np.array([0, 0, 1.0])),
    "front": (np.array([0, 1.0, 0]), np.array([0, 0, 1.0]), np.array([1.0, 0, 0])),
    "side": (np.array([1.0, 0, 0]), np.array([0, 0, 1.0]), np.array([0, -1.0, 0])),
}
"""To the right and up in a view, and towards the eye. The front is to the right where it shows."""

_FACING = 1e-3
_SNAP_MM = 1e-4
_TRUE_MM = 5e-3
_ARC_LINES = 36
_LARGEST_MM = 1e3


@dataclass(frozen=True)
class Silhouette:
    """One part in a view: its outline, the faces that look at the eye, far ones first."""

    part: str
    outline: tuple[Polygon, ...]
    faces: tuple[Polygon, ...]


@dataclass(frozen=True)
class View:
    """All parts, the one nearest to the eye last; x to the right and y up, in mm."""

    way: Way
    parts: tuple[Silhouette, ...]
    hidden: tuple[Silhouette, ...]

    @property
    def bounds_mm(self) -> tuple[float, float, float, float]:
        """The smallest upright rectangle round all parts."""
        x0, y0, x1, y1 = union_all([one for part in self.parts for one in part.outline]).bounds
        return float(x0), float(y0), float(x1), float(y1)


def drawn_shells(block: Block) -> tuple[Shell, ...]:
    """The block's parts with as few triangles as a drawing needs."""
    return tessellated(block, _LARGEST_MM, arc_lines=_ARC_LINES)


def view(shells: tuple[Shell, ...], way: Way) -> View:
    """The block seen one way; from above, what the top plate covers is given as hidden."""
    towards = _AXES[way][2]
    ordered = sorted(shells, key=lambda shell: float((shell.points_mm @ towards).max()))
    covered = [shell for shell in shells if shell.name != "top plate" and not is_weld(shell)]
    return View(
        way,
        tuple(_silhouette(shell, way) for shell in ordered),
        tuple(_silhouette(shell, way) for shell in (covered if way == "top" else ())),
    )


def _silhouette(shell: Shell, way: Way) -> Silhouette:
    right, up, towards = _AXES[way]
    flat = np.column_stack([shell.points_mm @ right, shell.points_mm @ up])
    a, b, c = (flat[shell.triangles[:, i]] for i in range(3))
    ab, ac = b - a, c - a
    area = (ab[:, 0] * ac[:, 1] - ab[:, 1] * ac[:, 0]) / 2.0
    faces = []
    for face in np.unique(shell.surface):
        own = np.flatnonzero((shell.surface == face) & (area > _FACING))
        if len(own):
            depth = float((shell.points_mm[shell.triangles[own]] @ towards).mean())
            faces += [(depth, one) for one in _joined(flat, shell.triangles[own])]
    faces.sort(key=lambda one: one[0])
    whole = union_all([one.buffer(_TRUE_MM, join_style="mitre") for _, one in faces])
    return Silhouette(
        shell.name,
        tuple(_polygons(whole.buffer(-_TRUE_MM, join_style="mitre").simplify(_TRUE_MM))),
        () if is_weld(shell) else tuple(one for _, one in faces),
    )


def _joined(flat_mm: Floats, triangles: Ints) -> list[Polygon]:
    """Triangles of one face as few polygons."""
    whole = union_all(set_precision(polygons(flat_mm[triangles]), _SNAP_MM))
    return _polygons(whole.simplify(_TRUE_MM))


def _polygons(shape: Polygon | MultiPolygon) -> list[Polygon]:
    return [
        one
        for one in getattr(shape, "geoms", [shape])
        if one.geom_type == "Polygon" and not one.is_empty
    ]
