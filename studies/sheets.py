"""Compose rendered blocks into sheets, and draw the strength chart."""

import math
import textwrap
from dataclasses import dataclass
from pathlib import Path

import matplotlib.image as mpl_image
import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.cm import ScalarMappable
from matplotlib.colors import Normalize
from matplotlib.figure import Figure
from matplotlib.patches import Circle

from studies.results import Comparison

_INK = "#1c2126"
_MARK = "#d1176b"
_WHITE = 0.995
_MARGIN_PIXELS = 24
_DPI = 150
_CHART_COLOURS = ("#2a6f7f", "#c9772b", "#6c5a8c", "#5d8a4a", "#a24b56", "#7a7a7a")


@dataclass(frozen=True)
class Cell:
    """One layout on a sheet: its rendered picture, two texts, and where its marker lies.

    marker is (pixels from the left, pixels from the top, whether it faces us).
    """

    picture: Path
    title: str
    text: str
    marker: tuple[float, float, bool] | None


def draw_plain_sheet(cells: list[Cell], title: str, path: Path) -> None:
    """All blocks unstressed, side by side."""
    figure, _ = _sheet(cells, title, bar=False)
    _saved(figure, path)


def draw_stress_sheet(
    cells: list[Cell],
    title: str,
    highest_share: float,
    peak_share: float,
    exaggeration: float,
    path: Path,
) -> None:
    """All layouts under one load on one colour scale, with its legend."""
    figure, bar_axes = _sheet(cells, title, bar=True)
    scale = ScalarMappable(Normalize(0.0, 100.0 * highest_share), "viridis")
    over = peak_share > highest_share
    bar = figure.colorbar(
        scale, cax=bar_axes, orientation="horizontal", extend="max" if over else "neither"
    )
    note = f"; small spots reach {100 * peak_share:.0f} %" if over else ""
    bar.set_label(
        f"stress, % of the part's yield{note}     ·     movement drawn {exaggeration:g} × larger"
        "     ·     ring: where yielding starts (dashed: hidden behind)",
        fontsize=15,
        color=_INK,
    )
    bar.ax.tick_params(labelsize=15)
    _saved(figure, path)


