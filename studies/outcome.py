"""What a finished comparison leaves in its folder: tables, figures and the report page."""

from collections.abc import Callable
from pathlib import Path

from fea.errors import PictureError
from studies.fields import Fields
from studies.pictures import Figure, blocks_in_work, chart_figure
from studies.pressing.curves_figure import press_figure
from studies.pressing.curves_section import kept_curves
from studies.report import write_report
from studies.results import Comparison
from studies.seats_picture import seat_figures
from studies.study import Study
from studies.tables import write_tables
from studies.viewer.scenes import page_pack
from studies.welding.plan_figure import weld_figure


def write_outcome(
    comparison: Comparison,
    study: Study,
    out: Path,
    fields: Fields | None,
    window: Callable[[], str | None] | None = None,
) -> tuple[Path, str | None]:
    """Write everything below ``out``; the report, and why pictures of blocks are missing.

    Without ``fields`` there are none to be. ``window`` gives the window system that can draw here,
    if somebody has looked already. Raises OSError when the folder cannot be written.
    """
    folder = out / study.slug
    figures, views, missing = _shown(comparison, folder, fields, window)
    curves = kept_curves(study, out)
    if drawn := press_figure(curves, study.units, folder):
        figures = (*figures, drawn)
    return write_report(comparison, figures, missing, folder, views, curves), missing


def _shown(
    comparison: Comparison,
    folder: Path,
    fields: Fields | None,
    window: Callable[[], str | None] | None = None,
) -> tuple[tuple[Figure, ...], str, str | None]:
    """Write tables and figures; the pack of the 3D viewer, why pictures of blocks are missing.

    Tables and charts are made while blocks are being drawn, and whether or not they can be.
    """
    flat: tuple[Figure, ...] | None = None
    pack, missing = "", None
    if fields and comparison.results:
        try:
            with blocks_in_work(comparison, fields, folder, window) as sheets:
                flat, pack = _flat(comparison, folder), page_pack(comparison, fields)
                return (*flat, *sheets()), pack, None
        except PictureError as error:
            missing = str(error)
        pack = pack or page_pack(comparison, fields)
    return flat or _flat(comparison, folder), pack, missing


def _flat(comparison: Comparison, folder: Path) -> tuple[Figure, ...]:
    """Write tables and charts; the charts."""
    write_tables(comparison, folder)
    if not comparison.results:
        return ()
    return (
        chart_figure(comparison, folder),
        *seat_figures(comparison, folder),
        weld_figure(comparison, folder),
    )
