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
    pictures: bool,
    window: Callable[[], str | None] | None = None,
) -> tuple[Path, str | None]:
    """Write everything below ``out``; the report, and why pictures of blocks are missing.

    ``window`` gives the window system that can draw here, if somebody has looked already.
    Raises OSError when the folder cannot be written.
    """
    folder = out / study.slug
    write_tables(comparison, folder)
    figures, views, missing = _figures(comparison, folder, pictures, window)
    curves = kept_curves(study, out)
    if drawn := press_figure(curves, study.units, folder):
        figures = (*figures, drawn)
    return write_report(comparison, figures, missing, folder, views, curves), missing


def _figures(
    comparison: Comparison,
    folder: Path,
    pictures: bool,
    window: Callable[[], str | None] | None = None,
) -> tuple[tuple[Figure, ...], str, str | None]:
    """Figures, the pack of the page's 3D viewer, and why pictures of blocks are missing."""
    if not comparison.results:
        return (), "", None
    if not pictures:
        return _flat_figures(comparison, folder), "", None
    fields = Fields(folder / "fields")
    drawn: tuple[tuple[Figure, ...], str] | None = None
    try:
        with blocks_in_work(comparison, fields, folder, window) as sheets:
            drawn = _flat_figures(comparison, folder), page_pack(comparison, fields)
            return (*drawn[0], *sheets()), drawn[1], None
    except PictureError as error:
        missing = str(error)
    flat, pack = drawn or (_flat_figures(comparison, folder), page_pack(comparison, fields))
    return flat, pack, missing


def _flat_figures(comparison: Comparison, folder: Path) -> tuple[Figure, ...]:
    return (
        chart_figure(comparison, folder),
        *seat_figures(comparison, folder),
        weld_figure(comparison, folder),
    )
