"""Drawings for the shop papers: pieces with their sizes, and the block from above."""

from shapely import Polygon, get_coordinates

from geometry.block import Block, Plate, PlateSide
from geometry.pieces import Piece
from geometry.plan import on_plate, plate_outline, rib_footprint, tube_bore, tube_outside
from studies.paper import Circle, Dimension, Drawing, Label, Line, Shape, Style
from studies.shop.nesting import Laid
from studies.shop.sizes import both, show_size
from studies.units import OutputUnits

_LABELLED_SHARE = 0.03
_MARKS = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"


def _ring(outline: Polygon, style: Style = "outline", fill: str = "none") -> Line:
    points = tuple((float(x), float(y)) for x, y in get_coordinates(outline.exterior)[:-1])
    return Line(points, style, fill, closed=True)  # type: ignore[arg-type]


def piece_drawing(piece: Piece, block: Block, units: OutputUnits) -> Drawing | None:
    """A piece cut from plate, with its sizes in both units; None for tube and bar."""
    if piece.outline is None:
        return None
    x0, y0, x1, y1 = piece.outline.bounds
    fill = "rib" if piece.kind == "rib" else "steel"
    shapes: list[Shape] = [_ring(piece.outline, fill=fill)]
    shapes += [
        Dimension((x0, y0), (x1, y0), both(x1 - x0, units), -8.0),
        Dimension((x1, y0), (x1, y1), both(y1 - y0, units), -8.0),
    ]
    nose = [float(y) for x, y in get_coordinates(piece.outline.exterior) if x > x1 - 1e-6]
    if block.taper_deg and piece.kind == "rib":
        shapes[1:] = _upright_sizes(piece.outline, units)
    elif max(nose) - min(nose) < 0.98 * (y1 - y0):
        # A triangle rib: the nose's height too, between the outline and the whole height.
        size = both(max(nose) - min(nose), units)
        shapes[-1] = Dimension((x1, y0), (x1, y1), both(y1 - y0, units), -22.0)
        shapes.append(Dimension((x1, min(nose)), (x1, max(nose)), size, -8.0))
    if piece.outline.interiors and block.hole:
        radius = block.hole.diameter_mm / 2.0
        hx, hy = Polygon(piece.outline.interiors[0]).centroid.coords[0]
        shapes += [
            Circle((hx, hy), radius),
            Label((hx, hy + 1.6 * radius), f"⌀ {both(2 * radius, units)}"),
            Dimension((x0, y1), (hx, y1), both(hx - x0, units), 8.0),
            Dimension((x0, y0), (x0, hy), both(hy - y0, units), 8.0),
        ]
    note = ""
    if piece.cut and piece.cut.dress_mm:
        at = piece.cut.dress_mm
        shapes.append(Line(((at, y0), (at, y1)), "hidden"))
        shapes.append(Dimension((0.0, y1), (at, y1), both(at, units), 8.0))
        note = "; grind the end so that one face stops at the dashed line"
    made = "one" if piece.quantity == 1 else str(piece.quantity)
    caption = (
        f"{piece.name}: {made} for one block, {show_size((piece.thickness_mm,), units)} "
        f"{piece.steel.name}{note}. {_for(piece)}"
    )
    height = 78.0 if piece.kind == "plate" else 60.0
    return Drawing(tuple(shapes), caption.strip(), f"Outline of the {piece.name}", height)


def _upright_sizes(outline: Polygon, units: OutputUnits) -> list[Shape]:
    """A tapered block's rib: its length, and its height at either end."""
    x0, y0, x1, _ = outline.bounds
    sizes: list[Shape] = [Dimension((x0, y0), (x1, y0), both(x1 - x0, units), -8.0)]
    for x, offset in ((x0, 8.0), (x1, -8.0)):
        ends = [float(v) for u, v in get_coordinates(outline.exterior) if abs(u - x) < 1e-6]
        low, high = min(ends), max(ends)
        sizes.append(Dimension((x, low), (x, high), both(high - low, units), offset))
    return sizes


