"""What all layouts of a sheet are shown through: one window, one scale."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Frame:
    """A window on the block seen from ``scenes.VIEWPOINT`` without perspective.

    middle_mm is a point in space that comes to lie in the window's middle.
    """

    middle_mm: tuple[float, float, float]
    half_height_mm: float
    pixels: tuple[int, int]


@dataclass(frozen=True)
class Scale:
    """Colours and movement that all layouts share under one load.

    ``top_share`` of yield has the scale's last colour; ``peak_share`` is the highest anywhere.
    """

    top_share: float
    peak_share: float
    exaggeration: float
