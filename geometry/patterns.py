"""Gusset patterns: a name, a sentence, and a function that places the ribs on a bare block.

To add one, write a function below and give it a row in ``PATTERNS``.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

from geometry.block import Block, PlateSide, Point, Rib, RibShape
from geometry.plan import plate_plan, unit

END_MARGIN_MM = 2.0
"""What a rib of no given length leaves free between its end (welds included) and a plate edge."""

SET_IN_SHARE = 1 / 8
"""Ribs in line with a wall are set in by this share of the corner radius. Flush with the wall they
would meet the round corner in a feather edge that no torch fills."""


@dataclass(frozen=True)
class RibChoice:
    """What a layout says of its ribs; no length means as long as the plates allow."""

    thickness_mm: float
    length_mm: float | None = None
    shape: RibShape = "full"
    free: tuple[Rib, ...] = ()


@dataclass(frozen=True)
class Pattern:
    """A way to place ribs: ``place`` takes the bare block and the choice and returns the ribs."""

    name: str
    sentence: str
    place: Callable[[Block, RibChoice], tuple[Rib, ...]]


_SIDES = (
    ("front", (1.0, 0.0)),
    ("rear", (-1.0, 0.0)),
    ("left", (0.0, 1.0)),
    ("right", (0.0, -1.0)),
)
_CORNERS = (
    ("front left", (1.0, 1.0)),
    ("front right", (1.0, -1.0)),
    ("rear left", (-1.0, 1.0)),
    ("rear right", (-1.0, -1.0)),
)


def gusseted(block: Block, pattern: Pattern, choice: RibChoice) -> Block:
    """``block`` with the ribs of ``pattern``."""
    return replace(block, ribs=pattern.place(block, choice))


def _plain(_block: Block, _choice: RibChoice) -> tuple[Rib, ...]:
    return ()


def _corner_diagonal(block: Block, choice: RibChoice) -> tuple[Rib, ...]:
    tube = block.tube
    radius = tube.corner_radius_mm
    ribs = []
    for name, (sx, sy) in _CORNERS:
        direction = unit(sx, sy)
        start = (
            sx * (tube.length_mm / 2 - radius) + radius * direction[0],
            sy * (tube.width_mm / 2 - radius) + radius * direction[1],
        )
        ribs.append(_fitted(block, choice, f"{name} rib", start, direction))
    return tuple(ribs)


def _wall_extensions(block: Block, choice: RibChoice) -> tuple[Rib, ...]:
    tube = block.tube
    set_in = tube.corner_radius_mm * SET_IN_SHARE + choice.thickness_mm / 2
    # Where the rib's middle line crosses the round corner.
    radius = tube.corner_radius_mm
    depth = max(radius - set_in, 0.0)
    back = radius - math.sqrt(max(radius**2 - depth**2, 0.0))
    ribs = []
    for name, (sx, sy) in _CORNERS:
        lengthwise = (sx * (tube.length_mm / 2 - back), sy * (tube.width_mm / 2 - set_in))
        crosswise = (sx * (tube.length_mm / 2 - set_in), sy * (tube.width_mm / 2 - back))
        ribs.append(_fitted(block, choice, f"{name} lengthwise rib", lengthwise, (sx, 0.0)))
        ribs.append(_fitted(block, choice, f"{name} crosswise rib", crosswise, (0.0, sy)))
    return tuple(ribs)


def _mid_wall(block: Block, choice: RibChoice) -> tuple[Rib, ...]:
    return tuple(_at_wall(block, choice, name, direction) for name, direction in _SIDES)


def _overhang(block: Block, choice: RibChoice) -> tuple[Rib, ...]:
    return tuple(_at_wall(block, choice, name, direction) for name, direction in _SIDES[:2])


def _inner_cross(block: Block, choice: RibChoice) -> tuple[Rib, ...]:
    tube, half = block.tube, choice.thickness_mm / 2
    x = tube.length_mm / 2 - tube.wall_mm
    y = tube.width_mm / 2 - tube.wall_mm
    bar = Rib(
        "inner lengthwise rib", (-x, 0.0), (1.0, 0.0), 2 * x, choice.thickness_mm, inside=True
    )
    return (
        bar,
        replace(
            bar,
            name="inner left rib",
            start_mm=(0.0, half),
            direction=(0.0, 1.0),
            length_mm=y - half,
        ),
        replace(
            bar,
            name="inner right rib",
            start_mm=(0.0, -half),
            direction=(0.0, -1.0),
            length_mm=y - half,
        ),
    )


def _free(_block: Block, choice: RibChoice) -> tuple[Rib, ...]:
    return choice.free


def _at_wall(block: Block, choice: RibChoice, name: str, direction: Point) -> Rib:
    start = (direction[0] * block.tube.length_mm / 2, direction[1] * block.tube.width_mm / 2)
    return _fitted(block, choice, f"{name} rib", start, direction)


def _fitted(block: Block, choice: RibChoice, name: str, start: Point, direction: Point) -> Rib:
    length = choice.length_mm
    if length is None:
        length = longest_rib_mm(block, start, direction, choice.thickness_mm)
    return Rib(name, start, direction, length, choice.thickness_mm, shape=choice.shape)


def longest_rib_mm(block: Block, start: Point, direction: Point, thickness_mm: float) -> float:
    """How far a rib can run so that it and its welds stay on both plates, END_MARGIN_MM inside.

    Negative when there is no room at all.
    """
    half = thickness_mm / 2 + block.welds.rib_plate_mm
    dx, dy = direction
    reach = math.inf
    sides: tuple[PlateSide, PlateSide] = ("bottom", "top")
    for plate in sides:
        x0, y0, x1, y1 = plate_plan(block, plate).bounds
        for aside in (-half, half):
            x, y = start[0] - aside * dy, start[1] + aside * dx
            if dx:
                edge = x1 - END_MARGIN_MM if dx > 0 else x0 + END_MARGIN_MM
                reach = min(reach, (edge - x) / dx)
            if dy:
                edge = y1 - END_MARGIN_MM if dy > 0 else y0 + END_MARGIN_MM
                reach = min(reach, (edge - y) / dy)
    return reach


PATTERNS = {
    pattern.name: pattern
    for pattern in (
        Pattern("plain", "No ribs: tube and plates only.", _plain),
        Pattern(
            "corner-diagonal",
            "Four ribs run out diagonally from the tube's corners.",
            _corner_diagonal,
        ),
        Pattern(
            "wall-extensions",
            "Pairs of ribs carry both walls on past each corner.",
            _wall_extensions,
        ),
        Pattern("mid-wall", "Four ribs stand at the middle of the walls.", _mid_wall),
        Pattern(
            "overhang",
            "Two ribs stand under the lengthwise overhangs only, front and rear.",
            _overhang,
        ),
        Pattern("inner-cross", "A cross of ribs stands inside the tube.", _inner_cross),
        Pattern("free", "Ribs placed one by one.", _free),
    )
}
