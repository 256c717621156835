"""What stands on a printed page, said once and rendered to PDF and HTML alike.

A ``Sheet`` is a title and blocks: headings, text, tables, drawings, pictures, cautions. See
``paper_pdf.pdf_bytes`` and ``paper_html.html_text`` for the two renderers.
"""

from dataclasses import dataclass
from typing import Literal

from studies.cautions import CAUTIONS

PaperSize = Literal["A4", "Letter"]
Point = tuple[float, float]
Style = Literal["outline", "thin", "hidden", "centre", "mark"]
"""Thick edges; thin lines; dashed for what is hidden; dash-dot for middles; the warning colour."""

Fill = Literal["none", "steel", "rib", "weld", "mark"]
Anchor = Literal["start", "middle", "end"]


@dataclass(frozen=True)
class Heading:
    """A heading; it stays on the page of what follows it."""

    text: str


@dataclass(frozen=True)
class Text:
    """A paragraph."""

    text: str
    bold: bool = False


@dataclass(frozen=True)
class Bullets:
    """Short sentences, one below another."""

    items: tuple[str, ...]


@dataclass(frozen=True)
class Table:
    """Rows of text ready to print; ``numbers`` are the columns set to the right."""

    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numbers: tuple[int, ...] = ()
    caption: str = ""
    last_row_is_total: bool = False


@dataclass(frozen=True)
class Picture:
    """A PNG picture; ``height_mm`` is the most it may take on paper."""

    png: bytes
    caption: str
    alt: str
    height_mm: float = 150.0


@dataclass(frozen=True)
class Line:
    """A line through points, x to the right and y up, in the drawing's own units."""

    points: tuple[Point, ...]
    style: Style = "outline"
    fill: Fill = "none"
    closed: bool = False


@dataclass(frozen=True)
class Circle:
    """A circle in the drawing's own units."""

    centre: Point
    radius: float
    style: Style = "outline"
    fill: Fill = "none"


@dataclass(frozen=True)
class Label:
    """Words at a place; they keep their size on paper whatever the drawing's scale."""

    at: Point
    text: str
    anchor: Anchor = "middle"
    bold: bool = False
    style: Style = "outline"


@dataclass(frozen=True)
class Dimension:
    """A dimension line ``offset_mm`` of paper to the left of the way from ``start`` to ``end``."""

    start: Point
    end: Point
    text: str
    offset_mm: float = 8.0


Shape = Line | Circle | Label | Dimension


@dataclass(frozen=True)
class Drawing:
    """Shapes drawn as large as ``height_mm`` of paper and the page's width allow."""

    shapes: tuple[Shape, ...]
    caption: str
    alt: str
    height_mm: float = 90.0


@dataclass(frozen=True)
class Cautions:
    """The cautions, in a frame."""

    sentences: tuple[str, ...] = CAUTIONS


@dataclass(frozen=True)
class NewPage:
    """What follows starts on a new page."""


Block = Heading | Text | Bullets | Table | Picture | Drawing | Cautions | NewPage


@dataclass(frozen=True)
class Sheet:
    """A document: ``under`` is one line below the title."""

    title: str
    under: str
    blocks: tuple[Block, ...]


PAGE_MM: dict[PaperSize, tuple[float, float]] = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
MARGIN_MM = 15.0
INK, SOFT, RULE, TINT, MARK = "#1c2126", "#4d5761", "#aab2b9", "#eef1f0", "#a8124f"
FILLS: dict[Fill, str] = {
    "none": "none",
    "steel": "#e3e8ea",
    "rib": "#9fc2ca",
    "weld": "#e2b04a",
    "mark": "#f3d3df",
}


def paper_for(length_unit: str) -> PaperSize:
    """The paper that goes with a unit of length: Letter with inches, else A4."""
    return "Letter" if length_unit == "in" else "A4"
