"""A page drawn in mm of paper, kept as SVG, PDF and PNG: shapes, words, and sizes in both units."""

from dataclasses import dataclass
from pathlib import Path

import matplotlib
from matplotlib.artist import Artist
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure as Canvas
from matplotlib.patches import Polygon
from matplotlib.text import Text

from studies.figures.ground import Ground
from studies.lettering import DPI, INK, quiet, width, wrapped
from studies.shop.sizes import NO_BREAK, show_size
from studies.store import whole_file
from studies.units import OutputUnits

LARGE, SMALL, FINE = 8.6, 5.4, 4.8
"""Heights of type in mm of paper: sizes a thumbnail must show, all others, remarks."""

MM, INCH = OutputUnits(length="mm"), OutputUnits(length="in")

_POINTS_PER_MM = 72.0 / 25.4
_ARROW, _ARROW_HALF = 3.4, 0.95
_GAP = 1.4
_LINE_POINTS = 0.9
_SMALLEST = 3.6
_LINE = 1.4


def sizes_words(sizes_mm: tuple[float, ...]) -> str:
    """Sizes in millimetres and in inches; for example ``16 × 12 mm · 0.630 × 0.472 in``."""
    return " · ".join(show_size(sizes_mm, units).replace(NO_BREAK, " ") for units in (MM, INCH))


def lines_of(text: str, wide: float, height: float, bold: bool = False) -> list[str]:
    """A paragraph in lines that fit ``wide`` mm of paper."""
    return wrapped(text, wide * DPI / 25.4, height * _POINTS_PER_MM, bold)


@dataclass(frozen=True)
class Sized:
    """A size as it stands on a page: what it is in mm, and the words beside its line."""

    size_mm: float
    words: tuple[str, str]


