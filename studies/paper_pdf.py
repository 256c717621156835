"""A sheet as PDF."""

import io
from xml.sax.saxutils import escape

from reportlab.lib.colors import HexColor
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import (
    CondPageBreak,
    Flowable,
    Image,
    KeepTogether,
    PageBreak,
    Paragraph,
    SimpleDocTemplate,
    Spacer,
)
from reportlab.platypus import Table as Grid

from studies.paper import (
    INK,
    MARGIN_MM,
    MARK,
    PAGE_MM,
    RULE,
    SOFT,
    TINT,
    Block,
    Bullets,
    Cautions,
    Drawing,
    Heading,
    NewPage,
    PaperSize,
    Picture,
    Sheet,
    Table,
    Text,
)
from studies.paper_drawing import (
    LABEL_POINTS,
    POINTS_PER_MM,
    Placed,
    Words,
    fonts,
    placed,
    text_width,
)

_BODY, _CELL, _SMALL = 11.0, 10.0, 9.0
_CELL_PAD = 4.0
_TABLE_START = 110.0
"""What must be free below a caption for a table to start on the page, in points."""


def pdf_bytes(sheet: Sheet, size: PaperSize) -> bytes:
    """The sheet as a PDF file; the same sheet always gives the same bytes."""
    fonts()
    margin = MARGIN_MM * POINTS_PER_MM
    page = (PAGE_MM[size][0] * POINTS_PER_MM, PAGE_MM[size][1] * POINTS_PER_MM)
    held = io.BytesIO()
    document = SimpleDocTemplate(
        held,
        pagesize=page,
        leftMargin=margin,
        rightMargin=margin,
        topMargin=margin,
        bottomMargin=margin + 4 * POINTS_PER_MM,
        title=sheet.title,
        author="",
        subject=sheet.under,
        creator="gussetry",
        invariant=1,
    )
    # The frame that the pages' text stands in keeps six points free on each side.
    room = (page[0] - 2 * margin - 12.0, page[1] - 2 * margin - 60.0)
    story: list[Flowable] = [
        Paragraph(escape(sheet.title), _style(17.0, bold=True, after=2.0)),
        Paragraph(escape(sheet.under), _style(_CELL, colour=SOFT, after=8.0)),
    ]
    for block, following in zip(sheet.blocks, (*sheet.blocks[1:], None), strict=True):
        if isinstance(block, Heading):
            story.append(CondPageBreak(_headed(following, room)))
        story += _flowables(block, room)

    def foot(canvas: Canvas, _document: object) -> None:
        canvas.saveState()
        canvas.setFont("Plain", _SMALL)
        canvas.setFillColor(HexColor(SOFT))
        canvas.drawString(margin + 6.0, 0.65 * margin, _cut(sheet.title, room[0] - 60.0))
        canvas.drawRightString(
            page[0] - margin - 6.0, 0.65 * margin, f"page {canvas.getPageNumber()}"
        )
        canvas.restoreState()

    document.build(story, onFirstPage=foot, onLaterPages=foot)
    return held.getvalue()


def _style(
    points: float,
    bold: bool = False,
    colour: str = INK,
    before: float = 0.0,
    after: float = 4.0,
    right: bool = False,
    indent: float = 0.0,
) -> ParagraphStyle:
    return ParagraphStyle(
        "p",
        fontName=fonts()[bold],
        fontSize=points,
        leading=1.28 * points,
        textColor=HexColor(colour),
        spaceBefore=before,
        spaceAfter=after,
        alignment=2 if right else 0,
        leftIndent=indent,
        splitLongWords=1,
    )


def _headed(following: Block | None, room: tuple[float, float]) -> float:
    """What must be free on a page for a heading and the start of what follows it, in points."""
    if isinstance(following, Drawing):
        return placed(following, room[0]).height + 70.0
    if isinstance(following, Picture):
        return following.height_mm * POINTS_PER_MM + 70.0
    return _TABLE_START + 40.0


def _flowables(block: Block, room: tuple[float, float]) -> list[Flowable]:
    if isinstance(block, Heading):
        return [Paragraph(escape(block.text), _style(13.5, bold=True, before=10.0, after=4.0))]
    if isinstance(block, Text):
        return [Paragraph(escape(block.text), _style(_BODY, bold=block.bold))]
    if isinstance(block, Bullets):
        return [
            Paragraph(escape(item), _style(_BODY, indent=12.0, after=2.5), bulletText="•")
            for item in block.items
        ]
    if isinstance(block, Table):
        return _table(block, room[0])
    if isinstance(block, Cautions):
        return [_framed(block, room[0])]
    if isinstance(block, NewPage):
        return [PageBreak()]
    caption = Paragraph(escape(block.caption), _style(_SMALL, colour=SOFT, before=2.0, after=8.0))
    shown = _Shown(placed(block, room[0])) if isinstance(block, Drawing) else _image(block, room)
    return [KeepTogether([Spacer(1.0, 4.0), shown, caption])]


