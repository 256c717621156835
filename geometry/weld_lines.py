"""A welded joint as a named line: what a weld check needs to know of it."""

from dataclasses import dataclass
from typing import Literal

Kind = Literal["tube end", "rib on plate", "rib on tube"]
Point3 = tuple[float, float, float]


@dataclass(frozen=True)
class Bead:
    """One fillet of a joint: how far outward of the line its root lies, and between what angle."""

    arm_mm: float
    angle_deg: float


@dataclass(frozen=True)
class WeldedSteel:
    """What a weld check asks of a part joined."""

    name: str
    ultimate_mpa: float
    thickness_mm: float


@dataclass(frozen=True)
class WeldLine:
    """A joint as a line of stations.

    leg_mm is 0 where the joint has no fillet; ``beads`` are then those it would have. ``length_mm``
    is that of one bead. ``reached`` says whether a torch gets there. ``places`` says in words where
    each station lies. ``parts`` are what is stood on and what stands.
    """

    name: str
    kind: Kind
    leg_mm: float
    beads: tuple[Bead, ...]
    length_mm: float
    spacing_mm: float
    closed: bool
    reached: bool
    points_mm: tuple[Point3, ...]
    places: tuple[str, ...]
    parts: tuple[WeldedSteel, WeldedSteel]
    weld_ultimate_mpa: float | None


@dataclass(frozen=True)
class WeldPlan:
    """All joints of a block, and the plates from above: least x and y, then largest."""

    lines: tuple[WeldLine, ...]
    bottom_mm: tuple[float, float, float, float]
    top_mm: tuple[float, float, float, float]
