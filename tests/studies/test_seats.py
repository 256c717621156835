"""Soft and stiff seats side by side: asked for, computed, told, drawn."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from demo_text import swap
from PIL import Image
from pretend import CRUSH, WRAP, case_result, comparison, layout
from pretend_seats import BLOCK, LOADS, compared, pretended, run_of
from pydantic import TypeAdapter

from fea.contact import Contact, ContactSolution
from fea.contact_solver import touched
from fea.errors import InputError, SolveError
from fea.mesh import Floats
from fea.model import Model, modelled
from geometry.amounts import steels_of
from geometry.mesher import SETTINGS, meshed
from geometry.skin import UNDERSIDE
from studies.clamping.u_bolts import UBolts
from studies.kept_arrays import kept_arrays
from studies.loads import (
    ClampCase,
    CrushCase,
    WrapCase,
    in_the_middle,
    with_pin_hole,
    with_stiff_seats,
)
from studies.report import write_report
from studies.seats_picture import seat_figures
from studies.seats_table import seat_section, seats_csv
from studies.states import problems_of
from studies.stiff_results import StiffSeats
from studies.stiff_run import contact_between, strength_of
from studies.stiff_seats import stiff_seats
from studies.study import read_study
from studies.tables import lines, load_remarks, markdown_text, write_tables


@pytest.fixture(scope="module")
def coarse() -> Model:
    mesh = meshed(BLOCK, SETTINGS["quick"].refined(0.3))
    return modelled(mesh, steels_of(BLOCK, mesh))


@pytest.fixture(scope="module")
def found(
    coarse: Model, tmp_path_factory: pytest.TempPathFactory
) -> tuple[tuple[StiffSeats | None, ...], Path]:
    folder = tmp_path_factory.mktemp("fields")
    return stiff_seats(coarse, BLOCK, LOADS, folder, "one", lambda _: None), folder


def test_each_load_is_carried_as_asked(
    found: tuple[tuple[StiffSeats | None, ...], Path],
) -> None:
    crush, wrap, far, soft = found[0]
    assert soft is None
    assert [run.sticking for run in crush.runs if crush] == [False]
    for seats in (wrap, far):
        assert seats is not None
        assert sorted(run.sticking for run in seats.runs) == [False, True]
        assert seats.trouble == ""
        assert seats.governing is not None
        assert seats.governing.starts.load_n == min(run.starts.load_n for run in seats.runs)


def test_resultants_and_files(found: tuple[tuple[StiffSeats | None, ...], Path]) -> None:
    seats, folder = found
    for one in seats:
        for run in one.runs if one else ():
            assert run.imbalance < 1e-6
            assert run.residual < 2e-8
            arrays = kept_arrays(folder / run.touch_file)
            assert arrays is not None
            for name in ("above", "below"):
                corners = arrays[f"{name}_mm"].astype(float)
                edge = corners[:, 1:] - corners[:, :1]
                area = np.abs(edge[:, 0, 0] * edge[:, 1, 1] - edge[:, 0, 1] * edge[:, 1, 0]) / 2.0
                # Facets that a narrower seat cuts through carry more than their own mean.
                if name == "below":
                    assert area @ arrays[f"{name}_mpa"] == pytest.approx(30_000.0, rel=1e-5)


def test_all_but_a_crush_bear_round_the_hole_for_the_pin(coarse: Model) -> None:
    """On soft seats and on stiff ones; no wider than the pin, it changes nothing."""
    under = np.unique(coarse.space.skin_nodes[coarse.mesh.facets_of(UNDERSIDE)])
    away = np.linalg.norm(coarse.space.nodes_mm[under, :2], axis=1)
    plain = WrapCase("Wrap", 30_000.0, 3.0, (5.0, 0.0), stiff_seats=True)
    wide = replace(plain, pin_hole_mm=50.0)

    def pushed_n(case: WrapCase) -> Floats:
        (problem,) = problems_of(coarse, BLOCK, case)
        return problem.force_n[under, 2]

    assert np.array_equal(pushed_n(plain), pushed_n(replace(plain, pin_hole_mm=16.0)))
    assert pushed_n(wide).sum() == pytest.approx(30_000.0, rel=1e-9)
    # Facets that the hole's edge cuts through reach into it.
    inner = away < 25.0 - 10.0
    assert inner.any()
    assert not pushed_n(wide)[inner].any()
    (seats,) = stiff_seats(coarse, BLOCK, (wide,), None, "hole", lambda _: None)
    assert seats is not None
    assert [run.imbalance < 1e-6 for run in seats.runs] == [True, True]
    crush = CrushCase("Crush", 30_000.0, 10.0)
    assert with_pin_hole((crush, plain), 50.0) == (crush, wide)


def test_a_load_past_the_tube_lifts_the_far_side(
    found: tuple[tuple[StiffSeats | None, ...], Path],
) -> None:
    """38 mm is all but over the wall at 40 mm, the other wall is bare; at 35 of 60 mm none is."""
    _, wrap, far, _ = found[0]
    assert run_of(far, False).lifted
    assert not run_of(wrap, True).lifted
    assert run_of(far, False).above.share < run_of(wrap, False).above.share < 1.0
    assert run_of(far, False).above.peak_mm[1] > 0.0


def test_everything_survives_being_kept(
    found: tuple[tuple[StiffSeats | None, ...], Path],
) -> None:
    kind = TypeAdapter(StiffSeats)
    for seats in found[0]:
        if seats is not None:
            assert kind.validate_json(kind.dump_json(seats)) == seats


def test_first_yield_stands_twice() -> None:
    both = compared(pretended(200_000.0, 150_000.0, 180_000.0))
    assert lines(both)[0].first_yield == "200 kN ± 3 % / 150 kN ± 5 %"
    assert any("soft / stiff" in said and "go by the lower" in said for said in load_remarks(both))
    assert "200 kN ± 3 % / 150 kN ± 5 %" in markdown_text(both)
    soft = comparison(layout("S", case_result(CRUSH, 4e5)))
    assert lines(soft)[0].first_yield == "400 kN ± 3 %"
    assert not any("stiff" in said for said in load_remarks(soft))
    assert seats_csv(soft) == ""


def test_a_shortfall_on_stiff_seats_alone_is_said() -> None:
    """90 kN are demanded; the second layout falls short on soft seats already, said elsewhere."""
    cases = (pretended(95_000.0, 120_000.0, 85_000.0), pretended(80_000.0, 70_000.0, 75_000.0))
    (said,) = [one for one in load_remarks(compared(*cases)) if "On stiff seats alone" in one]
    assert "L0 under Wrap forward" in said
    assert "L1" not in said


def test_section_and_spreadsheet(tmp_path: Path) -> None:
    both = compared(pretended(200_000.0, 150_000.0, 180_000.0, lifted=True))
    (row,) = seat_section(both).rows
    # 20 MPa at the case's load is 60 MPa at three times it.
    assert row == (
        *("L0", "Wrap forward", "200 kN ± 3 %", "150 kN ± 5 %", "180 kN ± 5 %"),
        *("40 % of it", "60 % of it", "LIFTS", f"{both.units.show_stress(60.0)} ± 11 %"),
    )
    page = write_report(both, (), None, tmp_path).read_text(encoding="utf-8")
    assert "Soft and stiff seats" in page
    assert "LIFTS" in page
    write_tables(both, tmp_path)
    table = (tmp_path / "seats.csv").read_text(encoding="utf-8-sig").splitlines()
    assert len(table) == 3
    assert table[1].startswith("L0,Wrap forward,slides,200")


def test_the_patch_is_drawn(
    found: tuple[tuple[StiffSeats | None, ...], Path], tmp_path: Path
) -> None:
    run = run_of(found[0][1], False)
    (tmp_path / "fields").mkdir()
    (tmp_path / "fields" / "x.npz").write_bytes((found[1] / run.touch_file).read_bytes())
    both = compared(
        pretended(2e5, 1e5, 2e5, "x.npz"),
        pretended(2e5, 1e5, 2e5, "gone.npz"),
        case_result(WRAP, 1e5),
    )
    (figure,) = seat_figures(both, tmp_path)
    with Image.open(tmp_path / figure.file_name) as picture:
        colours = picture.convert("RGB").getcolors(1 << 24)
    assert colours is not None
    assert len(colours) > 100
    assert "Contact patches under Wrap forward. L0: seat 40 % in touch" in figure.alt
    assert seat_figures(comparison(layout("S", case_result(CRUSH, 4e5))), tmp_path) == ()


def test_the_study_file_asks(tmp_path: Path) -> None:
    path = tmp_path / "s.toml"
    path.write_text(swap('seats = "soft"', 'seats = "both"'), encoding="utf-8")
    asked = read_study(path).loads
    assert all(load.stiff_seats for load in asked if isinstance(load, CrushCase | WrapCase))
    assert with_stiff_seats(asked, False) == tuple(
        replace(load, stiff_seats=False) if isinstance(load, CrushCase | WrapCase) else load
        for load in asked
    )
    path.write_text(swap('seats = "soft"', 'seats = "hard"'), encoding="utf-8")
    with pytest.raises(InputError, match="seats"):
        read_study(path)


@pytest.mark.long
def test_a_clamped_block_has_stiff_seats_too(
    coarse: Model, found: tuple[tuple[StiffSeats | None, ...], Path]
) -> None:
    """A clamp of next to nothing changes nothing; under a real one, both together reach yield."""
    clamp_n = 1e5
    faint = WrapCase("Wrap", 30_000.0, 3.0, (35.0, 0.0), clamp_n=30.0)
    loads = with_stiff_seats((faint, replace(faint, name="Held", clamp_n=clamp_n)), True)
    light, held = stiff_seats(coarse, BLOCK, loads, None, "clamped", lambda _: None)
    for sticking in (False, True):
        free = run_of(found[0][1], sticking)
        assert run_of(light, sticking).starts.load_n == pytest.approx(free.starts.load_n, rel=0.01)
        assert run_of(light, sticking).above.share == pytest.approx(free.above.share, abs=0.02)
        assert run_of(held, sticking).imbalance < 1e-6
    starts = run_of(held, False).starts
    offset = (35.0 * starts.load_n / (clamp_n + starts.load_n), 0.0)
    both = WrapCase("Both", clamp_n + starts.load_n, 1.0, offset, stiff_seats=True)
    (solution,) = touched(coarse, (contact_between(coarse, BLOCK, both, False),))
    reached = strength_of(coarse, BLOCK, solution).starts
    assert reached.utilisation == pytest.approx(1.0, abs=0.01)
    assert reached.part == starts.part


def test_the_clamp_alone_is_a_load_in_the_middle(coarse: Model) -> None:
    clamp = ClampCase("Clamp", 1e5, 1.0, UBolts("M12", "8.8", 2, 0.2, 60_000.0), pin_hole_mm=20.0)
    ours = contact_between(coarse, BLOCK, clamp, True).bearings
    theirs = contact_between(coarse, BLOCK, in_the_middle(clamp), True).bearings
    for one, other in zip(ours, theirs, strict=True):
        assert np.array_equal(one.nodes, other.nodes)
        assert np.array_equal(one.load, other.load)
        assert np.allclose(one.at_mm[:2], 0.0, atol=1e-9)
    (asked,) = with_stiff_seats((clamp,), True)
    assert asked == replace(clamp, stiff_seats=True)


def test_a_run_that_fails_costs_only_its_figure(
    coarse: Model, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    def touchy(model: Model, contacts: tuple[Contact, ...]) -> tuple[ContactSolution, ...]:
        if any(contact.name == "Wrap" for contact in contacts):
            raise SolveError("no steady contact", "use a smaller offset")
        return touched(model, contacts)

    monkeypatch.setattr("studies.stiff_seats.touched", touchy)
    crush, wrap = stiff_seats(coarse, BLOCK, LOADS[:2], tmp_path, "x", lambda _: None)
    assert crush is not None
    assert wrap is not None
    assert len(crush.runs) == 1
    assert wrap.runs == ()
    assert wrap.governing is None
    both = compared(replace(pretended(2e5, 1e5, 2e5), stiff=wrap))
    assert lines(both)[0].first_yield == "200 kN ± 3 %"
    assert seat_section(both).rows == ()
    (said,) = [one for one in load_remarks(both) if "missing" in one]
    assert "L0 under Wrap forward" in said
    assert "use a smaller offset" in said
