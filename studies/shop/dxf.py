"""Outlines as DXF drawings, in the study's unit of length."""

import io

from ezdxf import units as dxf_units
from ezdxf.document import Drawing
from shapely import Polygon, get_coordinates, minimum_bounding_radius

from geometry.pieces import Piece
from studies.units import OutputUnits


def dxf_text(piece: Piece, units: OutputUnits) -> str:
    """The piece's outline on layer OUTLINE, holes on HOLES, the other face's end on GRIND_TO.

    The lower left corner is the origin. Only pieces cut from plate have an outline.
    """
    if piece.outline is None:
        raise ValueError(f"{piece.name} is not cut from plate")
    drawing = Drawing.new("R2010")
    drawing.units = dxf_units.MM if units.length == "mm" else dxf_units.IN
    for layer, colour in (("OUTLINE", 7), ("HOLES", 1), ("GRIND_TO", 3)):
        drawing.layers.add(layer, color=colour)
    space = drawing.modelspace()

    def ring(points: list[tuple[float, float]], layer: str) -> None:
        scaled = [(units.length_in(x), units.length_in(y)) for x, y in points]
        space.add_lwpolyline(scaled, close=True, dxfattribs={"layer": layer})

    ring(_corners(piece.outline), "OUTLINE")
    for hole in piece.outline.interiors:
        round_hole = Polygon(hole)
        centre, radius = round_hole.centroid, float(minimum_bounding_radius(round_hole))
        space.add_circle(
            (units.length_in(centre.x), units.length_in(centre.y)),
            units.length_in(radius),
            dxfattribs={"layer": "HOLES"},
        )
    if piece.cut and piece.cut.dress_mm:
        x0, y0, _, _ = piece.cut.outline.bounds
        short = min((piece.cut.left, piece.cut.right), key=lambda face: face.area)
        ring([(x - x0, y - y0) for x, y in _corners(short)], "GRIND_TO")
    held = io.StringIO()
    drawing.write(held)
    return held.getvalue()


def _corners(outline: Polygon) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in get_coordinates(outline.exterior)[:-1]]
