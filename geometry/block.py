"""What a block is: tube stub, two plates, pin, hole, ribs and welds, all in millimetres.

Axes: x lengthwise (along the leaf spring, +x is the front), y crosswise (+y is the left), z up.
The origin is the tube's centre line at the underside of the bottom plate.

On a tapered block the top plate, its hole included, is turned about the crosswise line through the
hole's centre on its underside. Sizes and places on the top plate are measured along the plate;
tube, ribs and their welds stand upright and are cut to the slope.
"""

import math
from dataclasses import dataclass
from typing import Literal

from fea.steel import Steel

Point = tuple[float, float]
RibShape = Literal["full", "triangle"]
PlateSide = Literal["bottom", "top"]


@dataclass(frozen=True)
class Tube:
    """A stub of rectangular hollow section standing on its sawn end.

    ``length_mm`` and ``width_mm`` are outside sizes along x and y; ``wall_mm`` is the design wall
    (already reduced where the product standard says so); ``corner_radius_mm`` is the outer one, and
    ``bore_radius_mm`` the inner one where it is not the outer one less the wall.
    """

    length_mm: float
    width_mm: float
    wall_mm: float
    corner_radius_mm: float
    height_mm: float
    steel: Steel
    bore_radius_mm: float | None = None

    @property
    def inner_radius_mm(self) -> float:
        """Inner corner radius: as given, or the outer one less the wall, never negative."""
        if self.bore_radius_mm is not None:
            return self.bore_radius_mm
        return max(self.corner_radius_mm - self.wall_mm, 0.0)


@dataclass(frozen=True)
class Plate:
    """A flat plate; ``centre_mm`` is where its middle lies from the tube's centre line."""

    length_mm: float
    width_mm: float
    thickness_mm: float
    steel: Steel
    centre_mm: Point = (0.0, 0.0)


@dataclass(frozen=True)
class Pin:
    """Locating pin, a round bar welded under the bottom plate."""

    diameter_mm: float
    length_mm: float
    steel: Steel
    centre_mm: Point = (0.0, 0.0)


@dataclass(frozen=True)
class Hole:
    """Locating hole, drilled through the top plate."""

    diameter_mm: float
    centre_mm: Point = (0.0, 0.0)


@dataclass(frozen=True)
class Rib:
    """An upright flat bar between the plates.

    Its centre line starts at ``start_mm`` on (or inside) the tube wall and runs ``length_mm``
    along the unit vector ``direction``; the mesher cuts the start to the tube's skin, corner
    radius included. A ``full`` rib reaches both plates. A ``triangle`` runs along the plate named
    by ``side`` and slopes down to a nose as tall as it is thick; at the tube it stops short of the
    other plate, so that the tube's weld there passes it.
    """

    name: str
    start_mm: Point
    direction: Point
    length_mm: float
    thickness_mm: float
    shape: RibShape = "full"
    side: PlateSide = "top"
    inside: bool = False


@dataclass(frozen=True)
class Welds:
    """Leg length of the fillet weld at each joint; zero means fused, with no fillet body."""

    tube_bottom_mm: float = 0.0
    tube_top_mm: float = 0.0
    rib_plate_mm: float = 0.0
    rib_tube_mm: float = 0.0
    steel: Steel | None = None


@dataclass(frozen=True)
class Block:
    """One block, ready to be checked, meshed, weighed and cut."""

    tube: Tube
    bottom: Plate
    top: Plate
    ribs: tuple[Rib, ...]
    rib_steel: Steel
    welds: Welds
    pin: Pin | None = None
    hole: Hole | None = None
    taper_deg: float = 0.0

    @property
    def slope(self) -> float:
        """Rise of the top plate for each millimetre towards the front."""
        return math.tan(math.radians(self.taper_deg))

    @property
    def tilt_cos(self) -> float:
        """How much shorter the top plate looks from above."""
        return math.cos(math.radians(self.taper_deg))

    @property
    def pivot_x_mm(self) -> float:
        """Where lengthwise heights are as given: at the hole, else the pin, else mid-tube."""
        through = self.hole or self.pin
        return through.centre_mm[0] if through else 0.0

    @property
    def tube_foot_mm(self) -> float:
        """Height of the tube's lower end above the origin."""
        return self.bottom.thickness_mm

    @property
    def tube_head_mm(self) -> float:
        """Height of the tube's upper end above the origin; on a tapered block at the hole."""
        return self.bottom.thickness_mm + self.tube.height_mm

    def head_at_mm(self, x_mm: float) -> float:
        """Height of the top plate's underside, level ``x_mm`` from the tube's middle."""
        return self.tube_head_mm + self.slope * (x_mm - self.pivot_x_mm)

    def top_at_mm(self, x_mm: float) -> float:
        """Height of the top plate's upper side, level ``x_mm`` from the tube's middle."""
        return self.head_at_mm(x_mm) + self.top.thickness_mm / self.tilt_cos

    @property
    def height_mm(self) -> float:
        """Height from the underside of the bottom plate to the top, upright through the hole."""
        return self.top_at_mm(self.pivot_x_mm)

    @property
    def tube_sides_mm(self) -> tuple[float, float]:
        """Height of the tube's rear wall and of its front wall, measured on their outsides."""
        half = self.tube.length_mm / 2
        return self.head_at_mm(-half) - self.tube_foot_mm, self.head_at_mm(half) - self.tube_foot_mm


@dataclass(frozen=True)
class Layout:
    """A block with one gusset arrangement, under the name the user gave it."""

    name: str
    pattern: str
    sentence: str
    block: Block
    baseline: bool = False
