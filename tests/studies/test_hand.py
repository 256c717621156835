"""Hand sums: against handbooks, believable beside real results, and objecting to wrong ones."""

import csv
import io
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from blocks import S355, bare_block, patterned
from pretend import CRUSH, case_result, comparison, layout

from geometry.block import Block, Layout
from geometry.section import moments, stub_pieces
from studies.hand import HandCheck, HandSum, hand_checks
from studies.hand_plates import Span, overhang_loads_n, pressed_plates, span, under_patch_n
from studies.loads import CrushCase, LoadCase, PadCase, WrapCase
from studies.report import write_report
from studies.results import CaseResult, Comparison
from studies.solve import layout_result
from studies.tables import verdicts, write_tables

OFFSET = WrapCase("Offset", 100e3, 1.0, (35.0, 0.0))
MIDDLE = WrapCase("Middle", 100e3, 1.0, (0.0, 0.0))
PAD = PadCase("Pad", 50e3, 1.0, (60.0, 40.0))
SQUEEZE = CrushCase("Squeeze", 100e3, 1.0)
LOADS: tuple[LoadCase, ...] = (SQUEEZE, OFFSET, PAD)


@pytest.fixture
def plain() -> Block:
    return replace(bare_block(), pin=None, hole=None)


@pytest.fixture(scope="module")
def computed(tmp_path_factory: pytest.TempPathFactory) -> tuple[Block, tuple[CaseResult, ...]]:
    block = patterned("overhang")
    layout_ = Layout("x", "overhang", "two ribs", block)
    folder = tmp_path_factory.mktemp("fields")
    return block, layout_result(layout_, LOADS, "quick", folder, "x", lambda _: None).cases


def test_real_results_are_believable(computed: tuple[Block, tuple[CaseResult, ...]]) -> None:
    for case in computed[1]:
        assert len(case.by_hand) == (2 if case.case is SQUEEZE else 1)
        for check in case.by_hand:
            assert check.believable, (case.case.name, check.figure, check.ratio)


@pytest.mark.parametrize("factor", [25.4, 1000.0, 1 / 25.4, 1 / 6.895, float("nan")])
def test_a_slip_of_units_is_caught(
    computed: tuple[Block, tuple[CaseResult, ...]], factor: float
) -> None:
    """Inches for mm, kN for N, ksi for MPa: every figure of every load objects."""
    block, cases = computed
    for case in cases:
        wrong = hand_checks(
            block, case.case, factor * case.starts.load_n, factor * case.stiffness_n_per_mm
        )
        assert not any(check.believable for check in wrong), case.case.name


def test_pounds_for_newtons_are_caught_in_crush(
    computed: tuple[Block, tuple[CaseResult, ...]],
) -> None:
    """Bent plates have reserves of four and more past first yield; squeezed tubes have none."""
    block, (crush, *_) = computed
    for factor in (4.448, 1 / 4.448):
        wrong = hand_checks(
            block, SQUEEZE, factor * crush.starts.load_n, factor * crush.stiffness_n_per_mm
        )
        assert not any(check.believable for check in wrong)


def test_a_wall_half_as_thick_is_caught(computed: tuple[Block, tuple[CaseResult, ...]]) -> None:
    """Had the mesher built the tube from half the wall, crush would be half as stiff."""
    block, cases = computed
    thick = replace(block, tube=replace(block.tube, wall_mm=12.0, corner_radius_mm=24.0))
    _, stiffness = hand_checks(thick, SQUEEZE, 1.0, cases[0].stiffness_n_per_mm)
    assert not stiffness.believable


def test_no_yield_past_what_the_section_carries(plain: Block) -> None:
    """Statics: past A · fy every fibre would have yielded, whatever the mesh says."""
    squash_n = hand_checks(plain, SQUEEZE, 1.0, 1.0)[0].governing.value
    just, past = (hand_checks(plain, SQUEEZE, factor * squash_n, 1.0)[0] for factor in (1.0, 1.03))
    assert just.believable
    assert not past.believable
    (bent,) = hand_checks(plain, OFFSET, squash_n, 1.0)
    assert not bent.believable


