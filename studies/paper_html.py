"""A sheet as one HTML file that opens offline and prints like its PDF."""

import base64

from jinja2 import Environment, PackageLoader, StrictUndefined

from studies.paper import INK, MARGIN_MM, MARK, PAGE_MM, RULE, SOFT, TINT, PaperSize, Picture, Sheet
from studies.paper import Drawing as PaperDrawing
from studies.paper_drawing import LABEL_POINTS, POINTS_PER_MM, Placed, placed


def html_text(sheet: Sheet, size: PaperSize) -> str:
    """The sheet as a page of HTML; its stylesheet asks for paper of ``size``."""
    environment = Environment(
        loader=PackageLoader("studies", "."),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    width = (PAGE_MM[size][0] - 2 * MARGIN_MM) * POINTS_PER_MM
    blocks = [
        {
            "kind": type(block).__name__,
            "it": block,
            "placed": placed(block, width) if isinstance(block, PaperDrawing) else None,
            "data": _data(block) if isinstance(block, Picture) else "",
        }
        for block in sheet.blocks
    ]
    return environment.get_template("paper.html.j2").render(
        sheet=sheet,
        blocks=blocks,
        paper=size,
        margin_mm=MARGIN_MM,
        label_points=LABEL_POINTS,
        path=_path,
        colours={"ink": INK, "soft": SOFT, "rule": RULE, "tint": TINT, "mark": MARK},
    )


def _data(picture: Picture) -> str:
    return "data:image/png;base64," + base64.b64encode(picture.png).decode("ascii")


def _path(drawing: Placed, points: tuple[tuple[float, float], ...], closed: bool) -> str:
    """An SVG path; its y runs down."""
    steps = " L ".join(f"{x:.2f} {drawing.height - y:.2f}" for x, y in points)
    return f"M {steps}{' Z' if closed else ''}"
