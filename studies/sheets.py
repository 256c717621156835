"""Compose rendered blocks into sheets, laid out in pixels."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.cm import ScalarMappable
from matplotlib.colors import Normalize
from matplotlib.figure import Figure
from matplotlib.patches import Circle
from matplotlib.transforms import IdentityTransform
from numpy.typing import NDArray
from PIL import Image

from studies.lettering import DPI, INK, MARK, quiet, saved_image, width, wrapped
from studies.windows import Scale

_GAP = 30
_TITLE_POINTS, _NAME_POINTS, _TEXT_POINTS, _NOTE_POINTS = 26.0, 22.0, 17.0, 17.0
_LINE = 1.28 * DPI / 72.0
"""Pixels from line to line for each point of type size."""
_BAR_PIXELS = 36
_TICK_PIXELS = 62
_RING_SHARE = 0.042


@dataclass(frozen=True, eq=False)
class Cell:
    """One layout on a sheet: its picture (H, W, 3), two texts, and where its marker lies.

    marker is (pixels from the left, pixels from the top, whether it faces us).
    """

    picture: NDArray[np.uint8]
    title: str
    text: str
    marker: tuple[float, float, bool] | None


def columns(count: int) -> int:
    """How many layouts stand side by side: three at most, to stay legible on a printed page."""
    return 2 if count == 4 else min(3, count)


def cell_width(count: int) -> int:
    """Width in pixels that each of ``count`` layouts is to be rendered at."""
    return {1: 1500, 2: 1150, 3: 900}[columns(count)]


def draw_plain_sheet(cells: list[Cell], title: str, note: str, path: Path) -> None:
    """All blocks unstressed, side by side."""
    _Sheet(cells, title, [(note,)], None).save(path)


def draw_stress_sheet(cells: list[Cell], title: str, scale: Scale, note: str, path: Path) -> None:
    """All layouts under one load on one colour scale, with its legend."""
    over = scale.peak_share > scale.top_share
    spots = f"; small spots reach {100 * scale.peak_share:.0f} %" if over else ""
    legend = (
        f"stress, % of the part's yield{spots}",
        f"movement drawn {scale.exaggeration:g} × larger",
        "ring: where yielding starts (dashed: hidden behind)",
    )
    _Sheet(cells, title, [legend, (note,)], scale).save(path)


class _Sheet:
    """A figure filled from the top down, every height known before anything is drawn.

    What is drawn lies like glass over the pictures, which are laid down pixel for pixel: colours
    and lines stay as they were rendered.
    """

    def __init__(
        self, cells: list[Cell], title: str, notes: Sequence[tuple[str, ...]], scale: Scale | None
    ) -> None:
        self._images = [cell.picture for cell in cells]
        self._wide = max(image.shape[1] for image in self._images)
        across = columns(len(cells))
        self._width = across * (self._wide + _GAP) + _GAP
        heading = wrapped(title, self._width - 2 * _GAP, _TITLE_POINTS, True, 3)
        names = [wrapped(cell.title, self._wide, _NAME_POINTS, True, 3) for cell in cells]
        texts = [wrapped(cell.text, self._wide, _TEXT_POINTS) for cell in cells]
        foot = [line for note in notes for line in _note(note, self._width - 4 * _GAP)]
        rows = [range(at, min(at + across, len(cells))) for at in range(0, len(cells), across)]
        heights = [
            _tall(max(len(names[i]) for i in row), _NAME_POINTS)
            + max(self._images[i].shape[0] for i in row)
            + _tall(max(len(texts[i]) for i in row), _TEXT_POINTS)
            + 2 * _GAP
            for row in rows
        ]
        head, legend = _tall(len(heading), _TITLE_POINTS), _tall(len(foot), _NOTE_POINTS)
        bar = _BAR_PIXELS + _TICK_PIXELS if scale else 0
        self._height = 2 * _GAP + head + sum(heights) + bar + legend + _GAP
        self.figure = Figure(figsize=(self._width / DPI, self._height / DPI), dpi=DPI)
        self.figure.patch.set_visible(False)
        self._canvas: Any = FigureCanvasAgg(self.figure)  # its library leaves it untyped
        self._ground = Image.new("RGBA", self._canvas.get_width_height(), "white")
        self._words(heading, self._width / 2, _GAP, _TITLE_POINTS, True)
        top = 2 * _GAP + head
        for row, height in zip(rows, heights, strict=True):
            name_lines = max(len(names[i]) for i in row)
            for i in row:
                left = _GAP + (i - row.start) * (self._wide + _GAP)
                blank = _tall(name_lines - len(names[i]), _NAME_POINTS)
                self._words(names[i], left + self._wide / 2, top + blank, _NAME_POINTS, True)
                self._picture(
                    cells[i], self._images[i], left, top + _tall(name_lines, _NAME_POINTS)
                )
                under = top + _tall(name_lines, _NAME_POINTS) + self._images[i].shape[0]
                self._words(texts[i], left + self._wide / 2, under, _TEXT_POINTS, False)
            top += height
        if scale:
            self._bar(scale, top)
        self._words(foot, self._width / 2, top + bar, _NOTE_POINTS, False)

    def save(self, path: Path) -> None:
        """Write the sheet as PNG."""
        with quiet():
            self._canvas.draw()
        over = Image.fromarray(np.asarray(self._canvas.buffer_rgba()))
        saved_image(Image.alpha_composite(self._ground, over).convert("RGB"), path)

    def _words(self, lines: list[str], x: float, top: float, points: float, bold: bool) -> None:
        for number, line in enumerate(lines):
            self.figure.text(
                x / self._width,
                1.0 - (top + number * _LINE * points) / self._height,
                line,
                ha="center",
                va="top",
                fontsize=points,
                weight="bold" if bold else "normal",
                color=INK,
                parse_math=False,
            )

    def _picture(self, cell: Cell, image: np.ndarray, left: int, top: int) -> None:
        wide = image.shape[1]
        self._ground.paste(Image.fromarray(image), (left, top))
        if cell.marker is None:
            return
        x, y, faces_us = cell.marker
        for colour, thickness in (("white", 9.0), (MARK, 5.0)):
            self.figure.add_artist(
                Circle(
                    (left + x, self._height - top - y),
                    _RING_SHARE * wide,
                    transform=IdentityTransform(),
                    fill=False,
                    edgecolor=colour,
                    linewidth=thickness * wide / 900.0,
                    linestyle="-" if faces_us else (0, (1.6, 1.1)),
                )
            )

    def _bar(self, scale: Scale, top: float) -> None:
        axes = self.figure.add_axes(
            (0.12, 1.0 - (top + _BAR_PIXELS) / self._height, 0.76, _BAR_PIXELS / self._height)
        )
        over = scale.peak_share > scale.top_share
        bar = self.figure.colorbar(
            ScalarMappable(Normalize(0.0, 100.0 * scale.top_share), "viridis"),
            cax=axes,
            orientation="horizontal",
            extend="max" if over else "neither",
        )
        bar.ax.xaxis.set_major_formatter("{x:g} %")
        bar.ax.tick_params(labelsize=_NOTE_POINTS, labelcolor=INK)


def _note(remarks: tuple[str, ...], width_pixels: int) -> list[str]:
    """Remarks on one line where they fit, else each on lines of its own."""
    line = "  ·  ".join(remarks)
    if not line or width(line, _NOTE_POINTS) <= width_pixels:
        return [line] if line else []
    return [part for one in remarks for part in wrapped(one, width_pixels, _NOTE_POINTS)]


def _tall(lines: int, points: float) -> int:
    return math.ceil(lines * _LINE * points)
