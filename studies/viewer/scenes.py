"""What the viewer shows: computed layouts under their loads, or bare blocks in part colours."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

import numpy as np

from fea.errors import PictureError
from fea.mesh import Floats, TaggedMesh
from studies.bands_words import banded
from studies.fields import Fields
from studies.results import CaseResult, Comparison, LayoutResult
from studies.scenes import Seen, seen_in, shared_scale
from studies.units import OutputUnits
from studies.viewer.packing import Loaded, LoadView, Shape, packed, script_json
from studies.viewer.surfaces import Surface, skin_of_tets, surface, surface_of_mesh, thinned

MOST_BYTES = 4_800_000
"""The longest pack a page may hold: with the script and its pictures it then stays below 8 MB."""

_CELLS_MM = (3.0, 5.0, 8.0, 12.0)


@cache
def viewer_script() -> str:
    """The viewer as one script; it defines ``GussetryViewer.show(element, pack)``."""
    return files("studies.viewer").joinpath("viewer.min.js").read_text(encoding="utf-8")


@cache
def viewer_style() -> str:
    """The viewer's style sheet."""
    return files("studies.viewer").joinpath("viewer.css").read_text(encoding="utf-8")


def page_pack(comparison: Comparison, fields: Fields) -> str:
    """The pack of a comparison as text for a page, on thinner surfaces where it would be too long.

    Empty where there is nothing to show, or no way to show it.
    """
    try:
        bodies = _bodies(comparison, fields)
    except PictureError:
        return ""
    for cell_mm in (0.0, *_CELLS_MM) if bodies else ():
        said = script_json(_pack(comparison, bodies, cell_mm))
        if len(said) <= MOST_BYTES:
            return said
    return ""


def comparison_pack(
    comparison: Comparison, fields: Fields, cell_mm: float = 0.0
) -> dict[str, Any] | None:
    """All computed layouts under all loads, from their ``fields``.

    With ``cell_mm``, one point is left in each cube of that size. None when no layout was
    computed, or one was without fields. Raises PictureError when a field cannot be read.
    """
    bodies = _bodies(comparison, fields)
    return _pack(comparison, bodies, cell_mm) if bodies else None


@dataclass(frozen=True, eq=False)
class _Body:
    """A layout's whole skin, and for each load what holds at the points of the mesh."""

    row: LayoutResult
    skin: Surface
    at_points: tuple[dict[str, Floats], ...]
    seen: tuple[Seen, ...]


def _bodies(comparison: Comparison, fields: Fields) -> tuple[_Body, ...]:
    """All computed layouts; none if one was without fields."""
    rows = comparison.results
    if not all(case.field_file for row in rows for case in row.cases):
        return ()
    bodies = []
    for row in rows:
        grids = [fields.named(case.field_file) for case in row.cases]
        tets, part = grids[0].cells[0].data, grids[0].cell_data["part"][0]
        bodies.append(
            _Body(
                row,
                surface(grids[0].points, *skin_of_tets(tets, part)),
                tuple(grid.point_data for grid in grids),
                tuple(seen_in(grid) for grid in grids),
            )
        )
    return tuple(bodies)


def _pack(comparison: Comparison, bodies: Sequence[_Body], cell_mm: float) -> dict[str, Any]:
    views = []
    for index, load in enumerate(comparison.loads):
        scale = shared_scale([body.seen[index] for body in bodies], load.demand_multiple)
        demanded = comparison.units.show_force(load.demanded_n)
        views.append(
            LoadView(
                load.name,
                f"the demanded {demanded}",
                scale.top_share,
                scale.peak_share,
                scale.exaggeration,
            )
        )
    shapes = [_shape(comparison, body, cell_mm) for body in bodies]
    return {**packed(shapes, views, comparison.units), "thinned": cell_mm > 0.0}


def block_pack(blocks: Sequence[tuple[str, TaggedMesh]], units: OutputUnits) -> dict[str, Any]:
    """Blocks by name and mesh in the colours of their parts, with nothing computed."""
    shapes = [
        Shape(name, "", surface_of_mesh(mesh), tuple(part.name for part in mesh.parts))
        for name, mesh in blocks
    ]
    return packed(shapes, (), units)


def _shape(comparison: Comparison, body: _Body, cell_mm: float) -> Shape:
    units, row = comparison.units, body.row
    note = f"{units.show_mass(row.mass_kg)}, {units.show_length(row.weld_length_mm)} of weld"
    skin = thinned(body.skin, cell_mm) if cell_mm else body.skin
    loaded, stress_mpa = [], []
    for case, at_points in zip(row.cases, body.at_points, strict=True):
        demand = case.case.demand_multiple
        stress_mpa.append(demand * at_points["von_mises_mpa"][skin.origin])
        loaded.append(
            Loaded(
                share=at_points["share_of_yield"][skin.origin],
                moved_mm=demand * at_points["displacement_mm"][skin.origin],
                marker_mm=case.starts.point_mm,
                note=_said(comparison, case),
            )
        )
    yield_mpa = _yields(stress_mpa[0], loaded[0].share)
    return Shape(row.name, note, skin, row.parts, tuple(loaded), yield_mpa)


def _yields(stress_mpa: Floats, share: Floats) -> Floats:
    """(n,) yield that each share is of; of a point without stress it is unknown, and told as 0."""
    found = np.divide(stress_mpa, share, out=np.zeros_like(share), where=share > 1e-9)
    return np.asarray(found, dtype=float)


def _said(comparison: Comparison, case: CaseResult) -> str:
    load = banded(comparison.units.show_force(case.starts.load_n), case.bands.starts)
    kept_together = load.replace(" ", "\N{NO-BREAK SPACE}")
    return f"first yield at {kept_together}, {case.ratio:.2f} × demand; {case.starts.place}"
