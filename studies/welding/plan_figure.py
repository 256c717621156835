"""The weld plan: every weld line from above, coloured by how much of its strength is used."""

from pathlib import Path

import numpy as np
from matplotlib import colormaps
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.cm import ScalarMappable
from matplotlib.collections import LineCollection
from matplotlib.colors import BoundaryNorm, Colormap, ListedColormap
from matplotlib.figure import Figure as Canvas
from matplotlib.patches import Rectangle

from fea.mesh import Floats
from geometry.weld_lines import WeldLine
from studies.lettering import DPI, INK, MARK, quiet, saved, wrapped
from studies.pictures import Figure
from studies.results import Comparison, LayoutResult
from studies.welding.judging import JudgedLine, governing, judged_layout

WELD_PLAN = "welds.png"

_STEPS = (0.0, 0.2, 0.4, 0.6, 0.8, 1.0)
_PLATES = ("bottom", "top")
_PANEL_INCHES = 3.9
_HEAD_INCHES = 0.85
_FOOT_INCHES = 1.1
_MOST_ACROSS = 2
_UNCHECKED = "#9aa3ab"
_STEEL = "#eef0f0"


def weld_figure(comparison: Comparison, folder: Path) -> Figure:
    """Draw the weld plan of every layout, the worst of all loads at each place."""
    draw_weld_plan(comparison, folder / WELD_PLAN)
    said = []
    for row in comparison.results:
        worst = governing(_all_lines(comparison, row))
        if worst is not None and worst.used is not None:
            said.append(
                f"{row.name}: {worst.line.name}, {worst.place}, {100 * worst.used:.0f} % "
                f"under {worst.load_name}"
            )
    return Figure(
        WELD_PLAN,
        "Welds from above, on the bottom plate (left of each pair) and on the top plate (right; "
        "the front is to the right). Colour: strength used at the load demanded, the worst of all "
        "loads at each place. Squares beside the tube: upright welds between rib and tube. Dashed: "
        "no fillet, not checked. The ring marks the weld that governs the layout.",
        f"Plans of the welds of each layout. Governing: {'; '.join(said) or 'no fillets'}.",
    )


