"""The stub cut across: tube and full-height ribs as one section, as a shop would add it up."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog
from shapely import MultiPolygon, Polygon, contains_xy
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient

from fea.errors import BlockError
from geometry.block import Block
from geometry.plan import rib_footprint, tube_bore, tube_outside

Floats = NDArray[np.float64]

_CELLS_PER_WALL = 4.0


@dataclass(frozen=True)
class Piece:
    """One part's area in the section, with its steel's yield and E."""

    name: str
    outline: BaseGeometry
    yield_mpa: float
    e_mpa: float


@dataclass(frozen=True)
class Moments:
    """Area and its moments about the axes through the origin: ∫dA, ∫x, ∫y, ∫x², ∫y², ∫xy."""

    area_mm2: float
    x_mm3: float
    y_mm3: float
    xx_mm4: float
    yy_mm4: float
    xy_mm4: float


def moments(outline: BaseGeometry) -> Moments:
    """Exact moments of a shapely polygon or several, holes taken out (Green's theorem)."""
    total = np.zeros(6)
    for polygon in _polygons(outline):
        ring = orient(polygon)
        for loop in (ring.exterior, *ring.interiors):
            x, y = np.asarray(loop.coords)[:, :2].T
            x0, y0, x1, y1 = x[:-1], y[:-1], x[1:], y[1:]
            cross = x0 * y1 - x1 * y0
            total += [
                (cross / 2.0).sum(),
                (cross * (x0 + x1) / 6.0).sum(),
                (cross * (y0 + y1) / 6.0).sum(),
                (cross * (x0**2 + x0 * x1 + x1**2) / 12.0).sum(),
                (cross * (y0**2 + y0 * y1 + y1**2) / 12.0).sum(),
                (cross * (x0 * y1 + 2 * x0 * y0 + 2 * x1 * y1 + x1 * y0) / 24.0).sum(),
            ]
    return Moments(*(float(value) for value in total))


def _polygons(outline: BaseGeometry) -> list[Polygon]:
    if isinstance(outline, MultiPolygon):
        return list(outline.geoms)
    return [outline] if isinstance(outline, Polygon) and not outline.is_empty else []


def stub_pieces(block: Block) -> tuple[Piece, ...]:
    """Tube and every rib that reaches both plates; triangles leave off and are not counted."""
    tube = block.tube
    bore = tube_bore(tube)
    walls = tube_outside(tube).difference(bore)
    pieces = [Piece("tube", walls, tube.steel.yield_mpa, tube.steel.e_mpa)]
    taken: BaseGeometry = walls
    for rib in block.ribs:
        if rib.shape != "full":
            continue
        outline = rib_footprint(block, rib)
        outline = (outline.intersection(bore) if rib.inside else outline).difference(taken)
        pieces.append(Piece(rib.name, outline, block.rib_steel.yield_mpa, block.rib_steel.e_mpa))
        taken = taken.union(outline)
    return tuple(pieces)


def axial_stiffness_n(pieces: tuple[Piece, ...]) -> float:
    """Σ E·A."""
    return sum(piece.e_mpa * moments(piece.outline).area_mm2 for piece in pieces)


def elastic_load_n(pieces: tuple[Piece, ...], at_mm: tuple[float, float]) -> float:
    """The load pressing down at ``at_mm`` under which some fibre first reaches yield.

    N/A ± M·c/I both ways at once (plane sections; any textbook of strength of materials), each
    piece weighed by its E and held against its own yield.
    """
    gram = np.zeros((3, 3))
    for piece in pieces:
        m = moments(piece.outline)
        gram += piece.e_mpa * np.array(
            [
                [m.area_mm2, m.x_mm3, m.y_mm3],
                [m.x_mm3, m.xx_mm4, m.xy_mm4],
                [m.y_mm3, m.xy_mm4, m.yy_mm4],
            ]
        )
    plane = np.linalg.solve(gram, np.array([1.0, *at_mm]))
    worst = 0.0
    for piece in pieces:
        for polygon in _polygons(piece.outline):
            corners = np.asarray(polygon.exterior.coords)[:, :2]
            stress = piece.e_mpa * np.abs(plane[0] + corners @ plane[1:])
            worst = max(worst, float(stress.max()) / piece.yield_mpa)
    return 1.0 / worst


def plastic_load_n(pieces: tuple[Piece, ...], at_mm: tuple[float, float]) -> float:
    """The most that can press down at ``at_mm`` with no fibre past yield, however it is shared.

    Every stress in balance with the load that nowhere passes yield is a lower bound of what the
    section carries, the best one is what it carries (limit analysis; Drucker, Prager & Greenberg,
    *Q. Appl. Math.* 9, 1952), found by linear programming over small cells. No elastic stress can
    stay below yield past it. Raises BlockError when that fails.
    """
    cells, areas, yields = _cells(pieces)
    balance = np.vstack([areas, areas * cells[:, 0], areas * cells[:, 1]])
    scale = areas.sum() * np.array([1.0, np.abs(cells).max(), np.abs(cells).max()])
    arms = -np.array([1.0, *at_mm])
    squash_n = float(areas @ yields)
    equations = np.column_stack([balance, arms * squash_n]) / scale[:, None]
    bounds = [(-y, y) for y in yields] + [(0.0, None)]
    cost = np.zeros(len(cells) + 1)
    cost[-1] = -1.0
    found = linprog(cost, A_eq=equations, b_eq=np.zeros(3), bounds=bounds, method="highs")
    if not found.success:
        raise BlockError("tube", f"its section cannot be balanced ({found.message})", "check it")
    return float(found.x[-1]) * squash_n


def _cells(pieces: tuple[Piece, ...]) -> tuple[Floats, Floats, Floats]:
    """Centres (k, 2), areas (k,) and yields (k,) of square cells; each piece's area is exact."""
    centres, areas, yields = [], [], []
    for piece in pieces:
        area = moments(piece.outline).area_mm2
        if area <= 0.0:
            continue
        side = 2.0 * area / piece.outline.length / _CELLS_PER_WALL
        x0, y0, x1, y1 = piece.outline.bounds
        x = np.linspace(x0, x1, max(int((x1 - x0) / side), 2), endpoint=False)
        y = np.linspace(y0, y1, max(int((y1 - y0) / side), 2), endpoint=False)
        grid = np.stack(np.meshgrid(x + (x[1] - x[0]) / 2, y + (y[1] - y[0]) / 2), -1)
        inside = grid[contains_xy(piece.outline, grid[..., 0], grid[..., 1])]
        centres.append(inside)
        areas.append(np.full(len(inside), area / len(inside)))
        yields.append(np.full(len(inside), piece.yield_mpa))
    return np.concatenate(centres), np.concatenate(areas), np.concatenate(yields)
