"""Lay a drawing out on paper: from shapes in their own units to strokes and words in points."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import matplotlib
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

from studies.paper import (
    FILLS,
    INK,
    MARK,
    SOFT,
    Anchor,
    Circle,
    Dimension,
    Drawing,
    Label,
    Line,
    Point,
    Style,
)

POINTS_PER_MM = 72.0 / 25.4
LABEL_POINTS = 9.5
_ARROW_POINTS = 6.0
_GAP_POINTS = 3.0
_ARC_STEPS = 72
_FITTING_ROUNDS = 6
_SHRINKING_ROUNDS = 12

_WIDTHS: dict[Style, float] = {
    "outline": 1.4,
    "thin": 0.6,
    "hidden": 0.8,
    "centre": 0.6,
    "mark": 1.8,
}
_DASHES: dict[Style, tuple[float, ...]] = {"hidden": (4.0, 2.5), "centre": (9.0, 2.5, 2.0, 2.5)}


@dataclass(frozen=True)
class Stroke:
    """A line in points from the lower left corner; colours as #rrggbb, ``fill`` may be none."""

    points: tuple[Point, ...]
    closed: bool
    width: float
    dashes: tuple[float, ...]
    colour: str
    fill: str


@dataclass(frozen=True)
class Words:
    """A text whose baseline starts (or is centred, or ends) at ``at``, turned by ``turn_deg``."""

    at: Point
    text: str
    anchor: Anchor
    bold: bool
    colour: str
    turn_deg: float


@dataclass(frozen=True)
class Placed:
    """A drawing on paper, ``width`` by ``height`` points."""

    width: float
    height: float
    strokes: tuple[Stroke, ...]
    words: tuple[Words, ...]


@cache
def fonts() -> tuple[str, str]:
    """The names under which the PDF library knows our plain and our bold type."""
    folder = Path(matplotlib.get_data_path()) / "fonts" / "ttf"
    for name, file_name in (("Plain", "DejaVuSans.ttf"), ("Bold", "DejaVuSans-Bold.ttf")):
        pdfmetrics.registerFont(TTFont(name, str(folder / file_name)))
    pdfmetrics.registerFontFamily("Plain", normal="Plain", bold="Bold")
    return "Plain", "Bold"


def text_width(text: str, points: float, bold: bool = False) -> float:
    """How wide a text is, in points."""
    return float(pdfmetrics.stringWidth(text, fonts()[bold], points))


def placed(drawing: Drawing, width: float) -> Placed:
    """Scale ``drawing`` to fit ``width`` points and its own height, words and all."""
    height = drawing.height_mm * POINTS_PER_MM
    scale = 1.0
    for _ in range(_FITTING_ROUNDS):
        x0, y0, x1, y1 = _bounds(_laid(drawing, scale))
        bare = _bare_size(drawing)
        # What words and dimension lines add does not grow with the scale.
        extra = (x1 - x0 - scale * bare[0], y1 - y0 - scale * bare[1])
        rooms = [
            max(room - more, 0.1 * room) / size
            for room, more, size in zip((width, height), extra, bare, strict=True)
            if size > 0.0
        ]
        scale = min(rooms, default=1.0)
    items = _laid(drawing, scale)
    for _ in range(_SHRINKING_ROUNDS):
        x0, y0, x1, y1 = _bounds(items)
        if x1 - x0 <= 1.01 * width and y1 - y0 <= 1.01 * height:
            break
        # Words that changed sides at this scale took more room than foreseen.
        scale *= 0.95
        items = _laid(drawing, scale)
    x0, y0, x1, y1 = _bounds(items)
    moved = [_moved(item, -x0, -y0) for item in items]
    return Placed(
        x1 - x0,
        y1 - y0,
        tuple(item for item in moved if isinstance(item, Stroke)),
        tuple(item for item in moved if isinstance(item, Words)),
    )


def _bare_size(drawing: Drawing) -> tuple[float, float]:
    corners = [corner for shape in drawing.shapes for corner in _corners(shape)]
    xs, ys = [x for x, _ in corners], [y for _, y in corners]
    return max(xs) - min(xs), max(ys) - min(ys)


def _corners(shape: object) -> list[Point]:
    if isinstance(shape, Line):
        return list(shape.points)
    if isinstance(shape, Circle):
        (x, y), r = shape.centre, shape.radius
        return [(x - r, y - r), (x + r, y + r)]
    if isinstance(shape, Dimension):
        return [shape.start, shape.end]
    return [shape.at] if isinstance(shape, Label) else []


def _laid(drawing: Drawing, scale: float) -> list[Stroke | Words]:
    return [item for shape in drawing.shapes for item in _items(shape, scale)]


