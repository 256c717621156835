"""The dimensioned drawing: top, front and side view, every size in mm and in inches."""

from dataclasses import dataclass
from pathlib import Path

from matplotlib.patches import PathPatch
from matplotlib.path import Path as Outline
from shapely import Polygon, get_coordinates

from geometry.block import Block, Layout
from studies.figures.ground import Ground
from studies.figures.page import FINE, LARGE, SMALL, Page, sizes_words
from studies.figures.views import Silhouette, View, Way, drawn_shells, view
from studies.lettering import INK
from studies.shop.taper import angle_words, high_end, where_heights_hold
from studies.study import Study

_FILLS = (("weld", "#e2b04a"), ("rib", "#9fc2ca"), ("pin", "#cfd6d9"), ("tube", "#d3dadd"))
_STEEL = "#e8ecee"
_TIERS = (10.5, 28.5)
"""How far the first and the second row of dimensions stand off a view, in mm of paper."""
_FACE_LINE, _EDGE_LINE = 0.6, 1.5
_ALIKE_MM = 0.05
_WIDE, _LEFT, _BETWEEN, _RIGHT, _FOOT, _APART, _HEAD = 300.0, 42.0, 72.0, 41.0, 50.0, 16.0, 29.0
"""The page's width, and the room beside, between, below and above the views, in mm of paper."""
_REMARK = "The same sizes twice: millimetres to 0.1, inches to 1/32 or 0.001."


@dataclass(frozen=True)
class _Placed:
    """A view on the page: where its own origin lies, and how large it is drawn."""

    view: View
    x: float
    y: float
    scale: float

    def at(self, across: float, up: float) -> tuple[float, float]:
        return self.x + self.scale * across, self.y + self.scale * up

    @property
    def box(self) -> tuple[float, float, float, float]:
        x0, y0, x1, y1 = self.view.bounds_mm
        return (*self.at(x0, y0), *self.at(x1, y1))


def write_drawing(
    study: Study, layout: Layout, folder: Path, width_pixels: int, ground: Ground
) -> Page:
    """Draw ``drawing.svg``, ``.pdf`` and ``.png`` into ``folder``; return the page as drawn.

    Raises MeshError when the block's outlines cannot be had, OSError when nothing can be written.
    """
    page = drawing_page(study, layout)
    page.save(folder / "drawing", width_pixels, f"{layout.name}: top, front and side view", ground)
    return page


def drawing_page(study: Study, layout: Layout) -> Page:
    """The page, every shape and size on it."""
    block = layout.block
    shells = drawn_shells(block)
    ways: tuple[Way, ...] = ("top", "front", "side")
    views = {way: view(shells, way) for way in ways}
    page, placed = _laid_out(views)
    for one in placed.values():
        _draw_view(page, one)
    _name_views(page, placed)
    _side_sizes(page, placed["side"])
    _front_sizes(page, placed["front"], block)
    _top_sizes(page, placed["top"], block)
    page.text(10.0, page.tall - 13.0, layout.name, LARGE, bold=True, ha="left")
    page.listed(_notes(study, block), placed["top"].box[2] + 58.0, page.tall - _HEAD - 4.0)
    page.text(10.0, 4.0, _remark(block), FINE, ha="left")
    return page


def _laid_out(views: dict[Way, View]) -> tuple[Page, dict[Way, _Placed]]:
    """Side view below the top view, front view beside it, all at one scale."""
    (sx0, sy0, sx1, sy1) = views["side"].bounds_mm
    (fx0, _, fx1, _) = views["front"].bounds_mm
    (tx0, ty0, tx1, ty1) = views["top"].bounds_mm
    long = max(sx1, tx1) - min(sx0, tx0)
    scale = (_WIDE - _LEFT - _BETWEEN - _RIGHT) / (long + fx1 - fx0)
    x, y = _LEFT - scale * min(sx0, tx0), _FOOT - scale * sy0
    beside = _LEFT + scale * long + _BETWEEN - scale * fx0
    above = _FOOT + scale * (sy1 - sy0) + _APART
    page = Page(_WIDE, above + scale * (ty1 - ty0) + _HEAD)
    return page, {
        "side": _Placed(views["side"], x, y, scale),
        "front": _Placed(views["front"], beside, y, scale),
        "top": _Placed(views["top"], x, above - scale * ty0, scale),
    }


def _draw_view(page: Page, one: _Placed) -> None:
    for part in one.view.parts:
        fill = next((colour for word, colour in _FILLS if word in part.part), _STEEL)
        for face in part.faces:
            page.add(_patch(one, face, facecolor=fill, edgecolor=INK, linewidth=_FACE_LINE))
        for outline in part.outline:
            bare = "none" if part.faces else fill
            width = _EDGE_LINE if part.faces else _FACE_LINE
            page.add(_patch(one, outline, facecolor=bare, edgecolor=INK, linewidth=width))
    for part in one.view.hidden:
        for outline in part.outline:
            page.add(
                _patch(one, outline, facecolor="none", edgecolor=INK, linewidth=0.8, dashed=True)
            )


def _patch(
    one: _Placed, shape: Polygon, *, facecolor: str, edgecolor: str, linewidth: float,
    dashed: bool = False,
) -> PathPatch:  # fmt: skip
    rings = [shape.exterior, *shape.interiors]
    paths = [
        Outline([one.at(x, y) for x, y in get_coordinates(ring)], closed=True) for ring in rings
    ]
    return PathPatch(
        Outline.make_compound_path(*paths),
        facecolor=facecolor,
        edgecolor=edgecolor,
        linewidth=linewidth,
        linestyle=(0, (4.0, 2.5)) if dashed else "-",
        joinstyle="miter",
    )


