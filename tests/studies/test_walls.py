"""Thin walls: when buckling is computed, what keeps still, and what is said of it."""

import csv
import io
import math
from dataclasses import replace
from pathlib import Path
from typing import Any, cast

import numpy as np
import pytest
from blocks import S355, bare_block
from pretend import CRUSH, WRAP, case_result, comparison, layout

from fea.bearing import platen_crush, seat_on, seated
from fea.errors import SolveError
from fea.model import modelled
from fea.solving import solved
from geometry.amounts import steels_of
from geometry.block import Block, Plate, Tube, Welds
from geometry.mesher import MeshSizes, meshed
from geometry.skin import UNDERSIDE, UPPERSIDE
from geometry.walls import Wall
from studies.loads import LoadCase, WrapCase
from studies.report import write_report
from studies.results import Comparison
from studies.tables import markdown_text, verdicts, write_tables
from studies.walls import (
    WallBuckling,
    WallResult,
    buckling_band,
    on_top_of_clamp_n,
    wall_result,
)

SIDE_MM, WALL_MM, HEIGHT_MM = 60.0, 1.5, 24.0
THIN = Block(
    tube=Tube(SIDE_MM, SIDE_MM, WALL_MM, 3.0, HEIGHT_MM, S355),
    bottom=Plate(66.0, 66.0, 5.0, S355),
    top=Plate(66.0, 66.0, 5.0, S355),
    ribs=(),
    rib_steel=S355,
    welds=Welds(),
)


@pytest.fixture(scope="module")
def thin_result() -> tuple[WallResult, list[str]]:
    mesh = meshed(THIN, MeshSizes(1.0, 1.4))
    model = modelled(mesh, steels_of(THIN, mesh))
    seats = seat_on(model, UPPERSIDE), seat_on(model, UNDERSIDE)
    problems = (
        platen_crush(model, CRUSH.name, UNDERSIDE, UPPERSIDE, False),
        seated(model, WRAP.name, *seats, WRAP.load_n, np.array([8.0, 0.0]), np.zeros(2)),
    )
    said: list[str] = []
    cases = tuple(zip((CRUSH, WRAP), solved(model, problems), strict=True))
    return wall_result(model, THIN, cases, said.append), said


def _plate_n(k: float, width_mm: float) -> float:
    stress = k * math.pi**2 * S355.e_mpa / (12 * (1 - 0.3**2)) * (WALL_MM / width_mm) ** 2
    return stress * 4 * (SIDE_MM - WALL_MM) * WALL_MM


def test_a_thin_stub_buckles_between_hinged_and_built_in_walls(
    thin_result: tuple[WallResult, list[str]],
) -> None:
    """Timoshenko & Gere, art. 9.2 and 9.5: k = (b/a + a/b)² on hinges; built in on all four edges
    no more than 4 (b/a)² + 4 (a/b)² + 8/3, the energy of one smooth bulge. A wall between rigid
    plates and its neighbours is held harder than on hinges and no harder than built in."""
    result, said = thin_result
    crush = result.buckling_of(CRUSH.name)
    assert crush is not None
    flat = SIDE_MM - 3 * WALL_MM
    hinged = (SIDE_MM / HEIGHT_MM + HEIGHT_MM / SIDE_MM) ** 2
    squat = flat / HEIGHT_MM
    built_in = 4 * squat**2 + 4 / squat**2 + 8 / 3
    assert _plate_n(hinged, SIDE_MM) < crush.load_n < _plate_n(built_in, flat)
    assert crush.part == "tube"
    assert "wall" in crush.place
    assert crush.error < 0.01
    assert said == ["buckling under Crush", "buckling under Wrap forward"]


def test_two_meshes_tell_the_band_of_a_buckling_load(monkeypatch: pytest.MonkeyPatch) -> None:
    """1 kN of 100 kN between them is told as 2.1 times that, and never as less than 1 %; a mesh
    on which buckling does not settle costs the band alone."""
    fine, coarser, no_solution = (
        cast("Any", name) for name in ("fine", "coarser", "not looked at")
    )

    def pretended(model: str, _: Block, case: LoadCase, __: object) -> WallBuckling:
        if (model, case.name) == ("coarser", "Stuck"):
            raise SolveError("does not settle", "try another mesh")
        return WallBuckling(case.name, 101e3 if model == "coarser" else 100e3, "tube", "", 0.003)

    monkeypatch.setattr("studies.walls._buckling", pretended)
    cases = tuple((case, no_solution) for case in (CRUSH, replace(WRAP, name="Stuck")))
    said: list[str] = []
    before = coarser, (no_solution, no_solution)
    crush, stuck = wall_result(fine, THIN, cases, said.append, before).buckling
    assert crush.load_n == stuck.load_n == 100e3
    assert crush.band == pytest.approx(0.021)
    assert stuck.band is None
    assert said[:2] == ["buckling under Crush", "buckling under Crush, coarser mesh"]
    assert wall_result(fine, THIN, cases, said.append).buckling[0].band is None
    assert buckling_band(100e3, 100e3) == 0.01
    for coarse_n, fine_n in ((5.0, 0.0), (math.inf, math.inf), (math.inf, 5.0), (5.0, math.inf)):
        assert buckling_band(coarse_n, fine_n) is None


