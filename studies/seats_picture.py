"""Where stiff seats touch, seen from above: a sheet for each load, a pair of views a layout."""

from pathlib import Path

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.collections import PolyCollection
from matplotlib.colors import Colormap, ListedColormap
from matplotlib.figure import Figure

from studies.kept_arrays import Arrays, kept_arrays
from studies.lettering import DPI, INK, MARK, saved, wrapped
from studies.pictures import Figure as FigureOnPage
from studies.results import CaseResult, Comparison
from studies.stiff_results import StiffRun
from studies.study import slug
from studies.units import OutputUnits

_ACROSS = 3
_CELL_INCHES = 4.3
_FREE = "#e4e7e8"
_PALE_SHARE = 0.12


def seat_figures(comparison: Comparison, folder: Path) -> tuple[FigureOnPage, ...]:
    """Draw where stiff seats touch, a sheet for each load that was asked for on them."""
    made = []
    for index, load in enumerate(comparison.loads):
        name = f"seats-{slug(load.name)}.png"
        if draw_seats(comparison, index, folder / name, folder / "fields"):
            made.append(
                FigureOnPage(
                    name,
                    f"{load.name}: where stiff seats touch, seen from above with the front to the "
                    "right, and how hard they press at the load demanded. Grey: no touch. Dashed: "
                    "the tube. Cross: where the load acts.",
                    f"Contact patches under {load.name}. {seat_words(comparison, index)}.",
                )
            )
    return tuple(made)


def draw_seats(comparison: Comparison, index: int, path: Path, fields: Path) -> bool:
    """Draw the load ``index`` of every layout; whether there was anything to draw."""
    found = []
    for row in comparison.results:
        case = row.cases[index]
        run = case.stiff.governing if case.stiff else None
        if run is None:
            continue
        arrays = kept_arrays(fields / run.touch_file)
        if arrays is not None:
            found.append((row.name, case, run, arrays))
    if not found:
        return False
    demand = found[0][1].case.demand_multiple
    top_mpa = demand * max(max(run.above.peak_mpa, run.below.peak_mpa) for _, _, run, _ in found)
    across = min(len(found), _ACROSS)
    down = -(-len(found) // across)
    length, width = np.ptp(found[0][3]["below_mm"].reshape(-1, 2), axis=0)
    tall = _CELL_INCHES * float(width / length)
    cell = 2.0 * tall + 1.75
    figure = Figure(figsize=(across * _CELL_INCHES + 1.5, down * cell + 0.5), dpi=DPI)
    FigureCanvasAgg(figure)
    high, wide = down * cell + 0.5, across * _CELL_INCHES + 1.5
    for number, (name, _, run, arrays) in enumerate(found):
        left = (number % across) * _CELL_INCHES + 0.15
        upper = high - (number // across) * cell - 1.05 - tall
        for name_of, bottom in (("above", upper), ("below", upper - tall - 0.5)):
            axes = figure.add_axes(
                (left / wide, bottom / high, (_CELL_INCHES - 0.3) / wide, tall / high)
            )
            _panel(axes, arrays, name_of, run, demand, top_mpa)
        title = "\n".join(wrapped(name, (_CELL_INCHES - 0.3) * DPI, 15.0, True, 1))
        figure.text(
            left / wide,
            (upper + tall + 0.5) / high,
            title,
            fontsize=15,
            weight="bold",
            color=INK,
            parse_math=False,
        )
    _scale(figure, comparison.units, top_mpa, (wide - 1.15) / wide)
    saved(figure, path)
    return True


def _colours() -> Colormap:
    base = matplotlib.colormaps["YlGnBu"]
    return ListedColormap(base(np.linspace(_PALE_SHARE, 1.0, 256)))


def _panel(
    axes: Axes, arrays: Arrays, which: str, run: StiffRun, demand: float, top_mpa: float
) -> None:
    corners = arrays[f"{which}_mm"]
    pressure = demand * arrays[f"{which}_mpa"]
    touch = run.above if which == "above" else run.below
    free = pressure <= 0.0
    axes.add_collection(
        PolyCollection(list(corners[free]), facecolor=_FREE, edgecolor=_FREE, lw=0.3)
    )
    pressed = PolyCollection(list(corners[~free]), cmap=_colours(), lw=0.3)
    pressed.set_array(pressure[~free])
    pressed.set_clim(0.0, top_mpa)
    pressed.set_edgecolor("face")
    axes.add_collection(pressed)
    length, width, wall = arrays["tube_mm"]
    for inset in (0.0, wall):
        x, y = length / 2 - inset, width / 2 - inset
        axes.plot([-x, x, x, -x, -x], [-y, -y, y, y, -y], color=INK, lw=0.9, ls=(0, (4, 3)))
    if which == "above":
        axes.plot(*arrays["load_mm"], "x", color=MARK, markersize=13, markeredgewidth=3)
    axes.set_aspect("equal")
    axes.autoscale_view()
    axes.margins(0.01)
    axes.set_axis_off()
    words = {"above": "seat on top", "below": "plate below"}[which]
    said = f"{words}: touches over {100 * touch.share:.0f} %"
    axes.set_title(said, fontsize=13, loc="left", color=INK, pad=4)


def _scale(figure: Figure, units: OutputUnits, top_mpa: float, left: float) -> None:
    bar = figure.add_axes((left, 0.2, 0.018, 0.6))
    steps = np.linspace(0.0, units.stress_in(top_mpa), 256)[:, None]
    bar.imshow(
        steps, aspect="auto", origin="lower", cmap=_colours(), extent=(0.0, 1.0, 0.0, steps[-1, 0])
    )
    bar.set_xticks([])
    bar.yaxis.tick_right()
    bar.tick_params(labelsize=12)
    bar.set_title(f"pressure\n{units.stress}", fontsize=12, loc="left", color=INK)


def seat_words(comparison: Comparison, index: int) -> str:
    """The sheet in words, for those who cannot see it."""
    said = []
    for row in comparison.results:
        case: CaseResult = row.cases[index]
        run = case.stiff.governing if case.stiff else None
        if run is not None:
            said.append(
                f"{row.name}: seat {100 * run.above.share:.0f} % in touch, plate below "
                f"{100 * run.below.share:.0f} %"
            )
    return "; ".join(said)
