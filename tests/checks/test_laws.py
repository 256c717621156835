"""Laws that hold for any block whatever its numbers: tried on small ones with coarse meshes.

That forces and movements answer each other alike is Betti's theorem; that loads may be added, and
that steel added never softens a body, follow from linear elasticity and minimum potential energy
(Timoshenko & Goodier, *Theory of Elasticity*). First yield has no such theorem: that it does not
fall where steel is added is held here to its error bands only.
"""

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from tiny_study import TINY

from fea.model import Model, modelled
from fea.solving import solved
from fea.steel import Steel
from geometry.amounts import steels_of
from geometry.block import Block, Plate, Rib, Tube, Welds
from geometry.mesher import MeshSizes, meshed
from geometry.patterns import PATTERNS, RibChoice, gusseted
from studies.loads import CrushCase, LoadCase, PadCase, WrapCase
from studies.refining import Run, refined
from studies.states import problems_of, states_on
from studies.study import read_study

COARSE = MeshSizes(0.9, 1.4)
BANDED = MeshSizes(0.6, 0.9)
S355 = Steel("S355", 355.0, 490.0)
LOAD_N = 10_000.0
CRUSH = CrushCase("Crush", LOAD_N, 5.0)


def _wrap(along_mm: float, across_mm: float = 0.0) -> WrapCase:
    return WrapCase("Wrap", LOAD_N, 5.0, (along_mm, across_mm))


def _block(plate_mm: float = 8.0) -> Block:
    """A plain block with room for ribs on its overhangs."""
    return Block(
        tube=Tube(50.0, 40.0, 5.0, 10.0, 25.0, S355),
        bottom=Plate(80.0, 70.0, plate_mm, S355),
        top=Plate(80.0, 70.0, plate_mm, S355),
        ribs=(),
        rib_steel=S355,
        welds=Welds(),
    )


def _model(block: Block, sizes: MeshSizes = COARSE) -> Model:
    mesh = meshed(block, sizes)
    return modelled(mesh, steels_of(block, mesh))


def _quietly(_what: str) -> None:
    pass


@pytest.fixture(scope="module")
def plain() -> tuple[Block, Model]:
    block = _block()
    return block, _model(block)


def test_a_block_in_inches_is_the_same_block(tmp_path: Path) -> None:
    inches = TINY
    for mm, inch in (("40 mm", "1.5 in"), ("6 mm", "1/4 in"), ("20 mm", "3/4 in"),
                     ("10 mm", "3/8 in"), ("60 mm", "2-1/4 in"), ("8 mm", "5/16 in")):  # fmt: skip
        inches = inches.replace(f'"{mm}"', f'"{inch}"')
    metric = inches
    for inch, mm in (("1.5 in", "38.1 mm"), ("2-1/4 in", "57.15 mm"), ("1/4 in", "6.35 mm"),
                     ("3/4 in", "19.05 mm"), ("3/8 in", "9.525 mm"),
                     ("5/16 in", "7.9375 mm")):  # fmt: skip
        metric = metric.replace(f'"{inch}"', f'"{mm}"')
    metric = metric.replace('"10 kN"', '"2248.089430997105 lbf"')
    found = []
    for name, text in (("inches", inches), ("metric", metric)):
        assert (" in" in text) == (name == "inches")
        (tmp_path / f"{name}.toml").write_text(text)
        study = read_study(tmp_path / f"{name}.toml")
        block = study.layouts[0].block
        model = _model(block)
        (state,) = states_on(model, block, study.loads, _quietly)
        first_yield_n = state.case.load_n / state.found.starts.utilisation
        found.append((first_yield_n, state.stiffness_n_per_mm, len(model.mesh.tets)))
    assert found[0] == pytest.approx(found[1], rel=1e-9)


def test_loads_may_be_added(plain: tuple[Block, Model]) -> None:
    block, model = plain
    cases = (_wrap(8.0), _wrap(-8.0), _wrap(0.0))
    ahead, behind, middle = solved(
        model, tuple(p for c in cases for p in problems_of(model, block, c))
    )
    both = ahead.displacement_mm + behind.displacement_mm
    largest = np.abs(middle.displacement_mm).max()
    assert np.abs(both - 2.0 * middle.displacement_mm).max() < 1e-6 * largest
    # And each alone is another movement by far.
    assert np.abs(ahead.displacement_mm - middle.displacement_mm).max() > 0.1 * largest


