"""The gauge chart to pin to the press: readings beside forces, with the stops marked."""

import math
from pathlib import Path
from typing import Any

from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from studies.lettering import DPI, INK, MARK, quiet, saved, wrapped
from studies.pressing.gauge import Press
from studies.pressing.holds import Hold
from studies.units import OutputUnits

_SIZE_INCHES = (8.0, 10.6)
_MOST_LABELS = 14
_SMALLEST_GAP = 0.027
_LEFT, _RIGHT = 0.16, 0.28
_HOLD = "#2a6f7f"


def draw_gauge_chart(
    press: Press, holds: tuple[Hold, ...], units: OutputUnits, title: str, path: Path
) -> None:
    """Draw two scales side by side, the gauge's own and the force, from no load to its end.

    The zero error is the dead stretch at the foot; past the press's limit all is forbidden.
    """
    gauge = press.gauge
    figure = Figure(figsize=_SIZE_INCHES, dpi=DPI)
    FigureCanvasAgg(figure)
    axes = figure.add_axes((0.02, 0.05, 0.96, 0.80))
    axes.set_xlim(0.0, 1.0)
    axes.set_ylim(-0.012 * gauge.full_scale, 1.012 * gauge.full_scale)
    axes.axis("off")
    left, right = _LEFT, _RIGHT
    limit = gauge.reading(press.limit_n)
    box: dict[str, Any] = {"linewidth": 0.0, "zorder": 1}
    axes.fill_between((left, right), gauge.zero, limit, color="#e3eef0", **box)
    if gauge.zero > 0.0:
        axes.fill_between((left, right), 0.0, gauge.zero, color="#d9dde0", hatch="///", **box)
    if limit < gauge.full_scale:
        axes.fill_between((left, right), limit, gauge.full_scale, color="#f3d3df", **box)
    _scale(axes, _steps(gauge.full_scale), left, -1.0, gauge.unit, lambda value: value)
    per_unit = units.force_in(1.0)
    most = gauge.force_n(gauge.full_scale) * per_unit
    _scale(
        axes,
        _steps(most),
        right,
        1.0,
        units.force,
        lambda value: gauge.reading(value / per_unit),
    )
    axes.plot((left - 0.02, right + 0.02), (limit, limit), color=MARK, linewidth=5, zorder=6)
    _flags(axes, press, holds, units, right + 0.18)
    _heading(figure, press, units, title)
    saved(figure, path)


def _step_n(press: Press) -> float:
    """The force from one mark of the dial to the next."""
    return press.gauge.division * press.gauge.newtons_per_unit


def _steps(most: float) -> list[float]:
    """Round numbers from zero, few enough to be read from two steps away."""
    rough = most / _MOST_LABELS
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(times * power for times in (1.0, 2.0, 2.5, 5.0, 10.0) if times * power >= rough)
    return [number * step for number in range(int(most / step + 1e-9) + 1)]


def _scale(
    axes: Axes, values: list[float], at: float, side: float, unit: str, reading_of: Any
) -> None:
    axes.plot(
        (at, at), (reading_of(values[0]), reading_of(values[-1])), color=INK, linewidth=2, zorder=5
    )
    half = (values[1] - values[0]) / 5.0
    for number, value in enumerate(values):
        axes.plot(
            (at, at + side * 0.022), (reading_of(value),) * 2, color=INK, linewidth=2.2, zorder=5
        )
        axes.text(
            at + side * 0.03,
            reading_of(value),
            f"{value:g}",
            fontsize=15,
            color=INK,
            weight="bold",
            ha="left" if side > 0 else "right",
            va="center",
        )
        if number + 1 < len(values):
            for part in range(1, 5):
                place = reading_of(value + part * half)
                axes.plot((at, at + side * 0.011), (place, place), color=INK, linewidth=1.2)
    axes.annotate(
        unit,
        (at + side * 0.05, 1.0),
        xycoords=("data", "axes fraction"),
        xytext=(0, 6),
        textcoords="offset points",
        fontsize=16,
        color=INK,
        weight="bold",
        ha="left" if side > 0 else "right",
    )


def _flags(
    axes: Axes, press: Press, holds: tuple[Hold, ...], units: OutputUnits, at: float
) -> None:
    """Each stop's reading and force in words, pushed apart where they would touch."""
    gauge = press.gauge
    limit = gauge.reading(press.limit_n)
    flags = [(hold.reading, f"{gauge.show(hold.reading)}  {hold.why[0]}", _HOLD) for hold in holds]
    words = f"NEVER PAST {gauge.plain(gauge.to_division(limit, careful=True))} {gauge.unit}"
    flags.append((limit, f"{words}, {units.show_force(press.limit_n)}", MARK))
    if gauge.zero > 0.0:
        flags.append((gauge.zero, f"{gauge.show(gauge.zero)}  no load on the block", INK))
    places = _apart([flag[0] / gauge.full_scale for flag in flags])
    for (reading, text, colour), place in zip(flags, places, strict=True):
        (line, *_) = wrapped(text, 0.51 * _SIZE_INCHES[0] * DPI, 13.0, bold=True, most_lines=1)
        axes.plot((_LEFT, _RIGHT), (reading, reading), color=colour, linewidth=2.5, zorder=6)
        axes.annotate(
            line,
            (_RIGHT + 0.125, reading),
            xytext=(at, place * gauge.full_scale),
            textcoords="data",
            fontsize=13,
            weight="bold",
            color=colour,
            va="center",
            parse_math=False,
            arrowprops={"arrowstyle": "-|>", "color": colour, "lw": 1.6, "shrinkA": 1.0},
        )


def _apart(shares: list[float]) -> list[float]:
    """Places as near their own as they can be with a line of words between any two.

    >>> _apart([0.5, 0.5])
    [0.4865, 0.5135]
    """
    order = sorted(range(len(shares)), key=lambda index: shares[index])
    placed = [shares[index] for index in order]
    for _ in range(200):
        moved = False
        for lower in range(len(placed) - 1):
            lack = _SMALLEST_GAP - (placed[lower + 1] - placed[lower])
            if lack > 1e-6:
                placed[lower] -= lack / 2.0
                placed[lower + 1] += lack / 2.0
                moved = True
        if not moved:
            break
    found = [0.0] * len(shares)
    for place, index in zip(placed, order, strict=True):
        found[index] = round(place, 6)
    return found


def _heading(figure: Figure, press: Press, units: OutputUnits, title: str) -> None:
    gauge = press.gauge
    width_pixels = 0.94 * _SIZE_INCHES[0] * DPI
    lines = wrapped(title, width_pixels, 19.0, bold=True, most_lines=1)
    step = f"{gauge.show(gauge.division)}, {units.show_force(_step_n(press))}"
    under = wrapped(
        f"Gauge to {gauge.show(gauge.full_scale)}, {gauge.accuracy.words}, "
        f"{gauge.show(gauge.zero)} at no load. Press rated for "
        f"{units.show_force(press.capacity_n)}. From mark to mark {step}.",
        width_pixels,
        13.0,
        most_lines=2,
    )
    with quiet():
        figure.text(
            0.03, 0.975, lines[0], fontsize=19, weight="bold", color=INK, va="top", parse_math=False
        )
        figure.text(
            0.03, 0.938, "\n".join(under), fontsize=13, color=INK, va="top", parse_math=False
        )
        figure.text(
            0.03,
            0.02,
            "A wrong gauge hurts people: check it against another one before the test.",
            fontsize=13,
            weight="bold",
            color=MARK,
        )
