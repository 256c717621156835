"""First-yield load against mass, a panel for each load, the best for their mass ringed."""

from pathlib import Path
from typing import Any

from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from studies.lettering import DPI, INK, MARK, quiet, saved, wrapped
from studies.sweeps.found import FoundDesign, Sweep

_COLOURS = ("#0b5c8a", "#c8590a", "#2f7d4f", "#7b4a9e", "#8a7a14", "#4c4c4c")
_SHAPES = ("o", "s", "^", "v", "D", "P", "X")
_FRONT: dict[str, Any] = {"color": INK, "linewidth": 1.5, "linestyle": (0, (4, 3)), "zorder": 1}
_RING: dict[str, Any] = {
    "marker": "o",
    "markersize": 17,
    "markerfacecolor": "none",
    "markeredgecolor": INK,
    "markeredgewidth": 2,
    "linestyle": "",
}
_PANEL_INCHES = (7.0, 6.0)
_MOST_ACROSS = 2
_NUMBER_PIXELS = (62.0, 36.0)
_TITLE_POINTS = 18.0


def draw_sweep_chart(sweep: Sweep, path: Path) -> None:
    """Write the chart as a picture; the numbers are those of the table, left out where they
    would stand on each other."""
    count = len(sweep.load_names)
    across = min(count, _MOST_ACROSS)
    down = -(-count // across)
    layouts = list(dict.fromkeys(row.layout for row in sweep.rows))
    columns = 2 * across
    foot = 0.3 + 0.32 * -(-(len(layouts) + 2) // columns)
    wide, high = across * _PANEL_INCHES[0] + 0.5, down * _PANEL_INCHES[1] + foot
    figure = Figure(figsize=(wide, high), dpi=DPI)
    FigureCanvasAgg(figure)
    panels = figure.subplots(down, across, squeeze=False).ravel()
    looks = {name: _look(index) for index, name in enumerate(layouts)}
    for index, axes in enumerate(panels):
        if index < count:
            _fill(axes, sweep, index, looks)
        else:
            axes.set_visible(False)
    legend = figure.legend(
        handles=_legend(looks, wide / columns),
        loc="lower center",
        ncols=columns,
        fontsize=13,
        frameon=False,
    )
    for text in legend.get_texts():
        text.set_parse_math(False)
    with quiet():
        figure.tight_layout(rect=(0.0, foot / high, 1.0, 1.0), w_pad=2.0, h_pad=2.0)
    saved(figure, path)


def _look(index: int) -> dict[str, Any]:
    return {
        "color": _COLOURS[index % len(_COLOURS)],
        "marker": _SHAPES[index % len(_SHAPES)],
        "markersize": 9,
        "markeredgecolor": "white",
        "markeredgewidth": 0.8,
        "linestyle": "",
    }


def _legend(looks: dict[str, dict[str, Any]], inches: float) -> list[Line2D]:
    handles = [
        Line2D([], [], label=wrapped(name, (inches - 0.8) * DPI, 13.0, most_lines=1)[0], **look)
        for name, look in looks.items()
    ]
    handles.append(Line2D([], [], label="best for its mass", **{**_RING, "markersize": 13}))
    handles.append(Line2D([], [], color=MARK, linewidth=3, label="load demanded"))
    return handles


def _fill(axes: Axes, sweep: Sweep, index: int, looks: dict[str, dict[str, Any]]) -> None:
    units = sweep.units

    def place(one: FoundDesign) -> tuple[float, float]:
        return units.mass_in(one.mass_kg), units.force_in(one.cases[index].first_yield_n)

    for name, look in looks.items():
        places = [place(one) for one in sweep.designs if one.layout == name]
        axes.plot([x for x, _ in places], [y for _, y in places], zorder=3, **look)
    best = sweep.best_for_mass(index)
    places = [place(one) for one in best]
    numbered: list[tuple[float, float]] = []
    axes.plot([x for x, _ in places], [y for _, y in places], drawstyle="steps-post", **_FRONT)
    axes.plot([x for x, _ in places], [y for _, y in places], zorder=4, **_RING)
    axes.margins(0.12)
    for demanded in sorted({one.cases[index].demanded_n for one in sweep.designs}):
        axes.axhline(units.force_in(demanded), color=MARK, linewidth=3, zorder=2)
    for one, (x, y) in zip(best, places, strict=True):
        if not _has_room(axes, (x, y), numbered):
            continue
        numbered.append((x, y))
        axes.annotate(
            str(one.number),
            (x, y),
            xytext=(-9, 9),
            textcoords="offset points",
            ha="right",
            fontsize=13,
            color=INK,
            weight="bold",
            zorder=5,
        )
    title = wrapped(sweep.load_names[index], 0.9 * _PANEL_INCHES[0] * DPI, _TITLE_POINTS, bold=True)
    axes.set_title(
        "\n".join(title[:2]), fontsize=_TITLE_POINTS, color=INK, weight="bold", parse_math=False
    )
    axes.set_xlabel(f"mass, {units.mass}", fontsize=14)
    axes.set_ylabel(f"first yield, {units.force}", fontsize=14)
    axes.tick_params(labelsize=13)
    axes.spines[["top", "right"]].set_visible(False)
    axes.set_axisbelow(True)
    axes.grid(True, color="#e3e6e8")


def _has_room(axes: Axes, place: tuple[float, float], numbered: list[tuple[float, float]]) -> bool:
    """Whether a number at ``place`` stays clear of those already written."""
    x, y = axes.transData.transform(place)
    for other in numbered:
        right, up = axes.transData.transform(other)
        if abs(x - right) < _NUMBER_PIXELS[0] and abs(y - up) < _NUMBER_PIXELS[1]:
            return False
    return True
