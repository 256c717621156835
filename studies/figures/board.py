"""Renders and words side by side in one picture, pixel for pixel."""

from functools import cache
from pathlib import Path

import matplotlib
from PIL import Image, ImageDraw, ImageFont

from studies.figures.ground import Ground, grounded
from studies.lettering import INK
from studies.store import whole_file

_PAGE_MM = 300.0
_LINE = 1.4


@cache
def _font(pixels: int, bold: bool) -> ImageFont.FreeTypeFont:
    folder = Path(matplotlib.get_data_path()) / "fonts" / "ttf"
    return ImageFont.truetype(folder / f"DejaVuSans{'-Bold' if bold else ''}.ttf", pixels)


class Board:
    """A picture ``wide`` by ``tall`` pixels; heights of type are in mm of a page 300 mm wide."""

    def __init__(self, wide: int, tall: int) -> None:
        self.image = Image.new("RGBA", (wide, tall), (255, 255, 255, 0))
        self._draw = ImageDraw.Draw(self.image)
        self._mm = wide / _PAGE_MM

    def place(self, image: Image.Image, x: float, y: float) -> None:
        """Put a render with its upper left corner at a pixel."""
        self.image.alpha_composite(image, (round(x), round(y)))

    def words(
        self, x: float, y: float, said: list[str], height: float, *, bold: bool = False,
        anchor: str = "l",
    ) -> float:  # fmt: skip
        """Lines from a pixel down, ``anchor`` l, m or r; returns where the next would start."""
        font = _font(max(round(height * self._mm), 4), bold)
        for line in said:
            self._draw.text((x, y), line, fill=INK, font=font, anchor=f"{anchor}a")
            y += _LINE * height * self._mm
        return y

    def line(self, points: list[tuple[float, float]], width_mm: float = 0.35) -> None:
        """A thin line through pixels that starts with a dot."""
        self._draw.line(points, fill=INK, width=max(round(width_mm * self._mm), 1))
        (x, y), size = points[0], 2.0 * width_mm * self._mm
        self._draw.ellipse((x - size, y - size, x + size, y + size), fill=INK)

    def save(self, path: Path, ground: Ground) -> None:
        """Keep it as PNG; the file appears whole or not at all."""
        keep(self.image, path, ground)


def tall_words(count: int, height: float, wide: int) -> int:
    """Pixels that lines of type take on a board."""
    return round(count * _LINE * height * wide / _PAGE_MM)


def keep(image: Image.Image, path: Path, ground: Ground) -> None:
    """Keep a picture as PNG on the ground asked for."""
    with whole_file(path) as half_done:
        grounded(image, ground).save(half_done, format="png", compress_level=6)