def test_an_overhang_is_a_cantilever(plain: Block) -> None:
    """Even pressure p on an overhang a past the weld's toe: M = p b a²/2, σ = 6 M/(b t²)."""
    top, bottom = pressed_plates(plain, MIDDLE)
    even = 1.0 / (150.0 * 110.0)
    np.testing.assert_allclose(top.per_mm2, even, rtol=1e-9)
    for pressed in (top, bottom):
        loads = dict(overhang_loads_n(plain, pressed))
        assert set(loads) == {"front", "rear", "left", "right"}
        arm = (150.0 - 120.0) / 2 - 5.0
        stress_per_n = 6 * (even * arm**2 / 2) / 8.0**2
        # A whole number of cells does not end at the toe.
        assert loads["front"] == pytest.approx(S355.yield_mpa / stress_per_n, rel=0.02)


def test_overhangs_with_ribs_are_left_out() -> None:
    """Two ribs stand under front and rear."""
    top, _ = pressed_plates(patterned("overhang"), MIDDLE)
    assert [side for side, _ in overhang_loads_n(patterned("overhang"), top)] == ["left", "right"]


def test_a_plate_over_a_bore_follows_the_handbook(plain: Block) -> None:
    """Timoshenko & Woinowsky-Krieger, table 35: built-in square plate, 0.0513 q a² at its edge;
    twice as long as wide, 0.0829 q b²."""
    even = 1.0 / (150.0 * 110.0)
    for length, moment in ((68.0, 0.0513), (136.0, 0.0829)):
        tube = replace(plain.tube, length_mm=length + 12.0, corner_radius_mm=0.0)
        block = replace(plain, tube=tube)
        found = span(block, pressed_plates(block, MIDDLE)[1])
        assert found is not None
        stress_per_n = 6 * moment * even * 68.0**2 / 8.0**2
        assert found.yields_n == pytest.approx(S355.yield_mpa / stress_per_n, rel=0.015)


def test_a_small_pad_counts_more_than_an_even_one(plain: Block) -> None:
    """Roark, built-in plate pressed on a circle in its middle: grows with ln(1/r)."""
    small, large = (
        span(plain, pressed_plates(plain, PadCase("p", 1.0, 1.0, size))[0])
        for size in ((10.0, 10.0), (50.0, 40.0))
    )
    assert isinstance(small, Span)
    assert isinstance(large, Span)
    assert small.yields_n < 0.7 * large.yields_n
    assert small.gives_way_n < large.gives_way_n
    beside = PadCase("p", 1.0, 1.0, (5.0, 5.0), (72.0, 0.0))
    assert span(plain, pressed_plates(plain, beside)[0]) is None


def test_a_built_in_plate_gives_way_by_yield_lines(plain: Block) -> None:
    """Johansen: a built-in square plate evenly pressed gives way at q = 48 m/a²."""
    tube = replace(plain.tube, length_mm=80.0, width_mm=80.0, corner_radius_mm=0.0)
    block = replace(plain, tube=tube)
    found = span(block, pressed_plates(block, MIDDLE)[1])
    assert found is not None
    line = 2 / 3**0.5 * S355.yield_mpa * 8.0**2 / 4
    by_hand = 48 * line / 68.0**2 * 150.0 * 110.0
    assert found.gives_way_n == pytest.approx(by_hand, rel=0.01)


def test_a_clamp_draws_the_load_to_the_middle(plain: Block) -> None:
    """100 kN at 35 mm on top of a clamp of 100 kN is 200 kN at 17.5 mm."""
    clamped = WrapCase("c", 50e3, 1.0, (35.0, 0.0), (5e3, 0.0), clamp_n=100e3)
    together = WrapCase("c", 200e3, 1.0, (17.5, 0.0), (10e3, 0.0))
    (ours,) = hand_checks(plain, clamped, 100e3, 1.0)
    (same,) = hand_checks(plain, together, 200e3, 1.0)
    assert ours.figure == "first yield, clamp included"
    assert ours.computed == 200e3
    assert ours.sums == same.sums


