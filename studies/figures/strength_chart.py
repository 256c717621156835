"""The strength chart: every load known of a layout beside the rated one, and where it is from."""

from pathlib import Path

from matplotlib.lines import Line2D
from matplotlib.patches import Rectangle

from studies.cautions import cautions_for
from studies.figures.ground import Ground
from studies.figures.page import FINE, LARGE, SMALL, Page, lines_of
from studies.figures.strength import Known, Panel
from studies.lettering import INK, MARK
from studies.units import OutputUnits

_WIDE, _MARGIN = 300.0, 10.0
_BARS_FROM, _BARS_TO, _VALUES_AT = 76.0, 196.0, 202.0
_HEAD, _PANEL_HEAD, _ROW, _PANEL_GAP, _PANEL_FOOT = 24.0, 26.0, 15.0, 3.0, 8.0
_LINE = 1.4
_BAR_HALF = 4.0
_COMPUTED, _RECORDED = "#2a6f7f", "#c77d16"
_REMARKS = (
    "Bars are computed; diamonds are recorded in a press test. Thin lines show how far each may be "
    "off: for first yield, what finer meshes may still change; for yielding that shows, an "
    "estimate, what loads computed past yield differed from it; for a press curve, mesh and mill "
    "strength; for a test, the gauge. Steel, welds and sizes that differ from the drawing come on "
    "top.",
    "First yield is where steel somewhere first stays bent. The rated load is what the study file "
    "says one block carries in service.",
)


def draw_chart(
    name: str, panels: tuple[Panel, ...], units: OutputUnits, folder: Path, width_pixels: int,
    ground: Ground,
) -> Page:  # fmt: skip
    """Draw ``strength.svg``, ``.pdf`` and ``.png`` into ``folder``; return the page as drawn."""
    page = chart_page(name, panels, units)
    page.save(folder / "strength", width_pixels, f"{name}: strength against the rated load", ground)
    return page


def chart_page(name: str, panels: tuple[Panel, ...], units: OutputUnits) -> Page:
    """A panel for each load, from the top down, remarks and cautions at the foot."""
    room = _WIDE - 2.0 * _MARGIN
    feet = [lines_of(panel.weld, room, FINE) if panel.weld else [] for panel in panels]
    remarks = [line for one in _REMARKS for line in lines_of(one, room, FINE)]
    said = cautions_for(any(panel.base == "clamp" for panel in panels))
    cautions = [line for one in said for line in lines_of(one, room, FINE, bold=True)]
    tall = _HEAD + _LINE * FINE * (len(remarks) + len(cautions) + 1) + _MARGIN
    for panel, foot in zip(panels, feet, strict=True):
        tall += _PANEL_HEAD + _ROW * len(panel.known) + _PANEL_GAP
        tall += _LINE * FINE * len(foot) + _PANEL_FOOT
    page = Page(_WIDE, tall)
    page.text(_MARGIN, tall - 14.0, f"{name}: strength", LARGE, bold=True, ha="left")
    top = tall - _HEAD
    for panel, foot in zip(panels, feet, strict=True):
        top = _draw_panel(page, panel, units, top)
        top = page.lines(foot, _MARGIN, top, FINE) - _PANEL_FOOT
    top = page.lines(remarks, _MARGIN, top, FINE) - 0.5 * _LINE * FINE
    page.lines(cautions, _MARGIN, top, FINE, bold=True)
    return page


def _draw_panel(page: Page, panel: Panel, units: OutputUnits, top: float) -> float:
    """One load's panel; returns how far down it reaches."""
    most_n = max(panel.demanded_n, *(one.high_n for one in panel.known))
    scale = (_BARS_TO - _BARS_FROM) / most_n
    page.text(_MARGIN, top - 7.0, panel.name, SMALL * 1.2, bold=True, ha="left")
    foot = top - _PANEL_HEAD - _ROW * len(panel.known)
    for number, one in enumerate(panel.known):
        _draw_row(page, one, panel, units, top - _PANEL_HEAD - (number + 0.5) * _ROW, scale)
    for load_n, words, drop, colour, side in _marks(panel, units):
        x = _BARS_FROM + scale * load_n
        page.add(Line2D([x, x], [top - drop - 1.0, foot], color=colour, linewidth=2.2))
        page.text(x, top - drop, words, FINE, ha=side, bold=True)
    page.add(Line2D([_BARS_FROM, _BARS_FROM], [top - _PANEL_HEAD, foot], color=INK, linewidth=1.2))
    return foot - _PANEL_GAP


