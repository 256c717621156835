"""Bands of stiff seats: told from two meshes, held against a finer one, or said to be none."""

from dataclasses import replace

import pytest
from pretend import WRAP, case_result
from pretend_seats import BLOCK, LOADS, compared, pretended, run_of

from fea.model import modelled
from geometry.amounts import steels_of
from geometry.mesher import SETTINGS, meshed_each
from studies.bands import STIFF_FLOOR
from studies.refining import COARSER
from studies.seats_table import seats_csv
from studies.stiff_results import StiffBands, StiffSeats
from studies.stiff_seats import both_meshes, stiff_on_both, stiff_seats
from studies.tables import lines, load_remarks


def on_one_mesh(slide_n: float, grip_n: float) -> StiffSeats:
    stiff = pretended(200_000.0, slide_n, grip_n).stiff
    assert stiff is not None
    return replace(stiff, runs=tuple(replace(run, bands=None) for run in stiff.runs))


def test_two_meshes_tell_the_bands_of_stiff_seats() -> None:
    """10 kN of 160 kN between them, told as they are, as for soft seats; never below 5 %."""
    both = both_meshes(on_one_mesh(150_000.0, 180_000.0), on_one_mesh(160_000.0, 180_000.0))
    slides, grips = (run_of(both, sticking).bands for sticking in (False, True))
    assert run_of(both, False).starts.load_n == 160_000.0
    assert slides == StiffBands(pytest.approx(0.0625), 0.22, STIFF_FLOOR, STIFF_FLOOR)
    assert grips is not None
    assert grips.starts == STIFF_FLOOR


@pytest.mark.parametrize("lacking", ["coarser", "finer"])
def test_a_load_found_on_one_mesh_only_says_so(lacking: str) -> None:
    whole = on_one_mesh(150_000.0, 180_000.0)
    gripping = StiffSeats((run_of(whole, True),), "no steady contact; move it")
    both = both_meshes(*((gripping, whole) if lacking == "coarser" else (whole, gripping)))
    assert run_of(both, False).bands is None
    assert run_of(both, True).bands is not None
    told = compared(replace(case_result(WRAP, 200_000.0), stiff=both))
    assert lines(told)[0].first_yield == "200 kN ± 3 % / 150 kN (no ±)"
    (slides,) = [row for row in seats_csv(told).splitlines() if ",slides," in row]
    assert ",150.0,none," in slides
    (said,) = [one for one in load_remarks(told) if "one of two meshes" in one]
    assert "L0 under Wrap forward" in said
    assert said.endswith("has no ±: no steady contact; move it.")


@pytest.mark.long
def test_a_finer_mesh_stays_inside_the_bands_of_stiff_seats() -> None:
    """Off the middle, a block rocks on a narrow touch: that once found no contact."""
    quick = SETTINGS["quick"]
    every = meshed_each(BLOCK, (quick.refined(0.7 * COARSER), quick.refined(0.7), quick))
    coarser, model, finer = (modelled(mesh, steels_of(BLOCK, mesh)) for mesh in every)
    banded = stiff_on_both(model, coarser, BLOCK, LOADS, None, "", lambda _: None)
    truer = stiff_seats(finer, BLOCK, LOADS, None, "", lambda _: None)
    held = 0
    for mine, other in zip(banded, truer, strict=True):
        for run in mine.runs if mine else ():
            assert run.bands is not None
            change = run_of(other, run.sticking).starts.load_n / run.starts.load_n - 1.0
            assert abs(change) <= run.bands.starts
            held += 1
    assert held == 5