def test_what_stands_under_a_pad_is_squashed(plain: Block) -> None:
    """A pad over the front wall's middle, 20 wide, spread by 8 mm each way: 36 mm of 6 mm wall."""
    pieces = stub_pieces(plain)
    pad = PadCase("p", 1.0, 1.0, (20.0, 20.0), (57.0, 0.0))
    by_hand = 36.0 * 6.0 * S355.yield_mpa
    assert under_patch_n(pieces, pad, plain.top) == pytest.approx(by_hand)
    assert under_patch_n(pieces, replace(pad, centre_mm=(0.0, 0.0)), plain.top) is None
    assert under_patch_n(pieces, MIDDLE, plain.top) is None
    (check,) = hand_checks(plain, pad, 1.0, 1.0)
    assert by_hand in [pytest.approx(one.value) for one in check.sums if "patch" in one.what]


def test_bending_is_reckoned_at_the_worse_end(plain: Block) -> None:
    """Shear forward carries the load's line further out the lower one looks."""
    still = hand_checks(plain, replace(OFFSET, offset_mm=(10.0, 0.0)), 1.0, 1.0)[0]
    pushed = hand_checks(
        plain, replace(OFFSET, offset_mm=(10.0, 0.0), shear_n=(20e3, 0.0)), 1.0, 1.0
    )[0]
    before, stub = still.sums[0].value, pushed.sums[0].value
    assert "N/A" in still.sums[0].what
    assert stub < before
    area = moments(stub_pieces(plain)[0].outline).area_mm2
    # 1/stress is straight in the lever: 52 mm down at 0.2 carry it 10.4 mm out.
    lever = (S355.yield_mpa / stub - 1 / area) / (S355.yield_mpa / before - 1 / area)
    assert lever == pytest.approx((10.0 + 0.2 * 52.0) / 10.0, rel=1e-3)


def _check(computed: float) -> HandCheck:
    sums = HandSum("stub squashed: A · fy", 500e3), HandSum("another", 900e3)
    return HandCheck("first yield", sums, computed, 0.4, 1.02)


@pytest.fixture
def mixed() -> Comparison:
    return comparison(
        layout("=Good", case_result(CRUSH, 400e3, by_hand=(_check(400e3),)), baseline=True),
        layout("Odd", case_result(CRUSH, 700e3, by_hand=(_check(700e3),))),
        loads=(CRUSH,),
    )


def test_what_is_not_believable_is_told_first(mixed: Comparison, tmp_path: Path) -> None:
    (sentence,) = [one for one in verdicts(mixed) if "by hand" in one]
    assert sentence.startswith("Do not trust this yet: Odd under Crush, first yield computed as")
    assert "700 kN is 1.40 times the 500 kN by hand" in sentence
    (tmp_path / "out").mkdir()
    page = write_report(mixed, (), None, tmp_path / "out").read_text(encoding="utf-8")
    assert "1.40 OUTSIDE" in page
    assert "<td>first yield</td>" in page
    assert "0.80" in page


def test_every_sum_is_in_the_csv(mixed: Comparison, tmp_path: Path) -> None:
    write_tables(mixed, tmp_path)
    text = (tmp_path / "by_hand.csv").read_text(encoding="utf-8-sig")
    rows = list(csv.DictReader(io.StringIO(text)))
    assert [row["layout"] for row in rows] == ["'=Good", "'=Good", "Odd", "Odd"]
    assert [row["governs"] for row in rows] == ["True", "False"] * 2
    assert float(rows[0]["computed / by hand"]) == pytest.approx(0.8)
    assert [row["believable"] for row in rows] == ["True", "", "False", ""]