class Page:
    """A page ``wide`` by ``tall`` mm; x to the right and y up from its lower left corner."""

    def __init__(self, wide: float, tall: float) -> None:
        self.wide, self.tall = wide, tall
        self.sizes: list[Sized] = []
        self.words: list[Text] = []
        self.canvas = Canvas(figsize=(wide / 25.4, tall / 25.4))
        FigureCanvasAgg(self.canvas)
        self._axes = self.canvas.add_axes((0.0, 0.0, 1.0, 1.0))
        self._axes.set(xlim=(0.0, wide), ylim=(0.0, tall))
        self._axes.set_axis_off()

    def add(self, artist: Artist) -> None:
        """A shape on top of those already there."""
        artist.set_zorder(1.0 + 1e-3 * len(self._axes.get_children()))
        self._axes.add_artist(artist)

    def text(
        self, x: float, y: float, words: str, height: float, *,
        bold: bool = False, turned: bool = False, ha: str = "center", va: str = "baseline",
    ) -> None:  # fmt: skip
        """One line of words."""
        self.words.append(
            self._axes.text(
                x, y, words, fontsize=height * _POINTS_PER_MM, color=INK, ha=ha, va=va,
                rotation=90.0 if turned else 0.0, weight="bold" if bold else "normal",
                parse_math=False, zorder=9.0,
            )
        )  # fmt: skip

    def across(
        self, start: float, end: float, base: float, off: float, size_mm: float, height: float,
        outside: int = 0,
    ) -> None:  # fmt: skip
        """A size along x, its line ``off`` from ``base``.

        ``outside`` puts the words beyond the line's left (-1) or right (1) end.
        """
        y = base + off
        self._extension(((start, base), (start, y)))
        self._extension(((end, base), (end, y)))
        in_mm, in_inch = self._sized(size_mm)
        bold = height == LARGE
        if outside:
            tip, far = (start, end) if outside < 0 else (end, start)
            tail = tip + outside * 2.2 * _ARROW
            self._line((tail, y), (far, y))
            self._arrow((tip, y), (-outside, 0.0))
            x, ha = tail + outside * _GAP, "right" if outside < 0 else "left"
            self.text(x, y + 1.2, in_mm, height, bold=bold, ha=ha)
            self.text(x, y - 0.6, in_inch, height, bold=bold, ha=ha, va="top")
            return
        self._line((start, y), (end, y))
        self._arrow((start, y), (-1.0, 0.0))
        self._arrow((end, y), (1.0, 0.0))
        self.text((start + end) / 2.0, y + _GAP, in_mm, height, bold=bold)
        self.text((start + end) / 2.0, y - _GAP, in_inch, height, bold=bold, va="top")

    def upright(
        self, low: float, high: float, base: float, off: float, size_mm: float, height: float
    ) -> None:
        """A size along y, its line ``off`` from ``base``."""
        x = base + off
        self._extension(((base, low), (x, low)))
        self._extension(((base, high), (x, high)))
        self._line((x, low), (x, high))
        self._arrow((x, low), (0.0, -1.0))
        self._arrow((x, high), (0.0, 1.0))
        in_mm, in_inch = self._sized(size_mm)
        middle, bold = (low + high) / 2.0, height == LARGE
        room = (high - low - 2.0 * _ARROW) / (width(in_inch, 72.0, bold) * 72.0 / DPI / 72.0)
        height = max(min(height, room), _SMALLEST)
        self.text(x - _GAP, middle, in_mm, height, bold=bold, turned=True, ha="right", va="center")
        self.text(x + _GAP, middle, in_inch, height, bold=bold, turned=True, ha="left", va="center")

    def pointed(
        self, at: tuple[float, float], words_at: tuple[float, float], size_mm: float, what: str = ""
    ) -> None:
        """A size told beside an arrow that points at what has it."""
        x, y = words_at
        self._line(at, (x - _GAP, y))
        long = ((at[0] - x + _GAP) ** 2 + (at[1] - y) ** 2) ** 0.5
        self._arrow(at, ((at[0] - x + _GAP) / long, (at[1] - y) / long))
        in_mm, in_inch = self._sized(size_mm)
        self.text(x, y + 1.2, what + in_mm, SMALL, ha="left")
        self.text(x, y - 0.6, in_inch, SMALL, ha="left", va="top")

    def listed(self, said: list[tuple[str, str]], x: float, y: float) -> None:
        """Names with what is said of each below, from a place down."""
        for number, (name, words) in enumerate(said):
            top = y - number * 2.9 * FINE
            self.text(x, top, name, FINE, bold=True, ha="left")
            self.text(x, top - 1.25 * FINE, words, FINE, ha="left")

    def lines(
        self, said: list[str], x: float, y: float, height: float, bold: bool = False
    ) -> float:
        """Lines from a place down; returns where the next one would stand."""
        for line in said:
            y -= _LINE * height
            self.text(x, y, line, height, bold=bold, ha="left")
        return y

    def save(self, stem: Path, width_pixels: int, title: str, ground: Ground) -> None:
        """Write the page under ``stem`` as SVG, PDF and PNG; each appears whole or not at all."""
        face = "white" if ground == "white" else "none"
        # Letters become outlines in the SVG, so that it looks the same without our type.
        letters = matplotlib.rc_context(
            {"svg.fonttype": "path", "pdf.fonttype": 42, "svg.hashsalt": "gussetry"}
        )
        with letters, quiet():
            for kind, metadata in (
                ("svg", {"Title": title, "Date": None}),
                ("pdf", {"Title": title, "CreationDate": None}),
                ("png", {"Title": title}),
            ):
                with whole_file(stem.with_suffix(f".{kind}")) as half_done:
                    self.canvas.savefig(
                        half_done, format=kind, facecolor=face, metadata=metadata,
                        dpi=width_pixels / (self.wide / 25.4),
                    )  # fmt: skip

    def _sized(self, size_mm: float) -> tuple[str, str]:
        in_mm, in_inch = (
            show_size((size_mm,), units).replace(NO_BREAK, " ") for units in (MM, INCH)
        )
        self.sizes.append(Sized(size_mm, (in_mm, in_inch)))
        return in_mm, in_inch

    def _line(self, start: tuple[float, float], end: tuple[float, float]) -> None:
        xs, ys = zip(start, end, strict=True)
        self._axes.plot(xs, ys, color=INK, linewidth=_LINE_POINTS, solid_capstyle="butt", zorder=8)

    def _extension(self, ends: tuple[tuple[float, float], tuple[float, float]]) -> None:
        """From a little off the shape to a little past the size's line."""
        (x0, y0), (x1, y1) = ends
        long = abs(x1 - x0) + abs(y1 - y0)
        ux, uy = (x1 - x0) / long, (y1 - y0) / long
        self._line((x0 + _GAP * ux, y0 + _GAP * uy), (x1 + _GAP * ux, y1 + _GAP * uy))

    def _arrow(self, tip: tuple[float, float], way: tuple[float, float]) -> None:
        """An arrow head that points along the unit vector ``way``."""
        (x, y), (ux, uy) = tip, way
        back = (x - _ARROW * ux, y - _ARROW * uy)
        self._axes.add_patch(
            Polygon(
                [
                    tip,
                    (back[0] - _ARROW_HALF * uy, back[1] + _ARROW_HALF * ux),
                    (back[0] + _ARROW_HALF * uy, back[1] - _ARROW_HALF * ux),
                ],
                facecolor=INK,
                edgecolor="none",
                zorder=8,
            )
        )
