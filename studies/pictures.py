"""The figures of a comparison: stress sheets, plain views and the strength chart."""

import json
import math
import os
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from fea.errors import PictureError
from studies.fields import read_field
from studies.results import Comparison, LayoutResult
from studies.sheets import Cell, draw_plain_sheet, draw_strength_chart, draw_stress_sheet
from studies.study import slug

OPENGL_PACKAGES = "libgl1 libegl1 libxcursor1 libxft2 libxinerama1"

_CELL_PIXELS = (1300, 1000)
_MOVEMENT_SHARE = 0.05
_SCALE_PERCENTILE = 99.7
_PROBE_SECONDS = 60
_DRAW_SECONDS = 600


@dataclass(frozen=True)
class Figure:
    """A finished figure: its file name, what it shows, and a text for those who cannot see it."""

    file_name: str
    caption: str
    alt: str


def window_system() -> str | None:
    """The VTK window class that can draw here, or None when none can."""
    for name in ("vtkEGLRenderWindow", "vtkOSOpenGLRenderWindow"):
        try:
            probe = _child(["--probe"], name, _PROBE_SECONDS)
        except subprocess.TimeoutExpired:
            continue
        if probe.returncode == 0:
            return name
    return None


def _child(arguments: list[str], window: str, seconds: int) -> "subprocess.CompletedProcess[bytes]":
    return subprocess.run(
        [sys.executable, "-P", "-m", "studies.render_child", *arguments],
        env={**os.environ, "VTK_DEFAULT_OPENGL_WINDOW": window},
        capture_output=True,
        timeout=seconds,
        check=False,
    )


def chart_figure(comparison: Comparison, folder: Path) -> Figure:
    """Bars of first-yield load by layout and load case against the load demanded."""
    name = "strength.png"
    draw_strength_chart(comparison, folder / name)
    return Figure(
        name,
        "First-yield load of each layout (bar), the load at which yielding is expected to show "
        "(open mark), and the load demanded (line).",
        "Bar chart of first-yield load by layout and load case.",
    )


def block_figures(comparison: Comparison, folder: Path) -> tuple[Figure, ...]:
    """A sheet of plain views and a stress sheet for every load case.

    Raises PictureError when drawing is not possible on this machine; nothing else is affected.
    """
    if not comparison.results:
        return ()
    window = window_system()
    if window is None:
        raise PictureError(
            "the 3D pictures were left out: this machine has no OpenGL to draw with",
            f"install {OPENGL_PACKAGES} and run again",
        )
    with tempfile.TemporaryDirectory() as scratch:
        return _drawn(comparison, folder, Path(scratch), window)


def _drawn(comparison: Comparison, folder: Path, scratch: Path, window: str) -> tuple[Figure, ...]:
    fields = folder / "fields"
    views = [_View(comparison, index, fields) for index in range(len(comparison.loads))]
    jobs: list[dict[str, Any]] = []
    for number, row in enumerate(comparison.results):
        plain = _job(fields / row.cases[0].field_file, scratch / f"plain-{number}.png")
        jobs.append({**plain, "parts": list(row.parts)})
        for index, view in enumerate(views):
            case = row.cases[index]
            jobs.append(
                {
                    **_job(fields / case.field_file, scratch / f"load-{index}-{number}.png"),
                    "exaggeration": view.exaggeration * case.case.demand_multiple,
                    "highest_share": view.highest_share,
                    "marker_mm": list(case.starts.point_mm),
                }
            )
    _run(jobs, scratch, window)
    figures = [_plain_sheet(comparison, folder, scratch)]
    for index, view in enumerate(views):
        figures.append(_stress_sheet(comparison, folder, scratch, index, view))
    return tuple(figures)


def _job(field: Path, picture: Path) -> dict[str, Any]:
    points = read_field(field).points
    low, high = points.min(axis=0), points.max(axis=0)
    return {
        "field": str(field),
        "picture": str(picture),
        "pixels": list(_CELL_PIXELS),
        "bounds": [float(v) for pair in zip(low, high, strict=True) for v in pair],
        "exaggeration": 0.0,
        "parts": [],
        "highest_share": 1.0,
        "marker_mm": None,
    }


