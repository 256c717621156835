"""Plates under a soft seat by handbook formulas: overhangs as cantilevers, spans over the bore.

All loads are what presses on the whole block when the plate in question yields by the formula.
"""

import math
from dataclasses import dataclass

import numpy as np
from shapely import LineString, box, contains_xy
from shapely.geometry.base import BaseGeometry

from fea.bearing import Seat, seat_pressure
from fea.mesh import Floats
from geometry.block import Block, Plate, Point
from geometry.plan import plate_outline, rib_strip, tube_bore
from geometry.section import Piece
from studies.loads import PadCase, WrapCase
from studies.seating import top_seat

_CELLS = 120
_SIDES = (("front", 0, 1.0), ("rear", 0, -1.0), ("left", 1, 1.0), ("right", 1, -1.0))
_RATIOS = (1.0, 1.2, 1.4, 1.6, 1.8, 2.0)
_EVEN = (0.3078, 0.3834, 0.4356, 0.4680, 0.4872, 0.4974)
_EVEN_LONG = 0.5
_PATCH = (-0.238, -0.078, 0.011, 0.053, 0.068, 0.067)
"""Rectangular plates with all edges built in, by length over width: evenly pressed, highest at the
long edge's middle (six times the moments of Timoshenko & Woinowsky-Krieger, *Theory of Plates and
Shells*, table 35), and pressed on a circle in the middle (Roark's *Formulas for Stress and Strain*,
flat plates, from memory)."""


@dataclass(frozen=True)
class Pressed:
    """A plate's seat as cells: middles (k, 2), areas (k,), pressure (k,) under a load of 1 N."""

    plate: Plate
    name: str
    xy_mm: Floats
    area_mm2: Floats
    per_mm2: Floats


def pressed_plates(block: Block, case: PadCase | WrapCase) -> tuple[Pressed, Pressed]:
    """The top plate under its seat or pad, and the bottom plate on what it rests on."""
    top, bottom = block.top, block.bottom
    # The top plate in its own plane: on a tapered block, longer by less than the sums are rough.
    middle = np.array(top.centre_mm)
    patch = case.size_mm if isinstance(case, PadCase) else case.seat_size_mm
    centre = middle + (np.array(case.centre_mm) if isinstance(case, PadCase) else 0.0)
    above = plate_outline(top)
    if patch is not None:
        half = np.array(patch) / 2.0
        above = above.intersection(box(*(centre - half), *(centre + half)))
    if block.hole:
        above = above.difference(_disc(block.hole.centre_mm, block.hole.diameter_mm))
    below = plate_outline(bottom)
    if block.pin:
        hole_mm = max(block.pin.diameter_mm, case.pin_hole_mm)
        below = below.difference(_disc(block.pin.centre_mm, hole_mm))
    _, foot_at = load_points(block, case)
    if isinstance(case, PadCase):
        at = np.asarray(above.centroid.coords)[0]
        foot_at = at
    else:
        at = middle + np.array(case.offset_mm)
    return _pressed(top, "top plate", above, at), _pressed(bottom, "bottom plate", below, foot_at)


def load_points(block: Block, case: PadCase | WrapCase) -> tuple[Floats, Floats]:
    """Where the load's line crosses the top face and the underside, (2,) each."""
    if isinstance(case, PadCase):
        _, at = top_seat(block, None, case.centre_mm)
        return at, at
    _, middle = top_seat(block, None)
    at = middle + np.array(case.offset_mm)
    height_mm = block.top_at_mm(float(at[0]))
    return at, at + height_mm * np.array(case.shear_n) / case.load_n


def _disc(centre_mm: Point, diameter_mm: float) -> BaseGeometry:
    return LineString([centre_mm, centre_mm]).buffer(diameter_mm / 2.0)


def _pressed(plate: Plate, name: str, outline: BaseGeometry, at_mm: Floats) -> Pressed:
    x0, y0, x1, y1 = outline.bounds
    x = x0 + (np.arange(_CELLS) + 0.5) * (x1 - x0) / _CELLS
    y = y0 + (np.arange(_CELLS) + 0.5) * (y1 - y0) / _CELLS
    grid = np.stack(np.meshgrid(x, y), -1).reshape(-1, 2)
    xy = grid[contains_xy(outline, grid[:, 0], grid[:, 1])]
    area = np.full(len(xy), outline.area / len(xy))
    none = np.zeros((len(xy), 0))
    seat = Seat(none.astype(np.int64), none[:, None, :], xy[:, None, :], area[:, None], 0.0)
    return Pressed(plate, name, xy, area, seat_pressure(seat, 1.0, at_mm)[:, 0])