def test_loads_and_movements_answer_each_other_alike(plain: tuple[Block, Model]) -> None:
    block, model = plain
    cases: tuple[LoadCase, ...] = (
        _wrap(8.0),
        PadCase("Pad", LOAD_N, 5.0, (30.0, 20.0), (-10.0, 15.0)),
    )
    one, other = solved(model, tuple(p for c in cases for p in problems_of(model, block, c)))
    there = np.vdot(one.problem.force_n, other.displacement_mm)
    back = np.vdot(other.problem.force_n, one.displacement_mm)
    assert there == pytest.approx(back, rel=1e-6)
    assert abs(there) > 0.01 * np.vdot(one.problem.force_n, one.displacement_mm)


def _run(block: Block, *loads: LoadCase) -> Run:
    return refined(block, loads, BANDED, None, None, _quietly)


def _agree(one: Run, other: Run) -> None:
    """Both figures of each load are alike as far as their bands say that they are known."""
    for a, b, a_band, b_band in zip(one.states, other.states, one.bands, other.bands, strict=True):
        first_yield = b.found.starts.utilisation / a.found.starts.utilisation
        assert first_yield == pytest.approx(1.0, abs=a_band.starts + b_band.starts)
        stiffness = a.stiffness_n_per_mm / b.stiffness_n_per_mm
        assert stiffness == pytest.approx(1.0, abs=a_band.stiffness + b_band.stiffness)


def _lopsided() -> Block:
    """A block that is nothing like its mirror image: a shifted plate, one skew rib."""
    rib = Rib("rib", (25.0, 8.0), (1.0, 0.0), 12.0, 6.0)
    block = _block()
    return replace(block, top=replace(block.top, centre_mm=(3.0, -4.0)), ribs=(rib,))


@pytest.mark.long
def test_a_mirror_image_bears_the_same() -> None:
    block = _lopsided()
    (rib,) = block.ribs
    mirrored = replace(
        block,
        top=replace(block.top, centre_mm=(3.0, 4.0)),
        ribs=(replace(rib, start_mm=(25.0, -8.0)),),
    )
    _agree(_run(block, CRUSH, _wrap(6.0, 4.0)), _run(mirrored, CRUSH, _wrap(6.0, -4.0)))


@pytest.mark.long
def test_a_block_turned_about_bears_the_same() -> None:
    block = _lopsided()
    (rib,) = block.ribs
    tube, top, bottom = block.tube, block.top, block.bottom
    turned = replace(
        block,
        tube=replace(tube, length_mm=tube.width_mm, width_mm=tube.length_mm),
        top=replace(top, length_mm=top.width_mm, width_mm=top.length_mm, centre_mm=(4.0, 3.0)),
        bottom=replace(bottom, length_mm=bottom.width_mm, width_mm=bottom.length_mm),
        ribs=(replace(rib, start_mm=(-8.0, 25.0), direction=(0.0, 1.0)),),
    )
    _agree(_run(block, CRUSH, _wrap(6.0, 4.0)), _run(turned, CRUSH, _wrap(-4.0, 6.0)))


@pytest.mark.long
def test_gussets_never_weaken_a_crush() -> None:
    block = _block()
    bare = _run(block, CRUSH)
    for name in sorted(set(PATTERNS) - {"plain", "free"}):
        run = _run(gusseted(block, PATTERNS[name], RibChoice(5.0)), CRUSH)
        stiffer = run.states[0].stiffness_n_per_mm / bare.states[0].stiffness_n_per_mm
        assert stiffer > 1.0 - bare.bands[0].stiffness - run.bands[0].stiffness, name
        stronger = bare.states[0].found.starts.utilisation / run.states[0].found.starts.utilisation
        assert stronger > 1.0 - bare.bands[0].starts - run.bands[0].starts, name


@pytest.mark.long
def test_a_thicker_plate_never_lowers_first_yield_under_wrap() -> None:
    runs = [_run(_block(plate_mm), _wrap(14.0)) for plate_mm in (5.0, 7.0, 9.0, 12.0)]
    for thin, thick in pairwise(runs):
        before, now = (run.states[0].found.starts.utilisation for run in (thin, thick))
        assert before / now > 1.0 - thin.bands[0].starts - thick.bands[0].starts
    first, last = runs[0].states[0].found.starts, runs[-1].states[0].found.starts
    assert last.utilisation < 0.8 * first.utilisation