def _items(shape: object, scale: float) -> Iterator[Stroke | Words]:
    if isinstance(shape, Line):
        points = tuple((x * scale, y * scale) for x, y in shape.points)
        yield _stroke(points, shape.style, shape.closed, FILLS[shape.fill])
    elif isinstance(shape, Circle):
        turns = [2 * math.pi * step / _ARC_STEPS for step in range(_ARC_STEPS)]
        (x, y), r = shape.centre, shape.radius
        points = tuple(
            ((x + r * math.cos(a)) * scale, (y + r * math.sin(a)) * scale) for a in turns
        )
        yield _stroke(points, shape.style, True, FILLS[shape.fill])
    elif isinstance(shape, Label):
        x, y = shape.at[0] * scale, shape.at[1] * scale - 0.36 * LABEL_POINTS
        colour = MARK if shape.style == "mark" else INK
        yield Words((x, y), shape.text, shape.anchor, shape.bold, colour, 0.0)
    elif isinstance(shape, Dimension):
        yield from _dimension(shape, scale)


def _stroke(points: tuple[Point, ...], style: Style, closed: bool, fill: str) -> Stroke:
    colour = MARK if style == "mark" else SOFT if style in ("thin", "centre") else INK
    return Stroke(points, closed, _WIDTHS[style], _DASHES.get(style, ()), colour, fill)


def _dimension(dim: Dimension, scale: float) -> Iterator[Stroke | Words]:
    start = (dim.start[0] * scale, dim.start[1] * scale)
    end = (dim.end[0] * scale, dim.end[1] * scale)
    long = math.dist(start, end) or 1.0
    ux, uy = (end[0] - start[0]) / long, (end[1] - start[1]) / long
    off = dim.offset_mm * POINTS_PER_MM
    side = math.copysign(1.0, off)

    def at(base: Point, forward: float, aside: float) -> Point:
        return base[0] + ux * forward - uy * aside, base[1] + uy * forward + ux * aside

    for base in (start, end):
        tip = off + side * _GAP_POINTS
        yield _stroke((at(base, 0, side * _GAP_POINTS), at(base, 0, tip)), "thin", False, "none")
    a, b = at(start, 0, off), at(end, 0, off)
    # Arrows that do not fit between the lines point at them from outside.
    outside = long < 3.2 * _ARROW_POINTS
    way = -1.0 if outside else 1.0
    reach = 2.0 * _ARROW_POINTS if outside else 0.0
    yield _stroke((at(a, -reach, 0), at(b, reach, 0)), "thin", False, "none")
    for base, forward in ((a, way), (b, -way)):
        head = (
            base,
            at(base, forward * _ARROW_POINTS, 0.3 * _ARROW_POINTS),
            at(base, forward * _ARROW_POINTS, -0.3 * _ARROW_POINTS),
        )
        yield Stroke(head, True, 0.4, (), INK, INK)
    turn = math.degrees(math.atan2(uy, ux))
    upright = -90.0 < turn <= 90.0 + 1e-6
    turn = turn if upright else turn - 180.0 if turn > 0 else turn + 180.0
    # The words stand on the line when it is read from below or from the right.
    up = 1.0 if upright else -1.0
    lift = up * _GAP_POINTS
    if text_width(dim.text, LABEL_POINTS) > long - 2.0 * _ARROW_POINTS and side * up < 0.0:
        # Words too wide for the gap stand on the far side, clear of the extension lines.
        lift = -up * (_GAP_POINTS + 0.8 * LABEL_POINTS)
    middle = at(a, long / 2.0, lift)
    yield Words(middle, dim.text, "middle", False, INK, turn)


def _bounds(items: list[Stroke | Words]) -> tuple[float, float, float, float]:
    corners = [corner for item in items for corner in _ends(item)]
    xs, ys = [x for x, _ in corners], [y for _, y in corners]
    return min(xs) - 1, min(ys) - 1, max(xs) + 1, max(ys) + 1


def _ends(item: Stroke | Words) -> list[Point]:
    if isinstance(item, Stroke):
        return list(item.points)
    wide = text_width(item.text, LABEL_POINTS, item.bold)
    left = {"start": 0.0, "middle": -wide / 2.0, "end": -wide}[item.anchor]
    turn = math.radians(item.turn_deg)
    box = [(x, y) for x in (left, left + wide) for y in (-0.25 * LABEL_POINTS, 0.8 * LABEL_POINTS)]
    return [
        (
            item.at[0] + x * math.cos(turn) - y * math.sin(turn),
            item.at[1] + x * math.sin(turn) + y * math.cos(turn),
        )
        for x, y in box
    ]


def _moved(item: Stroke | Words, dx: float, dy: float) -> Stroke | Words:
    if isinstance(item, Words):
        at = (item.at[0] + dx, item.at[1] + dy)
        return Words(at, item.text, item.anchor, item.bold, item.colour, item.turn_deg)
    points = tuple((x + dx, y + dy) for x, y in item.points)
    return Stroke(points, item.closed, item.width, item.dashes, item.colour, item.fill)
