"""Loads computed on yielding steel in the place of estimates: kept, found again, told apart."""

import csv
import io
import runpy
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from blocks import bare_block
from pretend import CRUSH, WRAP, case_result, comparison, layout
from pretend_press import press_curve
from tiny_study import tiny_study

from fea.curve import Effort
from fea.errors import SolveError
from geometry.mesher import MeshSizes
from geometry.stock import tube_properties
from studies import past_yield
from studies.loads import CrushCase, LoadCase
from studies.past_yield import can_follow, follow, kept_past_yield, with_past_yield
from studies.pressing.crush import curve_sizes
from studies.pressing.flakes import Flakes, crush_key, keep_crush
from studies.results import LayoutResult
from studies.seen import PastYield, Seen
from studies.study import Study, read_study
from studies.tables import csv_text, lines
from studies.visible_yield import begins_over_shows, kept_study, ratios, summary, table

FOUND = PastYield(Seen(580e3, "tube"), None, Effort(5, 0, 9, 80, 1.0))
BLOCK = bare_block()


WRAP_LOAD = """
[[loads]]
kind = "wrap"
name = "Wrap"
toward = "front"
offset = "8 mm"
"""


@pytest.fixture(scope="module")
def study(tmp_path_factory: pytest.TempPathFactory) -> Study:
    """One tiny layout under a crush and a wrap."""
    whole = read_study(tiny_study(tmp_path_factory.mktemp("tiny"), WRAP_LOAD))
    return replace(whole, layouts=whole.layouts[:1])


def _row() -> LayoutResult:
    return layout("No gussets", case_result(CRUSH, 500e3, shows_n=560e3), baseline=True)


def test_a_computed_load_takes_the_place_of_the_estimate_and_says_so() -> None:
    row = _row()
    computed = replace(row, cases=(replace(row.cases[0], past=FOUND),))
    shows = [lines(comparison(one))[0].shows for one in (row, computed)]
    assert shows == ["560 kN ± 4 %", "580 kN, computed"]
    for one, load, how in ((row, 560.0, "estimated"), (computed, 580.0, "computed on yielding")):
        (cells,) = csv.DictReader(io.StringIO(csv_text(comparison(one))))
        assert float(cells["expected to show (kN)"]) == load
        assert how in cells["expected to show, how it was found"]


def test_a_block_that_gave_way_before_keeps_its_estimate() -> None:
    row = _row()
    gave = replace(row, cases=(replace(row.cases[0], past=replace(FOUND, begins=None)),))
    assert lines(comparison(gave))[0].shows == "560 kN ± 4 %"


def test_a_kept_press_curve_is_taken_only_for_its_own_block_and_friction(tmp_path: Path) -> None:
    flakes = Flakes(np.zeros((3, 3)), np.array([[0, 1, 2]]), np.array([0.0]), np.zeros((1, 1)))
    keep_crush(tmp_path, crush_key(BLOCK, False, None, curve_sizes("quick")), press_curve(), flakes)
    row = _row()
    (case,) = with_past_yield(row, BLOCK, "quick", tmp_path).cases
    assert case.shown_is_computed
    assert case.shown_n == press_curve().faint.force_n  # type: ignore[union-attr]
    other = replace(BLOCK, top=replace(BLOCK.top, thickness_mm=9.0))
    assert not with_past_yield(row, other, "quick", tmp_path).cases[0].shown_is_computed
    assert not with_past_yield(row, BLOCK, "normal", tmp_path).cases[0].shown_is_computed
    rough = replace(row, cases=(replace(row.cases[0], case=replace(CRUSH, friction=True)),))
    assert not with_past_yield(rough, BLOCK, "quick", tmp_path).cases[0].shown_is_computed


