"""What all layouts of a sheet share: viewpoint, drawing scale, colour scale and exaggeration."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import meshio
import numpy as np

from fea.mesh import Floats
from studies.fields import read_field
from studies.windows import Frame, Scale

VIEWPOINT = (1.0, -1.25, 0.55)
"""Direction from the block to the eye: from the front, the right and a little above."""

_MOVEMENT_SHARE = 0.05
_SCALE_PERCENTILE = 99.7
_MARGIN_SHARE = 0.025
_ROUNDING = 1e-6
"""Of what a field file holds, in single precision."""


@dataclass(frozen=True)
class Seen:
    """One layout under one load, reduced to what a sheet must know of it before it is drawn.

    across_mm (n, 2) and moved_mm (n, 2) are the mesh's points and their displacement in the
    picture plane, to the right and up; ``furthest_mm`` and ``size_mm`` are in space. All are at
    the load solved for but the shares of yield, which are at the load demanded.
    """

    across_mm: Floats
    moved_mm: Floats
    common_share: float
    highest_share: float
    furthest_mm: float
    size_mm: float


def picture_axes() -> tuple[Floats, Floats]:
    """Unit vectors (3,) to the right and up in a picture seen from VIEWPOINT, z upright."""
    towards = -np.array(VIEWPOINT) / np.linalg.norm(VIEWPOINT)
    right = np.cross(towards, (0.0, 0.0, 1.0))
    right /= np.linalg.norm(right)
    return right, np.cross(right, towards)


def seen(field: Path) -> Seen:
    """Read a field file once and keep what sheets need of it."""
    return seen_in(read_field(field))


def seen_in(grid: meshio.Mesh) -> Seen:
    """What sheets need of a field."""
    axes = np.column_stack(picture_axes())
    share, moved = grid.point_data["share_of_yield"], grid.point_data["displacement_mm"]
    return Seen(
        across_mm=grid.points @ axes,
        moved_mm=moved @ axes,
        common_share=float(np.percentile(share, _SCALE_PERCENTILE)),
        highest_share=float(share.max()),
        furthest_mm=float(np.abs(moved).max()),
        size_mm=float(np.ptp(grid.points, axis=0).max()),
    )


def shared_scale(layouts: Sequence[Seen], demand: float) -> Scale:
    """One colour scale and one exaggeration for all, at ``demand`` times the load solved for.

    The scale ends at a round number that all but a few small spots stay under, and the largest
    movement is drawn at most a twentieth of the block's size.
    """
    size = max(one.size_mm for one in layouts)
    furthest = demand * max(one.furthest_mm for one in layouts)
    return Scale(
        top_share=_rounded_up(max(one.common_share for one in layouts)),
        peak_share=max(one.highest_share for one in layouts),
        exaggeration=_rounded_down(_MOVEMENT_SHARE * size / furthest),
    )


def shared_frame(layouts: Sequence[Seen], drawn_movement: float, width_pixels: int) -> Frame:
    """The one window that holds every layout, moved ``drawn_movement`` times its displacement."""
    drawn = [one.across_mm + drawn_movement * one.moved_mm for one in layouts]
    low = np.min([points.min(axis=0) for points in drawn], axis=0)
    high = np.max([points.max(axis=0) for points in drawn], axis=0)
    width, height = (high - low) + 2.0 * _MARGIN_SHARE * float((high - low).max())
    right, up = picture_axes()
    middle = right * (low[0] + high[0]) / 2.0 + up * (low[1] + high[1]) / 2.0
    return Frame(
        middle_mm=(float(middle[0]), float(middle[1]), float(middle[2])),
        half_height_mm=float(height) / 2.0,
        pixels=(width_pixels, round(width_pixels * float(height / width))),
    )


def _rounded_up(value: float) -> float:
    step = 10.0 ** math.floor(math.log10(value))
    return next(
        m * step
        for m in (1.0, 1.2, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)
        if m * step >= value * (1.0 - _ROUNDING)
    )


def _rounded_down(value: float) -> float:
    step = 10.0 ** math.floor(math.log10(value))
    return next(m * step for m in (5.0, 2.0, 1.0) if m * step <= value * (1.0 + _ROUNDING))
