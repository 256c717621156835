"""Hollow sections as published: corner radii, design walls and section properties."""

import math
from dataclasses import dataclass
from typing import Literal

TubeStandard = Literal["EN 10219", "EN 10210", "ASTM A500", "ASTM A1085"]

A500_DESIGN_SHARE = 0.93
"""AISC 360 B4.2: the design wall of ASTM A500 tube is 0.93 of the nominal one, of A1085 all."""


def outer_corner_radius_mm(standard: TubeStandard, wall_mm: float) -> float:
    """Outer corner radius by product standard and design wall.

    EN 10219-2 (cold formed, from memory): 2t to 6 mm, 2.5t to 10 mm, 3t above. EN 10210-2 (hot
    finished): 1.5t. ASTM: 2t of the design wall, which reproduces AISC's tables.
    """
    if standard == "EN 10210":
        return 1.5 * wall_mm
    if standard == "EN 10219":
        return (2.0 if wall_mm <= 6.0 else 2.5 if wall_mm <= 10.0 else 3.0) * wall_mm
    return 2.0 * wall_mm


def inner_corner_radius_mm(standard: TubeStandard, wall_mm: float) -> float:
    """Inner corner radius: t by EN 10210-2, else the outer one less the wall."""
    if standard == "EN 10210":
        return wall_mm
    return outer_corner_radius_mm(standard, wall_mm) - wall_mm


def design_wall_mm(standard: TubeStandard | None, wall_mm: float, reduced: bool | None) -> float:
    """The wall to design with; ``reduced`` says whether, None leaves it to the standard."""
    wanted = standard == "ASTM A500" if reduced is None else reduced
    return wall_mm * A500_DESIGN_SHARE if wanted else wall_mm


@dataclass(frozen=True)
class SectionProperties:
    """Area, second moment and plastic modulus about the axis across the depth."""

    area_mm2: float
    second_moment_mm4: float
    plastic_modulus_mm3: float


def tube_properties(
    depth_mm: float, width_mm: float, wall_mm: float, outer_mm: float, inner_mm: float
) -> SectionProperties:
    """Rectangular hollow section with round corners, bending across ``depth_mm``.

    Outer less inner rounded rectangle; each is a cross of rectangles and four quarter discs, a
    quarter disc's centroid lying 4r/3π from its centre.
    """
    a, i, z = _rounded(depth_mm, width_mm, outer_mm)
    b, j, y = _rounded(depth_mm - 2 * wall_mm, width_mm - 2 * wall_mm, inner_mm)
    return SectionProperties(a - b, i - j, z - y)


def _rounded(depth: float, width: float, radius: float) -> tuple[float, float, float]:
    h, r = depth / 2.0, radius
    area = depth * width - (4.0 - math.pi) * r**2
    # Two rectangles: full depth less corners, and the middle between the corner centres.
    second = (width - 2 * r) * depth**3 / 12.0 + 2 * r * (depth - 2 * r) ** 3 / 12.0
    quarter, arm = math.pi * r**2 / 4.0, h - r + 4.0 * r / (3.0 * math.pi)
    own = r**4 * (math.pi / 16.0 - 4.0 / (9.0 * math.pi))
    second += 4.0 * (own + quarter * arm**2)
    plastic = (width - 2 * r) * depth**2 / 4.0 + 2 * r * (depth - 2 * r) ** 2 / 4.0
    plastic += 4.0 * quarter * arm
    return area, second, plastic
