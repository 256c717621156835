"""The strength chart: at which load each layout first yields, against the load demanded."""

from pathlib import Path
from typing import Any

from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from studies.lettering import DPI, INK, MARK, quiet, saved, width, wrapped
from studies.results import CaseResult, Comparison, LayoutResult

_BAR, _SHORT_BAR, _SHORT_HATCH = "#2a6f7f", "#8a5a62", "//"
_OPEN_MARK: dict[str, Any] = {
    "marker": "D",
    "markersize": 9,
    "markerfacecolor": "white",
    "markeredgecolor": INK,
    "markeredgewidth": 2,
}
_BAND_MARK: dict[str, Any] = {"fmt": "none", "ecolor": INK, "elinewidth": 2, "capsize": 4}
_BAND_DROP = 0.2
"""How far below a bar's middle its error band is drawn, clear of the open mark."""
_MOST_ACROSS = 3
_LEGEND_COLUMNS = (2, 3, 5)
"""For one, two and three panels across."""
_PANEL_INCHES = 5.0
_NAME_INCHES = 2.6
_ROW_INCHES = 0.7
_NAME_POINTS = 15.0
_VALUE_POINTS = 13.0
_LINE_POINTS = 8.5
"""How far above and below a bar's middle the two lines of its values stand."""


def draw_strength_chart(comparison: Comparison, path: Path) -> None:
    """First-yield load by layout, a panel for each load case, with the load demanded as a line.

    A layout that could not be computed keeps its place, and its row says so.
    """
    count = len(comparison.loads)
    across = min(count, _MOST_ACROSS)
    down = -(-count // across)
    names = ["\n".join(_name(row.name)) for row in comparison.rows]
    rows = sum(max(_ROW_INCHES, 0.14 + 0.27 * (name.count("\n") + 1)) for name in names)
    short = any(case.ratio < 1.0 for row in comparison.results for case in row.cases)
    columns = _LEGEND_COLUMNS[across - 1]
    legend_rows = -(-len(_legend(short)) // columns)
    foot = 0.25 + 0.3 * legend_rows
    height = down * (rows + 1.2) + foot
    figure = Figure(figsize=(_PANEL_INCHES * across + _NAME_INCHES, height), dpi=DPI)
    FigureCanvasAgg(figure)
    panels = figure.subplots(down, across, sharey=True, squeeze=False).ravel()
    for index, axes in enumerate(panels):
        if index < count:
            _fill(axes, comparison, index)
        else:
            axes.set_visible(False)
    panels[0].set_yticks(range(len(names)), names, fontsize=_NAME_POINTS, parse_math=False)
    panels[0].set_ylim(len(names) - 0.45, -0.55)
    figure.legend(
        handles=_legend(short),
        loc="lower center",
        ncols=columns,
        fontsize=13,
        frameon=False,
    )
    with quiet():
        figure.tight_layout(rect=(0.0, foot / height, 1.0, 1.0))
    saved(figure, path)


def _legend(short: bool) -> list[Artist]:
    said: list[Artist] = [Patch(facecolor=_BAR, label="first yield: yielding starts")]
    if short:
        said.append(
            Patch(
                facecolor=_SHORT_BAR,
                hatch=_SHORT_HATCH,
                edgecolor="white",
                label="first yield below demand",
            )
        )
    said.append(Line2D([], [], linestyle="", label="yielding expected to show", **_OPEN_MARK))
    said.append(Line2D([], [], color=INK, linewidth=2, label="error band from the mesh"))
    said.append(Line2D([], [], color=MARK, linewidth=3, label="load demanded"))
    return said


def _name(name: str) -> list[str]:
    return wrapped(name, (_NAME_INCHES - 0.3) * DPI, _NAME_POINTS, most_lines=3)


def _fill(axes: Axes, comparison: Comparison, index: int) -> None:
    units, load = comparison.units, comparison.loads[index]
    demanded = units.force_in(load.demanded_n)
    found: list[tuple[int, CaseResult]] = [
        (place, row.cases[index])
        for place, row in enumerate(comparison.rows)
        if isinstance(row, LayoutResult)
    ]
    starts = [units.force_in(case.starts.load_n) for _, case in found]
    shows = [units.force_in(case.shown_n) for _, case in found]
    ends = [
        start * (1.0 + case.bands.starts) for start, (_, case) in zip(starts, found, strict=True)
    ]
    places = [place for place, _ in found]
    texts = [
        (
            f"starts {units.show_force(case.starts.load_n)}, {case.ratio:.2f} ×",
            f"shows {units.show_force(case.shown_n)}",
        )
        for _, case in found
    ]
    panel_pixels = 0.93 * _PANEL_INCHES * DPI
    widest = max(width(line, _VALUE_POINTS, True) for text in texts for line in text)
    reach = max([demanded, *shows, *ends]) * panel_pixels / (panel_pixels - widest - 20.0)
    bars = axes.barh(places, starts, height=0.62, color=_BAR, edgecolor="white", linewidth=0.0)
    for bar, (_, case) in zip(bars, found, strict=True):
        if case.ratio < 1.0:
            bar.set(facecolor=_SHORT_BAR, hatch=_SHORT_HATCH)
    axes.axvline(demanded, color=MARK, linewidth=3)
    axes.errorbar(
        starts,
        [place + _BAND_DROP for place in places],
        xerr=[end - start for start, end in zip(starts, ends, strict=True)],
        **_BAND_MARK,
    )
    axes.plot(shows, places, linestyle="", **_OPEN_MARK)
    for place, end, show, text in zip(places, ends, shows, texts, strict=True):
        for line, up, weight in zip(text, (1, -1), ("bold", "normal"), strict=True):
            axes.annotate(
                line,
                (max(end, show), place),
                xytext=(11, up * _LINE_POINTS),
                textcoords="offset points",
                va="center_baseline",
                fontsize=_VALUE_POINTS,
                color=INK,
                weight=weight,
                bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.0},
            )
    for place, row in enumerate(comparison.rows):
        if not isinstance(row, LayoutResult):
            axes.annotate(
                "could not be computed",
                (0.0, place),
                xytext=(8, 0),
                textcoords="offset points",
                va="center_baseline",
                fontsize=_VALUE_POINTS,
                color=INK,
                style="italic",
                bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.0},
            )
    axes.set_xlim(0.0, reach)
    title = wrapped(load.name, panel_pixels, 18.0, bold=True, most_lines=2)
    axes.set_title("\n".join(title), fontsize=18, color=INK, weight="bold", parse_math=False)
    axes.set_xlabel(f"load, {units.force}", fontsize=14)
    axes.tick_params(labelsize=13)
    axes.tick_params(axis="y", labelsize=_NAME_POINTS)
    axes.spines[["top", "right"]].set_visible(False)