def _table(table: Table, room: float) -> list[Flowable]:
    def cell(text: str, column: int, bold: bool) -> Paragraph:
        right = column in table.numbers
        return Paragraph(escape(text), _style(_CELL, bold=bold, right=right, after=0.0))

    last = len(table.rows) - 1
    rows = [[cell(text, i, True) for i, text in enumerate(table.headings)]] + [
        [cell(text, i, table.last_row_is_total and number == last) for i, text in enumerate(row)]
        for number, row in enumerate(table.rows)
    ]
    rules = [
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("BACKGROUND", (0, 0), (-1, 0), HexColor(TINT)),
        ("LINEBELOW", (0, 0), (-1, -1), 0.5, HexColor(RULE)),
        ("LINEBELOW", (0, 0), (-1, 0), 1.0, HexColor(INK)),
        ("LEFTPADDING", (0, 0), (-1, -1), _CELL_PAD),
        ("RIGHTPADDING", (0, 0), (-1, -1), _CELL_PAD),
        ("TOPPADDING", (0, 0), (-1, -1), 2.5),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 3.0),
    ]
    grid = Grid(rows, colWidths=column_widths(table, room), repeatRows=1, style=rules)
    grid.hAlign = "LEFT"
    grid.spaceAfter = 8.0
    if not table.caption:
        return [grid]
    caption = _style(_BODY, bold=True, before=6.0, after=3.0)
    return [CondPageBreak(_TABLE_START), Paragraph(escape(table.caption), caption), grid]


def column_widths(table: Table, room: float) -> list[float]:
    """As wide as the words want, shrunk towards the longest word where the page is too narrow."""
    columns = list(zip(table.headings, *table.rows, strict=True))
    pad = 2 * _CELL_PAD + 1.0

    def wide(text: str) -> float:
        return text_width(text, _CELL, bold=True) + pad

    wanted = [max(wide(text) for text in column) for column in columns]
    least = [max(wide(word) for text in column for word in text.split(" ")) for column in columns]
    if sum(wanted) <= room:
        return [width * min(room / sum(wanted), 1.25) for width in wanted]
    if sum(least) >= room:
        return [width * room / sum(least) for width in least]
    give = [a - b for a, b in zip(wanted, least, strict=True)]
    share = (room - sum(least)) / sum(give)
    return [b + share * g for b, g in zip(least, give, strict=True)]


def _framed(cautions: Cautions, room: float) -> Flowable:
    lines = [Paragraph("Cautions", _style(_BODY, bold=True, colour=MARK))]
    lines += [
        Paragraph(escape(sentence), _style(_CELL, indent=12.0, after=2.0), bulletText="•")
        for sentence in cautions.sentences
    ]
    frame = Grid(
        [[lines]],
        colWidths=[room],
        style=[
            ("BOX", (0, 0), (-1, -1), 2.0, HexColor(MARK)),
            ("LEFTPADDING", (0, 0), (-1, -1), 9.0),
            ("TOPPADDING", (0, 0), (-1, -1), 6.0),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 6.0),
        ],
    )
    frame.spaceBefore = frame.spaceAfter = 8.0
    return frame


def _image(picture: Picture, room: tuple[float, float]) -> Flowable:
    wide, tall = ImageReader(io.BytesIO(picture.png)).getSize()
    scale = min(room[0] / wide, picture.height_mm * POINTS_PER_MM / tall, room[1] / tall)
    return Image(io.BytesIO(picture.png), wide * scale, tall * scale)


def _cut(text: str, room: float) -> str:
    if text_width(text, _SMALL) <= room:
        return text
    while text and text_width(f"{text}…", _SMALL) > room:
        text = text[:-1]
    return f"{text}…"


class _Shown(Flowable):  # type: ignore[misc]  # the library has no types
    """A drawing laid out on paper, centred."""

    def __init__(self, drawing: Placed) -> None:
        super().__init__()
        self.hAlign = "CENTER"
        self.drawing = drawing

    def wrap(self, _width: float, _height: float) -> tuple[float, float]:
        """What the library asks: the room the drawing takes."""
        return self.drawing.width, self.drawing.height

    def draw(self) -> None:
        """What the library asks: draw it, its lower left corner at the origin."""
        canvas: Canvas = self.canv
        for stroke in self.drawing.strokes:
            path = canvas.beginPath()
            path.moveTo(*stroke.points[0])
            for point in stroke.points[1:]:
                path.lineTo(*point)
            if stroke.closed:
                path.close()
            canvas.setLineWidth(stroke.width)
            canvas.setDash(list(stroke.dashes))
            canvas.setStrokeColor(HexColor(stroke.colour))
            if stroke.fill != "none":
                canvas.setFillColor(HexColor(stroke.fill))
            canvas.drawPath(path, stroke=1, fill=int(stroke.fill != "none"))
        canvas.setDash([])
        for words in self.drawing.words:
            _write(canvas, words)


def _write(canvas: Canvas, words: Words) -> None:
    canvas.saveState()
    canvas.translate(*words.at)
    canvas.rotate(words.turn_deg)
    canvas.setFont(fonts()[words.bold], LABEL_POINTS)
    canvas.setFillColor(HexColor(words.colour))
    shown = {
        "start": canvas.drawString,
        "middle": canvas.drawCentredString,
        "end": canvas.drawRightString,
    }
    shown[words.anchor](0.0, 0.0, words.text)
    canvas.restoreState()
