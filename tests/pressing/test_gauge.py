"""Gauge readings and the forces behind them."""

import math
from dataclasses import replace
from pathlib import Path

import pytest
from demo_text import GOOD, INCHES
from hypothesis import given
from hypothesis import strategies as st

from fea.errors import InputError
from studies.pressing.gauge import ACCURACIES, ASSUMED_ACCURACY, Gauge, Press, on_scale
from studies.study import read_study

# 9 in² and 1 psi make 9 lbf.
LBF_N = 4.4482216152605
SHOP = Gauge("psi", 10_000.0, 200.0, 1000.0, ACCURACIES["grade B"], 9.0 * LBF_N)


def test_zero_error_is_taken_off() -> None:
    assert SHOP.force_n(1000.0) == 0.0
    assert SHOP.force_n(5000.0) == pytest.approx(36_000.0 * LBF_N)
    assert SHOP.reading(36_000.0 * LBF_N) == pytest.approx(5000.0)


@given(st.floats(0.0, 1e7))
def test_reading_and_force_undo_each_other(force_n: float) -> None:
    assert SHOP.force_n(SHOP.reading(force_n)) == pytest.approx(force_n, abs=1e-6)


@given(st.floats(0.0, 9_999.0), st.sampled_from([5.0, 10.0, 0.5, 0.25, 200.0]))
def test_readings_go_to_the_dials_marks(reading: float, division: float) -> None:
    gauge = replace(SHOP, division=division)
    near, below = gauge.to_division(reading), gauge.to_division(reading, careful=True)
    assert abs(near - reading) <= division / 2 + 1e-9
    assert below <= reading + 2e-6 * division
    for mark in (near, below):
        assert mark / division == pytest.approx(round(mark / division), abs=1e-9)


@pytest.mark.parametrize(
    ("division", "shown"), [(200.0, "4400"), (10.0, "4400"), (0.5, "4400.0"), (0.25, "4400.00")]
)
def test_as_many_decimals_as_the_dial_has(division: float, shown: str) -> None:
    assert replace(SHOP, division=division).plain(4400.0) == shown


def test_tolerance_is_wider_outside_the_middle_half() -> None:
    """Grade B: 2 % of the range in the middle half, 3 % outside; and half a division."""
    assert SHOP.tolerance(5000.0) == pytest.approx(300.0)
    assert SHOP.tolerance(9000.0) == pytest.approx(400.0)
    assert SHOP.tolerance_n(5000.0) == pytest.approx(2700.0 * LBF_N)


def test_a_press_ends_where_it_or_its_gauge_does() -> None:
    by_gauge = Press(1e6, SHOP)
    assert by_gauge.limit_n == pytest.approx(81_000.0 * LBF_N)
    assert by_gauge.limited_by == "gauge"
    assert Press(1e5, SHOP).limit_n == 1e5
    assert Press(1e5, SHOP).limited_by == "press"


def test_readings_in_another_unit_of_pressure() -> None:
    assert on_scale("2500 psi", "psi") == 2500.0
    assert on_scale("100 bar", "psi") == pytest.approx(1450.377, rel=1e-6)
    with pytest.raises(InputError, match="no unit of pressure"):
        on_scale("20 kN", "psi")


def test_the_demos_presses(tmp_path: Path) -> None:
    mine = tmp_path / "mine.toml"
    mine.write_text(GOOD, "utf-8")
    press = read_study(mine).press
    assert press is not None
    assert press.gauge.force_n(600.0) == pytest.approx(math.pi * 70.0**2 * 60.0)
    assert press.limited_by == "press"
    mine.write_text(INCHES, "utf-8")
    press = read_study(mine).press
    assert press is not None
    assert press.gauge.newtons_per_unit == pytest.approx(9.0 * LBF_N)
    assert press.gauge.zero == 1000.0
    assert press.gauge.accuracy.outer_share == 0.03


@pytest.mark.parametrize(
    ("written", "share"),
    [('"1.6"', 0.016), ('"cl. 2.5"', 0.025), ('"GRADE 1A"', 0.01), ('"±1.5 %"', 0.015)],
)
def test_accuracy_as_dials_say_it(written: str, share: float, tmp_path: Path) -> None:
    mine = tmp_path / "mine.toml"
    mine.write_text(GOOD.replace('"class 1.6"  #', f"{written}  #", 1), "utf-8")
    press = read_study(mine).press
    assert press is not None
    assert press.gauge.accuracy.middle_share == pytest.approx(share)


def test_a_dial_marked_in_tons_needs_no_ram(tmp_path: Path) -> None:
    mine = tmp_path / "mine.toml"
    text = GOOD[: GOOD.index("[press]")] + GOOD[GOOD.index("# The layouts") :]
    table = '[press]\ncapacity = "50 US ton"\ngauge_range = "60 US tons"\n\n'
    mine.write_text(text.replace("# The layouts", table + "# The layouts", 1), "utf-8")
    press = read_study(mine).press
    assert press is not None
    assert press.gauge.unit == "US ton"
    assert press.gauge.force_n(50.0) == pytest.approx(100_000.0 * LBF_N)
    assert press.limited_by == "press"
    assert press.gauge.accuracy == ASSUMED_ACCURACY
    mine.write_text(text, "utf-8")
    assert read_study(mine).press is None
