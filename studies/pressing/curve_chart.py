"""The press curve as a figure: force against travel, its marks, and the points of a test on it."""

import math
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from studies.lettering import DPI, INK, MARK, quiet, saved, wrapped
from studies.pressing.gauge import Press
from studies.pressing.prediction import Prediction, band_along, line_of
from studies.pressing.words import name_of
from studies.units import OutputUnits

_LINE, _BAND, _FIT, _POINT = "#2a6f7f", "#bcd6dc", "#8a5a62", "#e08a1e"
_SIZE_INCHES = (13.0, 7.4)
_KEY_SHARE = 0.30
_KEY_POINTS = 13.0
_GRID = 400


@dataclass(frozen=True)
class Points:
    """Readings of a test: travels and forces (k,), how far off each force may be, a name."""

    travel_mm: tuple[float, ...]
    force_n: tuple[float, ...]
    off_n: tuple[float, ...]
    words: str


def draw_curve(
    prediction: Prediction,
    units: OutputUnits,
    title: str,
    path: Path,
    press: Press | None = None,
    points: Points | None = None,
    fitted: Prediction | None = None,
) -> None:
    """Draw the curve with its band; with a press, its limit and the gauge's scale too.

    Without a computed curve a straight line runs up to first yield. ``fitted`` is drawn as a
    second line.
    """
    figure = Figure(figsize=_SIZE_INCHES, dpi=DPI)
    FigureCanvasAgg(figure)
    axes = figure.add_axes((0.085, 0.11, 0.86 - _KEY_SHARE, 0.76))
    most_mm = _most_mm(prediction, points)
    _band(axes, prediction, units, most_mm)
    _curve(axes, prediction, units, _LINE, "predicted")
    if fitted is not None:
        _curve(axes, fitted, units, _FIT, "with the yield fitted to this test")
    _marks(axes, prediction, units, press)
    if points is not None:
        axes.errorbar(
            [units.length_in(value) for value in points.travel_mm],
            [units.force_in(value) for value in points.force_n],
            yerr=[units.force_in(value) for value in points.off_n],
            fmt="s",
            color=_POINT,
            ecolor=INK,
            markeredgecolor=INK,
            markersize=9,
            capsize=5,
            linewidth=1.5,
            zorder=6,
            label=points.words,
        )
    top = 1.08 * _most_n(prediction, points)
    if press is not None:
        _press_limit(axes, press, units, top)
    axes.set_xlim(0.0, units.length_in(most_mm))
    axes.set_ylim(0.0, units.force_in(top))
    axes.set_xlabel(f"ram travel from first touch, {units.length}", fontsize=16)
    axes.set_ylabel(f"force on the block, {units.force}", fontsize=16)
    axes.tick_params(labelsize=14)
    axes.grid(color="#e3e8ea")
    axes.set_axisbelow(True)
    axes.spines[["top"]].set_visible(press is not None)
    _key(figure, axes, prediction, units)
    width_pixels = 0.9 * _SIZE_INCHES[0] * DPI
    lines = wrapped(title, width_pixels, 20.0, bold=True, most_lines=2)
    with quiet():
        figure.suptitle(
            "\n".join(lines), x=0.085, y=0.975, ha="left", fontsize=20, color=INK, weight="bold",
            parse_math=False,
        )  # fmt: skip
    saved(figure, path)


def _most_mm(prediction: Prediction, points: Points | None) -> float:
    starts = prediction.threshold("starts")
    elastic_mm = (starts.force_n if starts else 0.0) / prediction.stiffness_n_per_mm
    most = [1.6 * elastic_mm, *prediction.travel_mm]
    if points is not None:
        most += [1.05 * value for value in points.travel_mm]
    return max(most)


def _most_n(prediction: Prediction, points: Points | None) -> float:
    ends = [prediction.band_n(one)[1] for one in prediction.thresholds]
    ends += [prediction.stronger_times * force_n for force_n in prediction.force_n]
    return max(ends + list(points.force_n if points is not None else ()))


def _curve(axes: Axes, prediction: Prediction, units: OutputUnits, colour: str, label: str) -> None:
    travel_mm, force_n = line_of(prediction)
    valid_mm = prediction.valid_to_mm if prediction.travel_mm else math.inf
    grid_mm = np.union1d(np.linspace(0.0, travel_mm[-1], _GRID), travel_mm)
    sure = grid_mm <= valid_mm
    for chosen, style in ((sure, "-"), (~sure, (0, (4, 2)))):
        axes.plot(
            [units.length_in(value) for value in grid_mm[chosen]],
            [units.force_in(value) for value in np.interp(grid_mm[chosen], travel_mm, force_n)],
            linestyle=style,
            color=colour,
            linewidth=3,
            zorder=4,
            label=label if style == "-" else "",
        )