def test_what_was_followed_is_kept_and_what_failed_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, study: Study
) -> None:
    """The second load fails: the first stays kept and is not followed again."""

    def pretended(_block: object, cases: list[LoadCase], *_: object):  # type: ignore[no-untyped-def]
        asked.append([case.name for case in cases])
        for case in cases:
            if not isinstance(case, CrushCase):
                raise SolveError("it slipped", "try another mesh")
            yield case, FOUND

    asked: list[list[str]] = []
    said: list[str] = []
    monkeypatch.setattr(past_yield, "past_yield", pretended)
    for _ in range(2):
        follow(study, tmp_path, lambda name, what: said.append(f"{name}: {what}"), fresh=False)
    assert asked == [["Crush", "Wrap"], ["Wrap"]]
    assert "No gussets: not followed past yield: it slipped; try another mesh" in said
    block, crush = study.layouts[0].block, study.loads[0]
    renamed = replace(crush, name="Press", demand_multiple=5.0)
    assert kept_past_yield(tmp_path, block, renamed, "quick") == FOUND
    rough = replace(crush, friction=True)
    assert kept_past_yield(tmp_path, block, rough, "quick") is None


def test_each_load_is_followed_on_a_real_block(study: Study) -> None:
    """A stub that carries its load in the wall alone shows near area times yield.

    Pressed off the middle by more than a sixth of its width, it shows sooner.
    """
    block = study.layouts[0].block
    found = dict(past_yield.past_yield(block, study.loads, MeshSizes(0.9, 1.2), lambda _: None))
    crush, wrap = (found[load] for load in study.loads)
    assert crush.begins is not None
    assert wrap.begins is not None
    tube = block.tube
    radii = (tube.corner_radius_mm, tube.corner_radius_mm - tube.wall_mm)
    section = tube_properties(tube.length_mm, tube.width_mm, tube.wall_mm, *radii)
    squash_n = section.area_mm2 * tube.steel.yield_mpa
    assert crush.begins.load_n == pytest.approx(squash_n, rel=0.1)
    assert wrap.begins.load_n < 0.85 * crush.begins.load_n
    assert "tube" in crush.begins.place


def test_what_cannot_grow_from_nothing_is_not_followed() -> None:
    assert can_follow(CRUSH)
    assert can_follow(WRAP)
    assert not can_follow(replace(WRAP, clamp_n=1000.0))


def test_ratios_by_hand() -> None:
    found = ratios([0.9, 1.0, 1.1])
    assert (found.count, found.mean, found.least, found.most) == (3, pytest.approx(1.0), 0.9, 1.1)
    assert found.scatter == pytest.approx(0.1)


def test_the_kept_study_bears_out_the_estimate() -> None:
    """Off by less than 10 % on average and 15 % in every case, or another estimate is needed."""
    kept = kept_study()
    for run in kept.runs:
        assert run.begins_n is not None
        assert 0.85 < run.begins_n / run.shows_n < 1.15, run
    assert 0.9 < begins_over_shows(kept).mean < 1.1
    assert len({(run.study, run.layout, run.load) for run in kept.runs}) == len(kept.runs)
    assert len(table(kept)) == len(kept.runs) + 4
    assert f"{len(kept.runs)} runs" in summary(kept)


@pytest.mark.long
def test_a_kept_run_made_again_gives_the_same_loads() -> None:
    """The plain layout of the demo in inches under a crush."""
    script = Path(__file__).parents[1] / "benchmarks" / "visible_yield.py"
    made = runpy.run_path(str(script))
    study = read_study(made["DEMOS"] / "bench_block.toml")
    layout, load = study.layouts[0], study.loads[0]
    before = next(
        run
        for run in kept_study().runs
        if (run.study, run.layout, run.load) == (study.title, layout.name, load.name)
    )
    (again,) = made["runs_of"](study.title, layout, (load,), MeshSizes(*before.element_share))
    for name in ("shows_n", "begins_n", "plain_n"):
        assert getattr(again, name) == pytest.approx(getattr(before, name), rel=0.01)