def _for(piece: Piece) -> str:
    return f"For: {', '.join(piece.parts)}." if piece.kind == "rib" else ""


def plan_drawing(block: Block, plate: Plate, name: str, units: OutputUnits) -> Drawing:
    """One plate from above with tube and ribs on it, and the set-back on each side."""
    side: PlateSide = "top" if plate is block.top else "bottom"
    outline, tube = plate_outline(plate), on_plate(block, side, tube_outside(block.tube))
    px0, py0, px1, py1 = outline.bounds
    tx0, ty0, tx1, ty1 = tube.bounds
    shapes: list[Shape] = [
        _ring(outline),
        _ring(tube, fill="steel"),
        _ring(on_plate(block, side, tube_bore(block.tube)), "thin"),
    ]
    for rib in block.ribs:
        if rib.shape == "full" or rib.side == side:
            shapes.append(_ring(on_plate(block, side, rib_footprint(block, rib)), fill="rib"))
    if side == "bottom" and block.pin:
        shapes.append(Circle(block.pin.centre_mm, block.pin.diameter_mm / 2, "hidden"))
    if side == "top" and block.hole:
        shapes.append(Circle(block.hole.centre_mm, block.hole.diameter_mm / 2))
    shapes += [
        Line(((px0 - 4, 0.0), (px1 + 4, 0.0)), "centre"),
        Line(((0.0, py0 - 4), (0.0, py1 + 4)), "centre"),
        Label(((tx0 + tx1) / 2 + 0.30 * (tx1 - tx0), ty1 * 0.45), "FRONT →", bold=True),
        Dimension((px0, py0), (px1, py0), both(px1 - px0, units), -17.0),
        Dimension((px1, py0), (px1, py1), both(py1 - py0, units), -17.0),
    ]
    for start, end, offset, size in (
        ((px0, py0), (tx0, py0), -8.0, tx0 - px0),
        ((tx1, py0), (px1, py0), -8.0, px1 - tx1),
        ((px1, py0), (px1, ty0), -8.0, ty0 - py0),
        ((px1, ty1), (px1, py1), -8.0, py1 - ty1),
    ):
        if size > 0.05:
            shapes.append(Dimension(start, end, show_size((size,), units), offset))
    return Drawing(
        tuple(shapes),
        f"{name} from above: where the tube (grey) and the ribs (blue) stand. Set-backs are from "
        "the plate's edge to the tube.",
        f"{name} from above with tube and ribs",
        95.0,
    )


def sheet_drawing(
    sheet_mm: tuple[float, float], laid: tuple[Laid, ...], names: tuple[str, ...], title: str,
    units: OutputUnits,
) -> Drawing:  # fmt: skip
    """A plate of the shelf with the pieces to be cut from it."""
    wide, tall = sheet_mm
    shapes: list[Shape] = [Line(((0, 0), (wide, 0), (wide, tall), (0, tall)), closed=True)]
    for one in laid:
        x0, y0, x1, y1 = one.x_mm, one.y_mm, one.x_mm + one.length_mm, one.y_mm + one.width_mm
        shapes.append(Line(((x0, y0), (x1, y0), (x1, y1), (x0, y1)), "thin", "rib", closed=True))
        if min(one.length_mm, one.width_mm) > _LABELLED_SHARE * max(sheet_mm):
            shapes.append(Label(((x0 + x1) / 2, (y0 + y1) / 2), _MARKS[one.want]))
    shapes += [
        Dimension((0, 0), (wide, 0), show_size((wide,), units), -7.0),
        Dimension((wide, 0), (wide, tall), show_size((tall,), units), -7.0),
    ]
    counted = [
        f"{_MARKS[index]} = {name}, {sum(one.want == index for one in laid)} of it"
        for index, name in enumerate(names)
        if any(one.want == index for one in laid)
    ]
    return Drawing(tuple(shapes), f"{title}: {'; '.join(counted)}.", f"Cutting plan: {title}", 70.0)