def _name_views(page: Page, placed: dict[Way, _Placed]) -> None:
    names: dict[Way, str] = {"top": "From above", "side": "Side", "front": "Front"}
    for way, name in names.items():
        x0, _, x1, y1 = placed[way].box
        page.text((x0 + x1) / 2.0, y1 + 4.0, name, SMALL, bold=True)


def _along(page: Page, one: _Placed, tube: Silhouette) -> None:
    """The whole length below a view, and above it the tube's with what overhangs at its ends."""
    x0, _, x1, _ = one.view.bounds_mm
    t0, _, t1, _ = tube.outline[0].bounds
    base = one.box[1]
    page.across(one.at(x0, 0)[0], one.at(x1, 0)[0], base, -_TIERS[1], x1 - x0, LARGE)
    page.across(one.at(t0, 0)[0], one.at(t1, 0)[0], base, -_TIERS[0], t1 - t0, SMALL)
    for start, end, way in ((x0, t0, -1), (t1, x1, 1)):
        if end - start > _ALIKE_MM:
            ends = one.at(start, 0)[0], one.at(end, 0)[0]
            page.across(*ends, base, -_TIERS[0], end - start, SMALL, outside=way)


def _part(one: _Placed, name: str) -> Silhouette:
    return next(part for part in one.view.parts if part.part == name)


def _side_sizes(page: Page, one: _Placed) -> None:
    tube, top, bottom = (_part(one, name) for name in ("tube", "top plate", "bottom plate"))
    _along(page, one, tube)
    rear, front = (_heights(top, bottom, tube, rear=way) for way in (True, False))
    ends = [(rear, one.box[0], -1.0)]
    if max(abs(a - b) for a, b in zip(rear, front, strict=True)) > _ALIKE_MM:
        # A block with a slope is not as high in front as it is at the rear.
        ends.append((front, one.box[2], 1.0))
    for (low, foot, head, high), edge, way in ends:
        for bottom_mm, top_mm, tier, type_mm in ((low, high, 1, LARGE), (foot, head, 0, SMALL)):
            ends_at = one.at(0, bottom_mm)[1], one.at(0, top_mm)[1]
            page.upright(*ends_at, edge, way * _TIERS[tier], top_mm - bottom_mm, type_mm)


def _heights(
    top: Silhouette, bottom: Silhouette, tube: Silhouette, rear: bool
) -> tuple[float, float, float, float]:
    """Heights of underside, tube's foot, tube's head and upper side at one end of the block."""
    foot, head = _span(tube, rear)
    return _span(bottom, rear)[0], foot, head, _span(top, rear)[1]


def _span(part: Silhouette, rear: bool) -> tuple[float, float]:
    """The heights between which a part lies at its rear or its front end."""
    corners = get_coordinates(part.outline[0].exterior)
    middle = (corners[:, 0].min() + corners[:, 0].max()) / 2.0
    near = corners[corners[:, 0] < middle] if rear else corners[corners[:, 0] > middle]
    return float(near[:, 1].min()), float(near[:, 1].max())


def _front_sizes(page: Page, one: _Placed, block: Block) -> None:
    _along(page, one, _part(one, "tube"))
    edge = one.box[2]
    for name, size in (
        ("top plate", block.top.thickness_mm),
        ("bottom plate", block.bottom.thickness_mm),
    ):
        _, y0, _, y1 = _part(one, name).outline[0].bounds
        y = one.at(0, (y0 + y1) / 2.0)[1]
        page.pointed((edge, y), (edge + 7.0, y), size)


def _top_sizes(page: Page, one: _Placed, block: Block) -> None:
    x1, y1 = one.box[2], one.box[3]
    page.text((one.box[0] + x1) / 2.0, one.box[1] + 3.0, "FRONT →", SMALL, bold=True)
    if block.hole:
        hx, hy = block.hole.centre_mm
        radius = block.hole.diameter_mm / 2.0
        at = one.at(hx + 0.7071 * radius, hy + 0.7071 * radius)
        page.pointed(at, (x1 + 7.0, y1 - 12.0), block.hole.diameter_mm, "hole ⌀ ")


def _notes(study: Study, block: Block) -> list[tuple[str, str]]:
    """What the views do not show: a name and both sizes each."""
    said = [("tube wall", sizes_words((study.shop.wall_mm,)))]
    thicknesses = sorted({rib.thickness_mm for rib in block.ribs})
    said += [("ribs, thick", sizes_words((thickness,))) for thickness in thicknesses]
    if block.pin:
        said.append(("pin, ⌀ × long", sizes_words((block.pin.diameter_mm, block.pin.length_mm))))
    legs = sorted({leg for leg in _legs(block) if leg})
    said += [("weld leg", sizes_words((leg,))) for leg in legs]
    return said


def _remark(block: Block) -> str:
    if not block.taper_deg:
        return _REMARK
    return (
        f"Taper {angle_words(block.taper_deg)}, higher at the {high_end(block)}: "
        f"{sizes_words((block.height_mm,))} {where_heights_hold(block)}. "
        "To 0.1 mm, 1/32 or 0.001 in."
    )


def _legs(block: Block) -> tuple[float, ...]:
    welds = block.welds
    ribs = (welds.rib_plate_mm, welds.rib_tube_mm) if block.ribs else ()
    return (welds.tube_bottom_mm, welds.tube_top_mm, *ribs)
