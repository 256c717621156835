"""Error bands: their arithmetic, what is said of them, and whether finer meshes stay inside."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from blocks import bare_block, patterned
from known_fields import BODIES, THICKNESSES_MM
from pretend import CRUSH, case_result, comparison, layout

from fea.errors import InputError
from fea.model import modelled
from geometry.amounts import steels_of
from geometry.block import Block
from geometry.mesher import SETTINGS, meshed
from studies import refining
from studies.bands import (
    SHOWS_FLOOR,
    STARTS_FLOOR,
    STARTS_SPREAD,
    STIFFNESS_FLOOR,
    Bands,
    accuracy_share,
    band,
)
from studies.bands_words import accuracy_remarks, banded
from studies.loads import CrushCase, WrapCase
from studies.refining import COARSER, _narrowed, refined
from studies.states import CaseState, states_on

ASKED = 0.035
LOADS = (CrushCase("Crush", 30e3, 10.0), WrapCase("Wrap", 30e3, 3.0, (35.0, 0.0)))


def test_a_band_is_half_again_what_the_mesh_changed_and_never_under_its_floor() -> None:
    assert band(90.0, 100.0, 0.05) == pytest.approx(0.15)
    assert band(110.0, 100.0, 0.05) == pytest.approx(0.15)
    assert band(99.0, 100.0, 0.05) == 0.05


@pytest.mark.parametrize(("text", "share"), [("3 %", 0.03), ("3%", 0.03), ("2,5 %", 0.025)])
def test_an_accuracy_is_a_percentage(text: str, share: float) -> None:
    assert accuracy_share(text) == pytest.approx(share)


@pytest.mark.parametrize("text", ["3", "0.1 %", "50 %", "-3 %", "nan %", "three", "", "0.03"])
def test_no_other_accuracy_is_taken(text: str) -> None:
    with pytest.raises(InputError, match="accuracy"):
        accuracy_share(text)


def test_a_share_is_never_rounded_down() -> None:
    assert banded("400 kN", 0.031) == "400 kN ± 4 %"
    assert banded("400 kN", 0.03) == "400 kN ± 3 %"


def test_an_accuracy_not_reached_is_said_with_its_case() -> None:
    one = case_result(CRUSH, 400e3)
    good = replace(one, bands=Bands(0.02, 0.03, 0.01, (1, 2), met=True))
    bad = replace(one, bands=Bands(0.041, 0.03, 0.01, (1, 2), met=False))
    said = replace(comparison(layout("A", good), layout("B", bad)), accuracy=0.03)
    assert accuracy_remarks(said) == [
        "± 3 % was asked for and could not be reached: B under Crush (± 5 %)."
    ]
    assert accuracy_remarks(comparison(layout("B", bad))) == []


def test_two_meshes_give_the_band_and_asking_for_more_refines(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(refining, "_MOST_ROUNDS", 1)
    block, said = bare_block(0.0), []
    run = refined(block, LOADS[1:], SETTINGS["quick"], tmp_path, None, said.append)
    (bands,) = run.bands
    assert bands.unknowns[0] < bands.unknowns[1] == run.model.space.unknowns
    assert bands.met is None
    assert bands.starts >= STARTS_FLOOR
    assert bands.stiffness >= STIFFNESS_FLOOR
    assert any("coarser mesh" in what for what in said)
    finer = refined(block, LOADS[1:], SETTINGS["quick"], tmp_path, ASKED, said.append)
    assert finer.model.space.unknowns > run.model.space.unknowns
    assert any("refinement 1" in what for what in said)
    (closer,) = finer.bands
    # The band is told by the last two meshes, whatever was asked for.
    assert closer.unknowns == (run.model.space.unknowns, finer.model.space.unknowns)
    before, now = (1.0 / one.states[0].found.starts.utilisation for one in (run, finer))
    told = [band(before, now, floor) for floor in (STARTS_FLOOR, STARTS_FLOOR / 1.5**0.545)]
    assert bands.starts > ASKED
    assert any(closer.starts == pytest.approx(share) for share in told)


def test_only_a_place_that_was_refined_narrows_its_band() -> None:
    old = Bands(0.05, 0.04, 0.01, (1, 2))
    now = (100.0, 100.0, 100.0)
    # Elements half as large take no more than a third off an error beside a sharp inner corner.
    there = _narrowed(old, now, now, 0.03, True, 2.0, (2, 3))
    assert (there.starts, there.shows) == (STARTS_FLOOR / 2.0**0.545, SHOWS_FLOOR)
    moved = _narrowed(old, now, now, 0.03, False, 2.0, (2, 3))
    assert moved.starts == STARTS_FLOOR
    known = _narrowed(old, now, now, 0.055, True, 2.0, (2, 3))
    assert known.starts == old.starts
    changed = _narrowed(old, (90.0, 100.0, 100.0), now, 0.03, True, 2.0, (2, 3))
    assert changed.starts == pytest.approx(0.15)


@pytest.mark.long
@pytest.mark.parametrize("name", ["plain", "corner-diagonal", "mid-wall", "overhang"])
def test_a_finer_mesh_stays_inside_the_bands(name: str) -> None:
    """Blocks other than those the bands were set on; the judge has elements two thirds as large."""
    block = patterned(name)
    run = refined(block, LOADS, SETTINGS["normal"], None, None, lambda _: None)
    fine = _fine(block)
    missed = 0
    for state, bands, truth in zip(run.states, run.bands, fine, strict=True):
        for ours, theirs, share in (
            (state.found.starts.utilisation, truth.found.starts.utilisation, bands.starts),
            (state.found.shows.utilisation, truth.found.shows.utilisation, bands.shows),
            (1 / state.stiffness_n_per_mm, 1 / truth.stiffness_n_per_mm, bands.stiffness),
        ):
            print(f"{name} {state.case.name}: {100 * (ours / theirs - 1):+.1f} % of ± {share:.1%}")
            missed += abs(ours / theirs - 1.0) > share
    assert missed == 0


def test_bands_hold_on_bodies_whose_stress_is_known() -> None:
    """A hole in a pulled plate, a thick cylinder, a curved bar: sources in ``known_fields``."""
    rings = [body(thickness_mm) for body in BODIES for thickness_mm in THICKNESSES_MM]
    found = [(ring.found(COARSER), ring.found(1.0), ring.truth()) for ring in rings]
    inside, widths = [], []
    for strengths in found:
        coarse, fine, truth = (1.0 / one.starts.utilisation for one in strengths)
        widths.append(band(coarse, fine, STARTS_FLOOR, STARTS_SPREAD))
        inside.append(abs(truth / fine - 1.0) <= widths[-1])
    assert np.mean(inside) >= 0.95
    assert np.median(widths) < 0.05


def _fine(block: Block) -> tuple[CaseState, ...]:
    mesh = meshed(block, SETTINGS["normal"].refined(1.5))
    return states_on(modelled(mesh, steels_of(block, mesh)), block, LOADS, lambda _: None)
