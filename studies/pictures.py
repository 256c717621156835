"""The figures of a comparison: stress sheets, plain views and the strength chart."""

import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from studies.bands_words import banded
from studies.chart import draw_strength_chart
from studies.fields import Fields
from studies.offscreen import drawers, no_opengl, window_system
from studies.results import CaseResult, Comparison, LayoutResult
from studies.scenes import VIEWPOINT, Seen, seen_in, shared_frame, shared_scale
from studies.sheets import Cell, cell_width, draw_plain_sheet, draw_stress_sheet
from studies.study import slug
from studies.windows import Frame, Scale

_CHILD = "studies.render_child"


@dataclass(frozen=True)
class Figure:
    """A finished figure: its file name, what it shows, and a text for those who cannot see it."""

    file_name: str
    caption: str
    alt: str


def chart_figure(comparison: Comparison, folder: Path) -> Figure:
    """Bars of first-yield load by layout and load case against the load demanded."""
    name = "strength.png"
    draw_strength_chart(comparison, folder / name)
    units = comparison.units
    described = "; ".join(
        f"{load.name}, demanded {units.show_force(load.demanded_n)}: "
        + ", ".join(
            f"{row.name} {units.show_force(row.cases[index].starts.load_n)}"
            for row in comparison.results
        )
        for index, load in enumerate(comparison.loads)
    )
    return Figure(
        name,
        "First-yield load of each layout (bar; hatched where it falls short), the load at which "
        "yielding is expected to show (open mark), the error band of first yield from the mesh "
        "(thin line), and the load demanded (thick line).",
        f"Bar chart of first-yield loads. {described}.",
    )


def block_figures(comparison: Comparison, folder: Path) -> tuple[Figure, ...]:
    """A sheet of plain views and a stress sheet for every load case.

    Raises PictureError when drawing is not possible on this machine; nothing else is affected.
    """
    with blocks_in_work(comparison, Fields(folder / "fields"), folder) as sheets:
        return sheets()


@contextmanager
def blocks_in_work(
    comparison: Comparison,
    fields: Fields,
    folder: Path,
    window: Callable[[], str | None] | None = None,
) -> Iterator[Callable[[], tuple[Figure, ...]]]:
    """Blocks being drawn in processes of their own; what is yielded waits and makes the sheets.

    ``window`` gives the window system that can draw here, if somebody has looked already. Raises
    PictureError on the way in when drawing is not possible on this machine; what is yielded raises
    it when drawing stops half-way.
    """
    if not comparison.results:
        yield tuple
        return
    found = (window or window_system)()
    if found is None:
        raise no_opengl()
    with tempfile.TemporaryDirectory() as name, drawers(Path(name), found, _CHILD) as pair:
        scratch = Path(name)
        views = [_View(comparison, index, fields) for index in range(len(comparison.loads))]
        pair.begin(_jobs(comparison, fields.folder, scratch, views))

        def cells(stem: str) -> list[Drawn]:
            paths = [_path(scratch, stem, number) for number in range(len(comparison.results))]
            pair.wait(*paths)
            return [_drawn(path) for path in paths]

        def sheets() -> tuple[Figure, ...]:
            plain = _plain_sheet(comparison, folder, cells("plain"))
            stress = [
                _stress_sheet(comparison, folder, cells(f"load-{index}"), index, view)
                for index, view in enumerate(views)
            ]
            pair.wait()
            return plain, *stress

        yield sheets


class _View:
    """All layouts under one load: scale, and the windows for the moved and for the plain block."""

    def __init__(self, comparison: Comparison, index: int, fields: Fields) -> None:
        self.load = comparison.loads[index]
        cases = [row.cases[index] for row in comparison.results]
        layouts: list[Seen] = [seen_in(fields.named(case.field_file)) for case in cases]
        demand, width = self.load.demand_multiple, cell_width(len(cases))
        self.scale: Scale = shared_scale(layouts, demand)
        self.drawn_movement = self.scale.exaggeration * demand
        self.frame = shared_frame(layouts, self.drawn_movement, width)
        self.plain_frame = shared_frame(layouts, 0.0, width)


Drawn = tuple[NDArray[np.uint8], tuple[float, float, bool] | None]
"""A picture (H, W, 3), and where on it the marker lies and whether that faces us."""


