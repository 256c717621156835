"""Printed pages: drawings to scale and inside their room; PDF and HTML from the same content."""

import math
import re
from html.parser import HTMLParser

import pytest

from studies.paper import (
    PAGE_MM,
    Bullets,
    Cautions,
    Circle,
    Dimension,
    Drawing,
    Heading,
    Label,
    Line,
    NewPage,
    PaperSize,
    Sheet,
    Table,
    Text,
    paper_for,
)
from studies.paper_drawing import POINTS_PER_MM, placed, text_width
from studies.paper_html import html_text
from studies.paper_pdf import column_widths, pdf_bytes

PLATE = Drawing(
    (
        Line(((0.0, 0.0), (150.0, 0.0), (150.0, 110.0), (0.0, 110.0)), fill="steel", closed=True),
        Circle((75.0, 55.0), 9.0),
        Line(((75.0, -5.0), (75.0, 115.0)), style="centre"),
        Dimension((0.0, 0.0), (150.0, 0.0), "150 mm", -9.0),
        Dimension((150.0, 0.0), (150.0, 110.0), "110 mm", -9.0),
        Label((75.0, 100.0), "FRONT", bold=True),
    ),
    "Top plate <seen from above>",
    "A plate with a hole",
)
TABLE = Table(
    ("piece", "size", "quantity"),
    tuple((f"rib {number}", "12.5 × 44 mm", "4") for number in range(80)),
    (2,),
    "All pieces",
)
SHEET = Sheet(
    "Riser & <block>",
    "one block – σ ≤ ⌀",
    (Heading("Cut"), Text("Plain."), Bullets(("one",)), TABLE, PLATE, NewPage(), Cautions()),
)


@pytest.mark.parametrize(("width", "height_mm"), [(500.0, 90.0), (180.0, 200.0), (140.0, 40.0)])
def test_a_drawing_fits_its_room_undistorted(width: float, height_mm: float) -> None:
    drawing = Drawing(PLATE.shapes, "", "", height_mm)
    drawn = placed(drawing, width)
    assert drawn.width <= 1.02 * width
    assert drawn.height <= 1.02 * height_mm * POINTS_PER_MM
    plate, ring = drawn.strokes[:2]
    wide, tall = math.dist(*plate.points[:2]), math.dist(*plate.points[1:3])
    assert wide / tall == pytest.approx(150.0 / 110.0)
    across = max(x for x, _ in ring.points) - min(x for x, _ in ring.points)
    assert across / wide == pytest.approx(18.0 / 150.0, rel=1e-3)


def test_a_drawing_with_room_fills_it_and_keeps_everything_inside() -> None:
    drawn = placed(PLATE, 500.0)
    assert drawn.height == pytest.approx(90.0 * POINTS_PER_MM, rel=0.02)
    every = [point for stroke in drawn.strokes for point in stroke.points]
    assert all(0.0 <= x <= drawn.width and 0.0 <= y <= drawn.height for x, y in every)


def test_words_keep_upright_on_lines_drawn_either_way() -> None:
    for start, end in (
        ((0.0, 0.0), (0.0, 9.0)),
        ((0.0, 9.0), (0.0, 0.0)),
        ((9.0, 0.0), (0.0, 0.0)),
    ):
        (words,) = placed(Drawing((Dimension(start, end, "9"),), "", ""), 300.0).words
        assert -90.0 < words.turn_deg <= 90.0


@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_the_pdf_has_pages_of_the_paper_asked_for(size: PaperSize) -> None:
    content = pdf_bytes(SHEET, size)
    boxes = re.findall(rb"/MediaBox \[ 0 0 ([\d.]+) ([\d.]+) \]", content)
    wanted = [side * POINTS_PER_MM for side in PAGE_MM[size]]
    assert len(boxes) >= 4
    for box in boxes:
        assert [float(side) for side in box] == pytest.approx(wanted, abs=0.1)
    assert content == pdf_bytes(SHEET, size)


class _Page(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.text = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        assert not {"src", "href"} & {name for name, _ in attrs}

    def handle_data(self, data: str) -> None:
        self.text += data


def test_the_html_says_the_same_and_needs_nothing_from_outside() -> None:
    page = _Page()
    page.feed(html_text(SHEET, "A4"))
    assert "Riser & <block>" in page.text
    assert "block" not in page.tags
    assert page.tags.count("tr") == 81
    assert page.tags.count("path") == len(placed(PLATE, 500.0).strokes)
    for words in ("Plain.", "one", "150 mm", "rib 79", "Top plate <seen from above>", "Cautions"):
        assert words in page.text


def test_the_paper_goes_with_the_units() -> None:
    assert (paper_for("in"), paper_for("mm")) == ("Letter", "A4")


def test_a_figure_and_its_unit_stay_on_one_line() -> None:
    """A column is never made narrower than its longest word, a figure with its unit included."""
    room = 200.0
    table = Table(("leg", "hint"), (("3/16\u00a0in", "opposite sides in turn " * 8),))
    widths = column_widths(table, room)
    assert sum(widths) == pytest.approx(room)
    assert widths[0] > text_width("3/16\u00a0in", 10.0)