def _band(axes: Axes, prediction: Prediction, units: OutputUnits, most_mm: float) -> None:
    grid_mm = np.linspace(0.0, min(most_mm, float(line_of(prediction)[0][-1])), _GRID)
    low_n, high_n = band_along(prediction, grid_mm)
    mill = prediction.stronger_times
    axes.fill_between(
        [units.length_in(value) for value in grid_mm],
        [units.force_in(value) for value in low_n],
        [units.force_in(value) for value in high_n],
        color=_BAND,
        linewidth=0.0,
        label="band: mesh, and steel up to its usual strength" if mill > 1.0 else "band: mesh",
    )


def _marks(axes: Axes, prediction: Prediction, units: OutputUnits, press: Press | None) -> None:
    """Numbered points; with a press, how far off its gauge may be there."""
    for number, one in enumerate(prediction.thresholds, start=1):
        travel_mm = one.travel_mm
        if travel_mm is None:
            travel_mm = one.force_n / prediction.stiffness_n_per_mm
        place = (units.length_in(travel_mm), units.force_in(one.force_n))
        axes.plot(*place, marker="o", markersize=7, color=INK, zorder=6)
        if press is not None:
            off_n = press.gauge.tolerance_n(press.gauge.reading(one.force_n))
            axes.errorbar(
                *place,
                yerr=units.force_in(off_n),
                color=INK,
                capsize=6,
                linewidth=1.8,
                zorder=5,
                label="how far off the gauge may be" if number == 1 else "",
            )
        # Turn about, below and above the curve, that marks close together stay apart.
        axes.annotate(
            str(number),
            place,
            xytext=(20, -24) if number % 2 else (-20, 24),
            textcoords="offset points",
            ha="center",
            va="center_baseline",
            fontsize=13,
            weight="bold",
            color=INK,
            zorder=7,
            bbox={"boxstyle": "circle,pad=0.28", "facecolor": "white", "edgecolor": INK, "lw": 1.6},
            arrowprops={"arrowstyle": "-", "color": INK, "lw": 1.2},
        )


def _press_limit(axes: Axes, press: Press, units: OutputUnits, top_n: float) -> None:
    gauge = press.gauge
    limit = units.force_in(press.limit_n)
    if press.limit_n < top_n:
        axes.axhline(limit, color=MARK, linewidth=3, zorder=3)
        axes.axhspan(limit, units.force_in(top_n), color=MARK, alpha=0.08, zorder=1)
        axes.annotate(
            f"the {press.limited_by} ends here: {units.show_force(press.limit_n)}",
            (1.0, limit),
            xycoords=("axes fraction", "data"),
            xytext=(-8, 6),
            textcoords="offset points",
            ha="right",
            fontsize=14,
            weight="bold",
            color=MARK,
            zorder=7,
        )
    newtons = 1.0 / units.force_in(1.0)
    other = axes.secondary_yaxis(
        "right",
        functions=(
            lambda force: gauge.zero + np.asarray(force) * newtons / gauge.newtons_per_unit,
            lambda reading: (np.asarray(reading) - gauge.zero) * gauge.newtons_per_unit / newtons,
        ),
    )
    other.set_ylabel(f"gauge reading, {gauge.unit}", fontsize=16)
    other.tick_params(labelsize=14)


def _key(figure: Figure, axes: Axes, prediction: Prediction, units: OutputUnits) -> None:
    """What the numbers and lines mean, to the right of the curve."""
    left = 1.0 - _KEY_SHARE + (0.055 if axes.child_axes else 0.0)
    room = (0.985 - left) * _SIZE_INCHES[0] * DPI
    lines: list[str] = []
    for number, one in enumerate(prediction.thresholds, start=1):
        lines += [f"{number}: {units.show_force(one.force_n)}"]
        lines += [*wrapped(name_of(one.key, prediction.still_rising), room, _KEY_POINTS)]
    lines += ["", *wrapped(f"Steel: {prediction.yield_words}.", room, _KEY_POINTS)]
    if not prediction.travel_mm:
        note = "No press curve was computed: the line is elastic, up to first yield."
        lines += wrapped(note, room, _KEY_POINTS)
    elif prediction.limit_reason and prediction.valid_to_mm < prediction.travel_mm[-1]:
        lines += wrapped(f"Dashed: {prediction.limit_reason}.", room, _KEY_POINTS)
    handles, labels = axes.get_legend_handles_labels()
    with quiet():
        figure.text(
            left,
            0.87,
            "\n".join(lines),
            fontsize=_KEY_POINTS,
            color=INK,
            va="top",
            linespacing=1.35,
            parse_math=False,
        )
        figure.legend(
            handles,
            ["\n".join(wrapped(label, room - 90.0, _KEY_POINTS)) for label in labels],
            loc="lower left",
            bbox_to_anchor=(left - 0.008, 0.02),
            fontsize=_KEY_POINTS,
            frameon=False,
            handlelength=1.6,
        )