def _jobs(
    comparison: Comparison, fields: Path, scratch: Path, views: list[_View]
) -> list[dict[str, Any]]:
    """Every picture of every layout, as the child is told of it, sheet by sheet."""
    jobs: list[dict[str, Any]] = []
    for number, row in enumerate(comparison.results):
        job = _job(fields / row.cases[0].field_file, _path(scratch, "plain", number))
        jobs.append({**job, **_camera(views[0].plain_frame), "parts": list(row.parts)})
    for index, view in enumerate(views):
        for number, row in enumerate(comparison.results):
            case = row.cases[index]
            job = _job(fields / case.field_file, _path(scratch, f"load-{index}", number))
            jobs.append(
                {
                    **job,
                    **_camera(view.frame),
                    "body": str(fields / row.cases[0].field_file),
                    "exaggeration": view.drawn_movement,
                    "top_share": view.scale.top_share,
                    "marker_mm": list(case.starts.point_mm),
                }
            )
    return jobs


def _path(scratch: Path, stem: str, number: int) -> Path:
    return scratch / f"{stem}-{number}.npz"


def _job(field: Path, picture: Path) -> dict[str, Any]:
    """What the child is told of a picture, but for its camera; still, unmarked, uncoloured."""
    return {
        "field": str(field),
        "picture": str(picture),
        "viewpoint": list(VIEWPOINT),
        "exaggeration": 0.0,
        "parts": [],
        "top_share": 1.0,
        "marker_mm": None,
    }


def _camera(frame: Frame) -> dict[str, Any]:
    return asdict(frame)


def _drawn(path: Path) -> Drawn:
    with np.load(path) as kept:
        marker = kept["marker"].tolist()
        return kept["picture"], (marker[0], marker[1], marker[2] > 0.5) if marker else None


def _absent(comparison: Comparison) -> str:
    """Which layouts the sheets cannot show, or nothing."""
    names = ", ".join(failure.name for failure in comparison.failures)
    return f"Not shown, for it could not be computed: {names}." if names else ""


def _plain_sheet(comparison: Comparison, folder: Path, drawn: list[Drawn]) -> Figure:
    name = "blocks.png"
    cells = [
        Cell(picture, row.name, _amounts(comparison, row), None)
        for row, (picture, _) in zip(comparison.results, drawn, strict=True)
    ]
    draw_plain_sheet(cells, comparison.title, _absent(comparison), folder / name)
    return Figure(
        name,
        "The blocks as drawn: plates and tube grey (the top plate like glass), ribs green, welds "
        f"yellow, pin purple. {_absent(comparison)}".strip(),
        f"{len(cells)} blocks side by side: " + ", ".join(cell.title for cell in cells) + "."
        if len(cells) > 1
        else f"The block: {cells[0].title}.",
    )


def _amounts(comparison: Comparison, row: LayoutResult) -> str:
    units = comparison.units
    return f"{units.show_mass(row.mass_kg)}, {units.show_length(row.weld_length_mm)} of weld"


def _yield_load(comparison: Comparison, case: CaseResult) -> str:
    return banded(comparison.units.show_force(case.starts.load_n), case.bands.starts)


def _stress_sheet(
    comparison: Comparison, folder: Path, drawn: list[Drawn], index: int, view: _View
) -> Figure:
    name = f"stress-{index + 1}-{slug(view.load.name)}.png"
    cells = []
    for row, (picture, marker) in zip(comparison.results, drawn, strict=True):
        case = row.cases[index]
        text = (
            f"first yield at {_yield_load(comparison, case)} "
            f"({case.ratio:.2f} × demand)\n{case.starts.place}"
        )
        cells.append(Cell(picture, row.name, text, marker))
    demanded = comparison.units.show_force(view.load.demanded_n)
    draw_stress_sheet(
        cells,
        f"{view.load.name} at the demanded {demanded}",
        view.scale,
        _absent(comparison),
        folder / name,
    )
    caption = (
        f"{view.load.name}: stress as a share of yield at the demanded {demanded}, movement drawn "
        f"{view.scale.exaggeration:g} times larger. The ring marks where yielding starts; a dashed "
        f"ring lies behind the steel in front of it. {_absent(comparison)}"
    ).strip()
    described = "; ".join(f"{cell.title}: {cell.text}" for cell in cells).replace("\n", ", ")
    return Figure(name, caption, f"{view.load.name}. {described}.")