def overhang_loads_n(block: Block, pressed: Pressed) -> list[tuple[str, float]]:
    """Side and load at which each overhang without ribs yields as a cantilever: σ = 6 M / (b t²).

    Cut at the toe of the tube's weld; sides where a rib crosses the cut are left out.
    """
    plate, found = pressed.plate, []
    tube_half = (block.tube.length_mm / 2, block.tube.width_mm / 2)
    top = pressed.name == "top plate"
    leg = block.welds.tube_top_mm if top else block.welds.tube_bottom_mm
    x0, y0, x1, y1 = plate_outline(plate).bounds
    for name, axis, sign in _SIDES:
        cut = tube_half[axis] + leg
        line = (
            LineString([(sign * cut, y0), (sign * cut, y1)])
            if axis == 0
            else LineString([(x0, sign * cut), (x1, sign * cut)])
        )
        if any(
            not rib.inside and line.intersects(rib_strip(rib))
            for rib in block.ribs
            if rib.shape == "full" or rib.side == ("top" if top else "bottom")
        ):
            continue
        arm = np.maximum(sign * pressed.xy_mm[:, axis] - cut, 0.0)
        moment = float(arm @ (pressed.per_mm2 * pressed.area_mm2))
        if moment > 0.0:
            resists = line.length * plate.thickness_mm**2 / 6.0 * plate.steel.yield_mpa
            found.append((name, resists / moment))
    return found


@dataclass(frozen=True)
class Span:
    """Loads at which a plate over the tube's opening first yields, and at which it gives way."""

    yields_n: float
    gives_way_n: float


def span(block: Block, pressed: Pressed) -> Span | None:
    """The plate over the widest opening in the tube, edges built in; None where nothing presses.

    It gives way in a roof of yield lines at 45° from its corners (Johansen, *Yield-line Theory*,
    1962): 8 m (a/b + 1) for a ridge that sinks by 1, with m = 2/√3 fy t²/4 as the plate cannot
    narrow along a line. A bound from above, as any such shape is.
    """
    openings: BaseGeometry = tube_bore(block.tube)
    for rib in block.ribs:
        if rib.inside:
            openings = openings.difference(rib_strip(rib))
    widest = max(getattr(openings, "geoms", [openings]), key=lambda piece: piece.area)
    over = contains_xy(widest, pressed.xy_mm[:, 0], pressed.xy_mm[:, 1]) & (pressed.per_mm2 > 0.0)
    if not over.any():
        return None
    push = pressed.per_mm2[over] * pressed.area_mm2[over]
    share, thick = float(push.sum()), pressed.plate.thickness_mm
    corners = np.asarray(widest.minimum_rotated_rectangle.exterior.coords)
    edges = np.diff(corners[:3], axis=0)
    sides = np.linalg.norm(edges, axis=1)
    long, wide = float(sides.max()), float(sides.min())
    even = share / float(widest.area) * _by_ratio(_EVEN, long / wide, _EVEN_LONG)
    loaded = math.sqrt(float(pressed.area_mm2[over].sum()) / math.pi)
    spread = (1.0 + 0.3) * math.log(2.0 * wide / (math.pi * loaded))
    spread += _by_ratio(_PATCH, long / wide, _PATCH[-1])
    small = 1.5 * share / math.pi * spread
    along = pressed.xy_mm[over] - corners[1]
    first = np.abs(along @ edges[0]) / sides[0]
    second = np.abs(along @ edges[1]) / sides[1]
    to_edge = np.minimum.reduce([first, sides[0] - first, second, sides[1] - second])
    sinks = np.clip(to_edge / (wide / 2.0), 0.0, None)
    fy = pressed.plate.steel.yield_mpa
    line = 2.0 / math.sqrt(3.0) * fy * thick**2 / 4.0
    return Span(
        yields_n=fy * thick**2 / max(even * wide**2, small),
        gives_way_n=8.0 * line * (long / wide + 1.0) / float(push @ sinks),
    )


def under_patch_n(pieces: tuple[Piece, ...], case: PadCase | WrapCase, top: Plate) -> float | None:
    """The load that squashes the part of the stub under a pad or narrow seat.

    Pressure spreads at 45° through the plate (common practice, no source). None where the whole
    top plate is pressed on, or where no steel of the stub stands under the patch.
    """
    size = case.size_mm if isinstance(case, PadCase) else case.seat_size_mm
    if size is None:
        return None
    offset = np.array(case.centre_mm) if isinstance(case, PadCase) else np.zeros(2)
    centre = np.array(top.centre_mm) + offset
    reach = np.array(size) / 2.0 + top.thickness_mm
    under = box(*(centre - reach), *(centre + reach))
    load_n = sum(float(one.outline.intersection(under).area) * one.yield_mpa for one in pieces)
    return load_n if load_n > 0.0 else None


def _by_ratio(column: tuple[float, ...], ratio: float, beyond: float) -> float:
    """Between the table's rows; past its last row, the value for a very long plate."""
    return float(np.interp(ratio, (*_RATIOS, 4.0), (*column, beyond)))