def test_an_offset_load_buckles_the_walls_sooner(
    thin_result: tuple[WallResult, list[str]],
) -> None:
    crush, wrap = thin_result[0].buckling
    assert 0.2 * crush.load_n < wrap.load_n < crush.load_n
    assert wrap.part == "tube"


def test_stocky_walls_cost_no_buckling(thin_result: tuple[WallResult, list[str]]) -> None:
    said: list[str] = []
    assert [wall.name for wall in thin_result[0].slender] == [
        "tube, front and rear walls",
        "tube, left and right walls",
    ]
    # Nothing of the model is looked at when no wall is slender.
    stocky = wall_result(None, bare_block(), (), said.append)  # type: ignore[arg-type]
    assert stocky.buckling == ()
    assert stocky.walls
    assert said == []


def _wall(width_mm: float) -> Wall:
    return Wall("tube, front and rear walls", "tube", "both edges", width_mm, 2.0, 34.05, 34.2)


@pytest.fixture
def mixed() -> Comparison:
    buckling = (
        WallBuckling("Crush", 250e3, "tube", "tube, front wall", 0.002, 0.051),
        WallBuckling("Wrap forward", 90e3, "tube", "tube, front wall", 0.002),
    )
    cases = case_result(CRUSH, 400e3), case_result(WRAP, 80e3)
    return comparison(
        layout("Thin", *cases, walls=WallResult((_wall(80.0),), buckling), baseline=True),
        layout("=Stocky", *cases, walls=WallResult((_wall(20.0),), ())),
        loads=(CRUSH, WRAP),
    )


def test_buckling_before_yield_is_told_first(mixed: Comparison, tmp_path: Path) -> None:
    (sentence,) = [one for one in verdicts(mixed) if "buckle" in one]
    assert "Thin has thin walls" in sentence
    assert "40 times as wide as thick, the limit is 34" in sentence
    assert "under Crush they buckle at 250 kN ± 6 %, BEFORE first yield at 400 kN ± 3 %" in sentence
    assert "flat ones would buckle at 90.0 kN (no ±), past first yield" in sentence
    assert sentence in markdown_text(mixed)
    (tmp_path / "out").mkdir()
    page = write_report(mixed, (), None, tmp_path / "out").read_text(encoding="utf-8")
    assert "40.0, TOO SLENDER" in page
    assert "10.0, stocky" in page
    assert '<span class="short-of">buckling</span>' in page
    assert '<span class="meets">yield</span>' in page


def test_every_wall_is_in_the_csv(mixed: Comparison, tmp_path: Path) -> None:
    write_tables(mixed, tmp_path)
    text = (tmp_path / "walls.csv").read_text(encoding="utf-8-sig")
    thin, stocky = csv.DictReader(io.StringIO(text))
    assert float(thin["width / thickness"]) == 40.0
    assert float(thin["limit by AISC 360 table B4.1a"]) == 34.05
    assert (thin["too slender"], stocky["too slender"]) == ("True", "False")
    assert stocky["layout"] == "'=Stocky"
    text = (tmp_path / "buckling.csv").read_text(encoding="utf-8-sig")
    crush, wrap = csv.DictReader(io.StringIO(text))
    assert float(crush["flat walls buckle at (kN)"]) == 250.0
    told = [row["error band from the mesh (± %)"] for row in (crush, wrap)]
    assert told == [str(100.0 * 0.051), "none"]


@pytest.mark.parametrize(("factor", "load_n"), [(2.0, 100e3), (0.9, 35e3), (0.5, 0.0)])
def test_a_clamp_does_not_grow_with_the_load(factor: float, load_n: float) -> None:
    """50 kN on a clamp of 100 kN: at twice both, 100 kN of load and 100 kN more of clamp; at 0.9
    of both, 135 kN in all, of which the clamp is 100; at half, the clamp alone is too much."""
    case = WrapCase("c", 50e3, 1.0, (10.0, 0.0), clamp_n=100e3)
    assert on_top_of_clamp_n(case, 50e3, factor) == pytest.approx(load_n)
    assert on_top_of_clamp_n(CRUSH, 50e3, factor) == pytest.approx(50e3 * factor)