def _sheet(cells: list[Cell], title: str, bar: bool) -> tuple[Figure, Axes]:
    columns = min(3, len(cells)) if len(cells) != 4 else 2
    rows = math.ceil(len(cells) / columns)
    figure = Figure(figsize=(6.2 * columns, 4.9 * rows + (2.1 if bar else 1.0)), dpi=_DPI)
    FigureCanvasAgg(figure)
    heights = [4.9] * rows + ([0.22] if bar else [0.01])
    grid = figure.add_gridspec(
        rows + 1,
        columns,
        height_ratios=heights,
        left=0.015,
        right=0.985,
        top=1 - 0.85 / figure.get_figheight(),
        bottom=(0.95 if bar else 0.1) / figure.get_figheight(),
        wspace=0.03,
        hspace=0.2 / rows,
    )
    figure.suptitle(
        textwrap.shorten(title, 40 * columns, placeholder=" …"),
        fontsize=24,
        color=_INK,
        weight="bold",
    )
    box = _common_box([cell.picture for cell in cells])
    for number, cell in enumerate(cells):
        _fill(figure.add_subplot(grid[number // columns, number % columns]), cell, box)
    bar_axes = figure.add_subplot(grid[rows, :])
    if not bar:
        bar_axes.set_axis_off()
    else:
        bar_axes.set_position(
            (0.15, 0.72 / figure.get_figheight(), 0.7, 0.24 / figure.get_figheight())
        )
    return figure, bar_axes


def _fill(axes: Axes, cell: Cell, box: tuple[int, int, int, int]) -> None:
    top, bottom, left, right = box
    image = mpl_image.imread(cell.picture)[top:bottom, left:right]
    axes.imshow(image, interpolation="lanczos")
    axes.set_axis_off()
    axes.set_title(
        textwrap.shorten(cell.title, 34, placeholder=" …"), fontsize=20, color=_INK, weight="bold"
    )
    text = "\n".join(textwrap.fill(line, 52) for line in cell.text.split("\n"))
    axes.text(
        0.5, -0.01, text, transform=axes.transAxes, ha="center", va="top", fontsize=15, color=_INK
    )
    if cell.marker:
        x, y, faces_us = cell.marker
        for colour, width in (("white", 7.0), (_MARK, 3.5)):
            axes.add_patch(
                Circle(
                    (x - left, y - top),
                    0.035 * image.shape[1],
                    fill=False,
                    edgecolor=colour,
                    linewidth=width,
                    linestyle="-" if faces_us else (0, (1.6, 1.1)),
                )
            )


def _common_box(pictures: list[Path]) -> tuple[int, int, int, int]:
    """Rows and columns that hold steel in any picture, so that all are cut to one scale."""
    filled = None
    for picture in pictures:
        dark = mpl_image.imread(picture)[..., :3].min(axis=2) < _WHITE
        filled = dark if filled is None else filled | dark
    if filled is None or not filled.any():
        raise ValueError("no picture shows anything")
    rows, columns = np.flatnonzero(filled.any(axis=1)), np.flatnonzero(filled.any(axis=0))
    return (
        max(int(rows[0]) - _MARGIN_PIXELS, 0),
        int(rows[-1]) + _MARGIN_PIXELS,
        max(int(columns[0]) - _MARGIN_PIXELS, 0),
        int(columns[-1]) + _MARGIN_PIXELS,
    )


def draw_strength_chart(comparison: Comparison, path: Path) -> None:
    """First-yield load by layout, a panel for each load case, with the load demanded as a line."""
    units, results = comparison.units, comparison.results
    loads = comparison.loads
    height = 1.7 + 0.62 * max(len(results), 1)
    figure = Figure(figsize=(5.2 * len(loads) + 2.6, height), dpi=_DPI)
    FigureCanvasAgg(figure)
    panels = figure.subplots(1, len(loads), sharey=True, squeeze=False)[0]
    places = np.arange(len(results))
    for index, (load, axes) in enumerate(zip(loads, panels, strict=True)):
        starts = [units.force_in(row.cases[index].starts.load_n) for row in results]
        shows = [units.force_in(row.cases[index].shows.load_n) for row in results]
        demanded = units.force_in(load.demanded_n)
        axes.barh(
            places, starts, height=0.62, color=_CHART_COLOURS[0], label="first yield (starts)"
        )
        axes.plot(
            shows,
            places,
            "D",
            markersize=9,
            markerfacecolor="white",
            markeredgecolor=_INK,
            markeredgewidth=2,
            label="expected to show",
        )
        axes.axvline(demanded, color=_MARK, linewidth=3, label="load demanded")
        reach = max([demanded, *shows, *starts], default=1.0)
        axes.set_xlim(0.0, 1.12 * reach)
        for place, value in zip(places, starts, strict=True):
            axes.text(
                0.02 * reach,
                place,
                units.show_force(units_back(comparison, value)),
                va="center",
                fontsize=13,
                color="white",
                weight="bold",
            )
        axes.set_title(
            textwrap.shorten(load.name, 28, placeholder=" …"),
            fontsize=17,
            color=_INK,
            weight="bold",
        )
        axes.set_xlabel(f"load, {units.force}", fontsize=14)
        axes.tick_params(labelsize=13)
        axes.spines[["top", "right"]].set_visible(False)
    names = [textwrap.fill(textwrap.shorten(row.name, 40, placeholder=" …"), 20) for row in results]
    panels[0].set_yticks(places, names, fontsize=14)
    panels[0].invert_yaxis()
    handles, labels = panels[0].get_legend_handles_labels()
    figure.legend(handles, labels, loc="lower center", ncols=3, fontsize=14, frameon=False)
    figure.tight_layout(rect=(0.0, 0.5 / height, 1.0, 1.0))
    _saved(figure, path)


def units_back(comparison: Comparison, value: float) -> float:
    """A force shown in the study's unit, back in newtons."""
    return value / comparison.units.force_in(1.0)


def _saved(figure: Figure, path: Path) -> None:
    half_done = path.with_name(f"{path.name}.part")
    try:
        figure.savefig(half_done, format="png", facecolor="white")
        half_done.replace(path)
    finally:
        half_done.unlink(missing_ok=True)
