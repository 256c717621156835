"""Press curves of several layouts in one picture, with their error bands."""

from pathlib import Path
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure as Drawing

from studies.lettering import DPI, INK, quiet, saved, wrapped
from studies.pictures import Figure
from studies.pressing.prediction import Prediction, band_along
from studies.units import OutputUnits

PRESS_CURVES = "press-curves.png"
_COLOURS = ("#2a6f7f", "#c8562b", "#6b5b95", "#8a7a1f", "#1f6b3a", "#a8124f", "#444c55", "#4d8fd1")
_SIZE_INCHES = (13.0, 7.4)
_KEY_SHARE = 0.27
_KEY_POINTS = 13.0
_GRID = 300
_MARK: dict[str, Any] = {"markersize": 10, "markerfacecolor": "white", "markeredgewidth": 2.5}


def press_figure(curves: tuple[Prediction, ...], units: OutputUnits, folder: Path) -> Figure | None:
    """Draw press-curves.png into ``folder``; None where there is no curve."""
    if not curves:
        return None
    drawing = Drawing(figsize=_SIZE_INCHES, dpi=DPI)
    FigureCanvasAgg(drawing)
    axes = drawing.add_axes((0.085, 0.11, 0.88 - _KEY_SHARE, 0.84))
    for number, one in enumerate(curves):
        _curve(axes, one, units, number)
    for marker, label in (("o", "first local yield"), ("s", "the most it carries, or the end")):
        axes.plot([], [], marker, **_MARK, markeredgecolor=INK, label=label)
    axes.set_xlim(left=0.0)
    axes.set_ylim(bottom=0.0)
    axes.set_xlabel(f"ram travel from first touch, {units.length}", fontsize=16)
    axes.set_ylabel(f"force on the block, {units.force}", fontsize=16)
    axes.tick_params(labelsize=14)
    axes.grid(color="#e3e8ea")
    axes.set_axisbelow(True)
    axes.spines[["top", "right"]].set_visible(False)
    room = _KEY_SHARE * _SIZE_INCHES[0] * DPI - 150.0
    handles, labels = axes.get_legend_handles_labels()
    with quiet():
        key = drawing.legend(
            handles,
            ["\n".join(wrapped(label, room, _KEY_POINTS, most_lines=3)) for label in labels],
            loc="upper left",
            bbox_to_anchor=(1.0 - _KEY_SHARE, 0.96),
            fontsize=_KEY_POINTS,
            frameon=False,
            handlelength=2.6,
            labelspacing=0.9,
        )
        for text in key.get_texts():
            text.set_parse_math(False)
        saved(drawing, folder / PRESS_CURVES)
    return Figure(
        PRESS_CURVES,
        "Force against ram travel. Circle: first local yield; square: the most it carries, or "
        "where the curve ends still rising. Shaded: from a mesh too coarse and steel at its "
        "weakest to steel at its usual strength. Dashed: past what this way of computing holds "
        "for.",
        "Press curves. " + "; ".join(_said(one, units) for one in curves) + ".",
    )


def _curve(axes: Axes, one: Prediction, units: OutputUnits, number: int) -> None:
    colour = _COLOURS[number % len(_COLOURS)]
    grid_mm = np.union1d(np.linspace(0.0, one.travel_mm[-1], _GRID), one.travel_mm)
    force_n = one.force_at_n(grid_mm)
    across = grid_mm * units.length_in(1.0)
    low_n, high_n = band_along(one, grid_mm)
    axes.fill_between(
        across,
        low_n * units.force_in(1.0),
        high_n * units.force_in(1.0),
        color=colour,
        alpha=0.12,
        linewidth=0.0,
    )
    up = force_n * units.force_in(1.0)
    sure = grid_mm <= one.valid_to_mm
    axes.plot(across[sure], up[sure], color=colour, linewidth=3, label=one.layout)
    axes.plot(across[~sure], up[~sure], color=colour, linewidth=2.4, linestyle=(0, (4, 2)))
    for mark, marker in ((one.threshold("starts"), "o"), (one.threshold("crush"), "s")):
        if mark is not None and mark.travel_mm is not None:
            axes.plot(
                units.length_in(mark.travel_mm),
                units.force_in(mark.force_n),
                marker,
                **_MARK,
                markeredgecolor=colour,
                zorder=5,
            )


def _said(one: Prediction, units: OutputUnits) -> str:
    starts, crush = one.threshold("starts"), one.threshold("crush")
    said = [f"first yield at {units.show_force(starts.force_n)}"] if starts else []
    if crush:
        word = "still rising at" if one.still_rising else "carries at most"
        said.append(f"{word} {units.show_force(crush.force_n)}")
    return f"{one.layout}: {', '.join(said)}"
