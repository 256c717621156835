"""Weld lines made up for tests, with forces chosen by hand."""

from dataclasses import replace

from pretend import case_result, layout

from fea.seams import SeamLoad
from geometry.weld_lines import Bead, Kind, WeldedSteel, WeldLine, WeldPlan
from studies.loads import LoadCase
from studies.results import LayoutResult

BOX = (-75.0, -55.0, 75.0, 55.0)
S355 = (WeldedSteel("S355", 490.0, 8.0), WeldedSteel("S355", 490.0, 6.0))


def weld_line(
    kind: Kind = "rib on plate",
    *,
    name: str = "front rib to bottom plate",
    leg_mm: float = 5.0,
    length_mm: float = 60.0,
    beads: tuple[Bead, ...] = (Bead(3.0, 90.0), Bead(-3.0, 90.0)),
    parts: tuple[WeldedSteel, WeldedSteel] = S355,
    weld_ultimate_mpa: float | None = None,
) -> WeldLine:
    """A straight line forwards with five stations; a tube's end has one bead."""
    return WeldLine(
        name=name,
        kind=kind,
        leg_mm=leg_mm,
        beads=(Bead(0.0, 90.0),) if kind == "tube end" else beads,
        length_mm=length_mm,
        spacing_mm=length_mm / 4,
        closed=False,
        reached=True,
        points_mm=tuple((60.0 + i * length_mm / 4, 0.0, 8.0) for i in range(5)),
        places=("at the tube", "at the tube", "half-way along", "at its end", "at its end"),
        parts=parts,
        weld_ultimate_mpa=weld_ultimate_mpa,
    )


def even_load(
    pull: float = 0.0, outward: float = 0.0, along: float = 0.0, couple: float = 0.0
) -> SeamLoad:
    """The same all along the five stations."""
    return SeamLoad(*((value,) * 5 for value in (pull, outward, along, couple)))


def welded(
    name: str, lines: dict[WeldLine, SeamLoad], load: LoadCase, baseline: bool = False
) -> LayoutResult:
    """A layout with these weld lines under one load."""
    case = replace(case_result(load, 400e3), weld_loads=tuple(lines.values()))
    row = layout(name, case, baseline=baseline)
    return replace(row, weld_plan=WeldPlan(tuple(lines), BOX, BOX))