def _run(jobs: list[dict[str, Any]], scratch: Path, window: str) -> None:
    """Draw all jobs, split over two processes."""
    halves = [jobs[0::2], jobs[1::2]]
    children = []
    for number, half in enumerate(halves):
        path = scratch / f"jobs-{number}.json"
        path.write_text(json.dumps(half), encoding="utf-8")
        children.append(
            subprocess.Popen(
                [sys.executable, "-P", "-m", "studies.render_child", str(path)],
                env={**os.environ, "VTK_DEFAULT_OPENGL_WINDOW": window},
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
            )
        )
    try:
        codes = [child.wait(timeout=_DRAW_SECONDS) for child in children]
    except subprocess.TimeoutExpired:
        codes = [-1]
    finally:
        for child in children:
            child.kill()
            child.wait()
    if any(codes):
        raise PictureError(
            f"the 3D pictures were left out: drawing them stopped (code {max(codes, key=abs)})",
            f"check that {OPENGL_PACKAGES} are installed and run again; all numbers are complete",
        )


class _View:
    """What all layouts share under one load: colour scale and exaggeration."""

    def __init__(self, comparison: Comparison, index: int, fields: Path) -> None:
        shares, furthest, size = [], 0.0, 0.0
        for row in comparison.results:
            grid = read_field(fields / row.cases[index].field_file)
            shares.append(grid.point_data["share_of_yield"])
            moved = np.abs(grid.point_data["displacement_mm"]).max()
            furthest = max(furthest, float(moved) * row.cases[index].case.demand_multiple)
            size = max(size, float(np.ptp(grid.points, axis=0).max()))
        percentile = max(float(np.percentile(share, _SCALE_PERCENTILE)) for share in shares)
        self.highest_share = _rounded_up(percentile)
        self.peak_share = max(float(share.max()) for share in shares)
        self.exaggeration = _rounded_down(_MOVEMENT_SHARE * size / furthest)


def _rounded_up(value: float) -> float:
    step = 10.0 ** math.floor(math.log10(value))
    return next(
        m * step
        for m in (1.0, 1.2, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)
        if m * step >= value
    )


def _rounded_down(value: float) -> float:
    step = 10.0 ** math.floor(math.log10(value))
    return next(m * step for m in (5.0, 2.0, 1.0) if m * step <= value)


def _marker(picture: Path) -> tuple[float, float, bool] | None:
    found = json.loads(picture.with_suffix(".json").read_text())["marker"]
    return None if found is None else (found[0], found[1], found[2] > 0.5)


def _plain_sheet(comparison: Comparison, folder: Path, scratch: Path) -> Figure:
    name = "blocks.png"
    cells = [
        Cell(scratch / f"plain-{number}.png", row.name, _amounts(comparison, row), None)
        for number, row in enumerate(comparison.results)
    ]
    draw_plain_sheet(cells, comparison.title, folder / name)
    return Figure(
        name,
        "The blocks as drawn: plates and tube grey, ribs green, welds yellow, pin purple.",
        f"{len(cells)} blocks side by side: " + ", ".join(cell.title for cell in cells) + ".",
    )


def _amounts(comparison: Comparison, row: LayoutResult) -> str:
    units = comparison.units
    return f"{units.show_mass(row.mass_kg)}, {units.show_length(row.weld_length_mm)} of weld"


def _stress_sheet(
    comparison: Comparison, folder: Path, scratch: Path, index: int, view: _View
) -> Figure:
    load = comparison.loads[index]
    name = f"stress-{index + 1}-{slug(load.name)}.png"
    cells = []
    for number, row in enumerate(comparison.results):
        case, picture = row.cases[index], scratch / f"load-{index}-{number}.png"
        text = (
            f"first yield at {comparison.units.show_force(case.starts.load_n)} "
            f"({case.ratio:.2f} × demand)\n{case.starts.place}"
        )
        cells.append(Cell(picture, row.name, text, _marker(picture)))
    demanded = comparison.units.show_force(load.demanded_n)
    draw_stress_sheet(
        cells,
        f"{load.name} at the demanded {demanded}",
        view.highest_share,
        view.peak_share,
        view.exaggeration,
        folder / name,
    )
    caption = (
        f"{load.name}: stress as a share of yield at the demanded {demanded}, movement drawn "
        f"{view.exaggeration:g} times larger. The ring marks where yielding starts; a dashed ring "
        "lies behind the steel in front of it."
    )
    described = "; ".join(f"{cell.title}: {cell.text}" for cell in cells).replace("\n", ", ")
    return Figure(name, caption, f"{load.name}. {described}.")