def draw_weld_plan(comparison: Comparison, path: Path) -> None:
    """Draw the figure into ``path``."""
    rows = comparison.results
    across = min(len(rows), _MOST_ACROSS)
    down = -(-len(rows) // across)
    x0, y0, x1, y1 = _frame(rows)
    height = _PANEL_INCHES * (y1 - y0) / (x1 - x0) + _HEAD_INCHES
    whole = down * height + _FOOT_INCHES
    canvas = Canvas(figsize=(2 * across * _PANEL_INCHES, whole), dpi=DPI)
    FigureCanvasAgg(canvas)
    colours, norm = _colours()
    for number, row in enumerate(rows):
        lines = _all_lines(comparison, row)
        worst = governing(lines)
        for side, plate in enumerate(_PLATES):
            column = 2 * (number % across) + side
            bottom = whole - (number // across + 1) * height
            axes = canvas.add_axes(
                (
                    (column + 0.02) / (2 * across),
                    bottom / whole,
                    0.96 / (2 * across),
                    (height - _HEAD_INCHES) / whole,
                )
            )
            axes.set(xlim=(x0, x1), ylim=(y0, y1), aspect="equal")
            axes.set_axis_off()
            _draw_plate(axes, row, plate, lines, colours, norm)
            if worst is not None and _drawn_on(worst.line, plate, worst.point_mm[2], row):
                _ring(axes, worst)
            note = f"{plate} plate"
            axes.text(x0, y1, note, va="bottom", fontsize=12, color=INK)
        title = wrapped(row.name, 1.8 * _PANEL_INCHES * DPI, 16.0, bold=True, most_lines=1)[0]
        said = (
            "no fillet to check"
            if worst is None
            else f"{worst.line.name}, {worst.place}: {100 * (worst.used or 0.0):.0f} %, "
            f"{worst.load_name}"
        )
        left = (2 * (number % across) + 0.06) / (2 * across)
        top = 1.0 - (number // across * height + 0.12) / whole
        canvas.text(
            left, top, title, fontsize=16, weight="bold", color=INK, va="top", parse_math=False
        )
        shown = wrapped(said, 1.85 * _PANEL_INCHES * DPI, 12.0, most_lines=1)[0]
        canvas.text(
            left, top - 0.34 / whole, shown, fontsize=12, color=INK, va="top", parse_math=False
        )
    _scale(canvas, colours, norm, whole)
    with quiet():
        saved(canvas, path)


def _all_lines(comparison: Comparison, row: LayoutResult) -> tuple[JudgedLine, ...]:
    return tuple(one for case in judged_layout(row, comparison.weld_rules) for one in case)


def _frame(rows: tuple[LayoutResult, ...]) -> tuple[float, float, float, float]:
    boxes = np.array(
        [box for row in rows for box in (row.weld_plan.bottom_mm, row.weld_plan.top_mm)]
    )
    margin = 0.03 * float(np.ptp(boxes[:, [0, 2]]))
    low, high = boxes[:, :2].min(axis=0) - margin, boxes[:, 2:].max(axis=0) + margin
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def _colours() -> tuple[Colormap, BoundaryNorm]:
    """Light to dark up to full strength, and one colour of its own past it."""
    shades = [*colormaps["YlGnBu"](np.linspace(0.25, 1.0, len(_STEPS) - 1))]
    colours = ListedColormap(shades).with_extremes(over=MARK)
    return colours, BoundaryNorm(_STEPS, len(_STEPS) - 1)


def _worst_along(lines: tuple[JudgedLine, ...], name: str) -> Floats:
    """Share used at each station of the line called ``name``, the worst of all loads."""
    return np.asarray(np.max([one.along_line for one in lines if one.line.name == name], axis=0))


def _drawn_on(line: WeldLine, plate: str, z_mm: float, row: LayoutResult) -> bool:
    """Whether a mark at a height belongs on this plate's plan."""
    if line.kind != "rib on tube":
        return line.name.endswith(f"to {plate} plate")
    heights = [point[2] for one in row.weld_plan.lines for point in one.points_mm]
    lower = z_mm < (min(heights) + max(heights)) / 2
    return lower == (plate == "bottom")


def _draw_plate(
    axes: Axes,
    row: LayoutResult,
    plate: str,
    lines: tuple[JudgedLine, ...],
    colours: Colormap,
    norm: BoundaryNorm,
) -> None:
    x0, y0, x1, y1 = row.weld_plan.bottom_mm if plate == "bottom" else row.weld_plan.top_mm
    axes.add_patch(
        Rectangle((x0, y0), x1 - x0, y1 - y0, facecolor=_STEEL, edgecolor=INK, linewidth=1.2)
    )
    heights = [point[2] for line in row.weld_plan.lines for point in line.points_mm]
    middle = (min(heights) + max(heights)) / 2 if heights else 0.0
    for line in row.weld_plan.lines:
        used = _worst_along(lines, line.name)
        points = np.array(line.points_mm)
        if line.kind == "rib on tube":
            here = (points[:, 2] < middle) == (plate == "bottom")
            if here.any():
                share = used[here].max()
                x, y, _ = points[0]
                axes.plot(
                    [x],
                    [y],
                    marker="s",
                    markersize=9,
                    zorder=4,
                    markerfacecolor=colours(norm(share)) if line.leg_mm else "white",
                    markeredgecolor=INK if line.leg_mm else _UNCHECKED,
                )
        elif line.name.endswith(f"to {plate} plate"):
            _draw_line(axes, line, points[:, :2], used, colours, norm)


def _draw_line(
    axes: Axes, line: WeldLine, xy: Floats, used: Floats, colours: Colormap, norm: BoundaryNorm
) -> None:
    if line.closed:
        xy, used = np.vstack([xy, xy[:1]]), np.append(used, used[0])
        tracks = [xy]
    else:
        ahead = (xy[-1] - xy[0]) / np.linalg.norm(xy[-1] - xy[0])
        aside = np.array([-ahead[1], ahead[0]])
        tracks = [xy + bead.arm_mm * aside for bead in line.beads]
    for track in tracks:
        pieces = np.stack([track[:-1], track[1:]], axis=1)
        if not line.leg_mm:
            axes.plot(*track.T, color=_UNCHECKED, linewidth=2.5, linestyle="--", zorder=2)
            continue
        # Where a rib stands on the tube the outside fillet is broken.
        gaps = np.linalg.norm(pieces[:, 1] - pieces[:, 0], axis=1) > 1.3 * line.spacing_mm
        shares = np.maximum(used[:-1], used[1:])
        drawn = LineCollection(
            list(pieces[~gaps]), colors=colours(norm(shares[~gaps])), linewidths=6, zorder=3
        )
        drawn.set_capstyle("round")
        axes.add_collection(drawn)


def _ring(axes: Axes, worst: JudgedLine) -> None:
    x, y, _ = worst.point_mm
    axes.plot(
        [x], [y], marker="o", markersize=20, markerfacecolor="none", markeredgecolor=MARK,
        markeredgewidth=3, zorder=6,
    )  # fmt: skip


def _scale(canvas: Canvas, colours: Colormap, norm: BoundaryNorm, whole: float) -> None:
    axes = canvas.add_axes((0.15, 0.62 / whole, 0.7, 0.2 / whole))
    bar = canvas.colorbar(
        ScalarMappable(norm, colours), cax=axes, orientation="horizontal", extend="max"
    )
    bar.set_ticks(list(_STEPS), labels=[f"{100 * step:.0f} %" for step in _STEPS])
    bar.ax.tick_params(labelsize=12, labelcolor=INK)
    bar.set_label(
        "strength of the fillet used at the load demanded; pink: past its limit",
        fontsize=13,
        color=INK,
    )