def _marks(panel: Panel, units: OutputUnits) -> list[tuple[float, str, float, str, str]]:
    """Each line's load, words, how far below the panel's top these stand, colour and side."""
    rated = (panel.base_n, f"{panel.base} {units.show_force(panel.base_n)}", 22.0, INK, "right")
    if abs(panel.demanded_n / panel.base_n - 1.0) < 1e-9:
        return [rated]
    times = f"{panel.demanded_n / panel.base_n:g} × {panel.base}"
    words = f"demanded {units.show_force(panel.demanded_n)}, {times}"
    return [rated, (panel.demanded_n, words, 15.0, MARK, "left")]


def _draw_row(
    page: Page, one: Known, panel: Panel, units: OutputUnits, y: float, scale: float
) -> None:
    page.text(_BARS_FROM - 3.0, y + 0.6, one.what, SMALL, ha="right")
    source = f"{one.source}, {one.detail}" if one.detail else one.source
    page.text(_BARS_FROM - 3.0, y - 0.8, source, 0.8 * FINE, ha="right", va="top")
    end, (low, high) = scale * one.load_n, (scale * one.low_n, scale * one.high_n)
    if one.source == "computed":
        page.add(Rectangle((_BARS_FROM, y - _BAR_HALF), end, 2.0 * _BAR_HALF, color=_COMPUTED))
    ends = [_BARS_FROM + low, _BARS_FROM + high]
    drop = y - 0.55 * _BAR_HALF if one.source == "computed" else y
    page.add(Line2D(ends, [drop, drop], color=INK, linewidth=1.8, marker="|", markersize=9))
    if one.source == "recorded":
        page.add(
            Line2D([_BARS_FROM + end], [y], marker="D", markersize=13, color=_RECORDED,
                   markeredgecolor=INK)
        )  # fmt: skip
    page.text(_VALUES_AT, y + 0.6, value_words(one, units), SMALL, bold=True, ha="left")
    times = f"{one.load_n / panel.base_n:.1f} × {panel.base}"
    page.text(_VALUES_AT, y - 0.8, times, FINE, ha="left", va="top")


def value_words(one: Known, units: OutputUnits) -> str:
    """The load with its band; for example ``412 kN ± 5 %``."""
    shown = ("at least " if one.at_least else "") + units.show_force(one.load_n)
    below, above = 100.0 * (1.0 - one.low_n / one.load_n), 100.0 * (one.high_n / one.load_n - 1.0)
    if one.low_n == one.high_n:
        return f"{shown} (no ±)"
    if abs(above - below) < 0.5:
        return f"{shown} ± {_up(above)} %"
    return f"{shown} −{_up(below)} +{_up(above)} %"


def computed_band(load_n: float, share: float, units: OutputUnits) -> str:
    """A computed load with the half width of its band, a share of it."""
    return f"{units.show_force(load_n)} ± {_up(100.0 * share)} %"


def _up(percent: float) -> int:
    """A share never told smaller than it is."""
    return -int(-(percent - 1e-6) // 1)


def chart_words(panels: tuple[Panel, ...], units: OutputUnits) -> str:
    """The chart in words, for those who cannot see it."""
    said = []
    for panel in panels:
        known = ", ".join(
            f"{one.what} {value_words(one, units)} ({_source(one)})" for one in panel.known
        )
        said.append(
            f"{panel.name}, {panel.base} {units.show_force(panel.base_n)}, demanded "
            f"{units.show_force(panel.demanded_n)}: {known}. {panel.weld}".rstrip()
        )
    return " ".join(said)


def _source(one: Known) -> str:
    return f"{one.source}, {one.detail}" if one.detail else one.source
