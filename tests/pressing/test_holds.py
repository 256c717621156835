"""Hold points, what the press cannot reach, and the papers, on a curve made up for the purpose."""

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from demo_text import GOOD
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image
from pretend import CRUSH, case_result
from pretend_press import GAUGE, PRESS, prediction, press_curve, spring_n

from studies.cautions import CAUTIONS
from studies.paper_html import html_text
from studies.paper_pdf import pdf_bytes
from studies.pressing.cautions import AT_THE_PRESS, press_cautions
from studies.pressing.curve_chart import draw_curve
from studies.pressing.gauge import Press
from studies.pressing.gauge_chart import _apart, draw_gauge_chart
from studies.pressing.holds import HoldPlan, hold_plan, travel_at_mm
from studies.pressing.mill import mill_strength, strongest_at_the_mill
from studies.pressing.predict import from_curve, from_elastic
from studies.pressing.prediction import (
    Prediction,
    Threshold,
    prediction_from,
    prediction_json,
    scaled,
)
from studies.pressing.sheet import PressTestPaper, first_page, press_test_sheet, travel_words
from studies.study import read_study
from studies.units import OutputUnits

UNITS = OutputUnits()
INCHES = OutputUnits("in", "US ton", "ksi", "lb")


def _plan(force: Prediction | None = None, press: Press = PRESS, rated_n: float = 30e3) -> HoldPlan:
    return hold_plan(force or prediction(), press, rated_n, UNITS)


def test_stops_rise_on_the_dials_marks_and_within_the_press() -> None:
    plan = _plan()
    readings = [hold.reading for hold in plan.holds]
    assert readings == sorted(set(readings))
    for hold in plan.holds:
        assert hold.reading % GAUGE.division == pytest.approx(0.0)
        assert hold.force_n == pytest.approx(GAUGE.force_n(hold.reading))
        assert hold.force_n <= PRESS.limit_n
        assert hold.tolerance == GAUGE.tolerance(hold.reading)
        assert hold.travel_mm is not None
        assert spring_n(hold.travel_mm) == pytest.approx(hold.force_n, rel=1e-6)
    assert plan.beyond == ()


def test_ten_times_rated_is_never_short_and_yield_never_overshot() -> None:
    """1 mark of this dial is 15 kN: 310 kN lies between two, and so does 500 kN."""
    holds = {why: hold for hold in _plan(rated_n=31e3).holds for why in hold.why}
    assert holds["ten times rated"].force_n == pytest.approx(315e3)
    assert holds["first local yield"].force_n == pytest.approx(495e3)
    assert holds["just before first yield"].force_n == pytest.approx(465e3)
    assert holds["just before first yield"].asked_n == pytest.approx(0.95 * 500e3)


def test_the_zero_error_is_in_every_reading() -> None:
    shifted = replace(PRESS, gauge=replace(GAUGE, zero=50.0))
    for plain, moved in zip(_plan().holds, _plan(press=shifted).holds, strict=True):
        assert moved.reading == plain.reading + 50.0
        assert moved.force_n == pytest.approx(plain.force_n)


def test_the_shops_own_stops_are_kept() -> None:
    plan = _plan(press=replace(PRESS, holds_n=(400e3,)))
    (own,) = [hold for hold in plan.holds if "your own stop" in hold.why]
    assert own.force_n <= 400e3 < own.force_n + 15e3 + 1.0


def test_a_press_that_runs_out_says_so_and_what_to_do() -> None:
    plan = _plan(press=Press(400e3, GAUGE))
    assert [why for why, _ in plan.beyond] == [
        "just before first yield", "first local yield", "yielding begins to show",
        "0.2 % of the height stays", "the most it carries",
    ]  # fmt: skip
    assert plan.warnings[0] == "Careful past 1.50 mm of travel: " + prediction().limit_reason + "."
    assert "before the block yields anywhere" in plan.warnings[1]
    assert plan.holds[-1].why == ("as far as this press goes",)
    assert 385e3 <= plan.holds[-1].force_n <= 400e3
    said = " ".join(plan.instead)
    # Crush at 704 kN, a mesh 5 % off, steel 1.25 times its minimum; a quarter of 500 kN.
    assert "924 kN" in said
    assert "about 125 kN" in said
    assert "smaller bearing area" in said


@pytest.mark.parametrize(
    ("capacity_n", "rated_n", "said"),
    [
        (550e3, 30e3, "only likely"),
        (850e3, 30e3, "sure to be crushed"),
        (900e3, 89e3, "ten times the rated load"),
    ],
)
def test_each_shortfall_is_told(capacity_n: float, rated_n: float, said: str) -> None:
    assert any(
        said in one for one in _plan(press=Press(capacity_n, GAUGE), rated_n=rated_n).warnings
    )


def test_a_press_large_enough_needs_no_warning() -> None:
    gauge = replace(GAUGE, full_scale=1000.0)
    plan = _plan(replace(prediction(), limit_reason=""), Press(1400e3, gauge))
    assert (plan.warnings, plan.instead, plan.beyond) == ((), (), ())


def test_without_a_curve_travel_ends_at_first_yield() -> None:
    elastic = prediction(curve=False)
    assert travel_at_mm(elastic, 300e3) == pytest.approx(0.15)
    assert travel_at_mm(elastic, 520e3) is None
    assert travel_at_mm(prediction(), 2000e3) is None
    whys = [why for hold in _plan(elastic).holds for why in hold.why]
    assert whys[-1] == "yielding expected to show (estimate)"


def test_a_curve_that_still_rises_is_not_called_the_most_it_carries() -> None:
    rising = replace(prediction(), still_rising=True)
    whys = [why for hold in _plan(rising).holds for why in hold.why]
    assert whys[-1] == "the computed curve ends, still rising"
    assert "the most it carries" not in whys


def test_thin_walls_are_told_first() -> None:
    elastic = replace(prediction(curve=False), limit_reason="thin walls may buckle first")
    assert _plan(elastic).warnings[0] == "Careful: thin walls may buckle first."


def test_the_band_has_mesh_and_mill_in_it_until_the_yield_is_known() -> None:
    starts = Threshold("starts", 500e3, None, "")
    assert prediction().band_n(starts) == pytest.approx((475e3, 656.25e3))
    closer = replace(starts, mesh_share=0.02)
    assert prediction().band_n(closer) == pytest.approx((490e3, 637.5e3))
    known = scaled(prediction(), 1.1, "as fitted")
    assert known.band_n(replace(starts, force_n=550e3)) == pytest.approx((522.5e3, 577.5e3))


def test_usual_strengths_have_their_source(tmp_path: Path) -> None:
    (tmp_path / "mine.toml").write_text(GOOD, "utf-8")
    block = read_study(tmp_path / "mine.toml").layouts[1].block
    assert strongest_at_the_mill(block).times == 1.25
    assert "EN 1998-1" in strongest_at_the_mill(block).source
    own = replace(block.tube.steel, name="mill cert")
    assert mill_strength(own).times == 1.0


def test_predictions_from_the_engines_curve_and_from_plain_crush(tmp_path: Path) -> None:
    (tmp_path / "mine.toml").write_text(GOOD, "utf-8")
    layout = read_study(tmp_path / "mine.toml").layouts[0]
    fine = press_curve()
    assert fine.faint
    coarse = replace(fine, faint=replace(fine.faint, force_n=1.08 * fine.faint.force_n))
    coarse = replace(coarse, permanent_set=None)
    computed = from_curve(layout, fine, coarse, "quick", UNITS)
    # Half again of what changed, 4 % at least.
    assert [one.mesh_share for one in computed.thresholds] == pytest.approx(
        [0.04, 0.12, 0.04, 0.1, 0.04]
    )
    assert [one.key for one in computed.thresholds] == [
        "starts", "faint", "through", "permanent_set", "crush",
    ]  # fmt: skip
    assert computed.basis == "elastic-plastic"
    assert computed.thresholds[0].place.startswith("tube, front wall")
    assert computed.steel_words == "tube S355, 355 MPa; plates S355, 355 MPa"
    at_mm = np.array([0.1, 0.5, 1.9])
    assert computed.force_at_n(at_mm) == pytest.approx([press_curve().force_at_n(x) for x in at_mm])
    elastic = from_elastic(layout, case_result(CRUSH, 500e3), "quick", UNITS)
    assert [one.force_n for one in elastic.thresholds] == pytest.approx([500e3, 550e3])
    assert elastic.height_mm == 60.0
    for one in (computed, elastic):
        assert prediction_from(prediction_json(one)) == one
    assert prediction_from("{}") is None


@pytest.mark.parametrize(
    ("travel_mm", "units", "said"),
    [
        (None, UNITS, "–"),
        (0.004, UNITS, "under 0.01"),
        (1.234, UNITS, "1.23"),
        (1.27, INCHES, "0.050"),
        (0.01, INCHES, "under 0.001"),
    ],
)
def test_travel_to_what_a_dial_indicator_shows(
    travel_mm: float | None, units: OutputUnits, said: str
) -> None:
    assert travel_words(travel_mm, units) == said


@given(st.lists(st.floats(0.05, 0.95), min_size=1, max_size=16))
def test_words_on_the_gauge_chart_keep_apart(shares: list[float]) -> None:
    places = _apart(shares)
    assert all(b - a > 0.02 for a, b in zip(sorted(places), sorted(places)[1:], strict=False))
    in_order = sorted(range(len(shares)), key=lambda index: shares[index])
    assert [places[index] for index in in_order] == sorted(places)


def _paper(press: Press = PRESS, units: OutputUnits = UNITS) -> PressTestPaper:
    plan = hold_plan(prediction(), press, 30e3, units)
    return PressTestPaper("Risers <b>", prediction(), press, plan, 30e3, units, ())


@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_the_sheet_to_fill_in_is_one_page(size: str) -> None:
    pages = re.findall(rb"/Type /Page\b", pdf_bytes(first_page(_paper()), size))  # type: ignore[arg-type]
    assert len(pages) == 1


def test_the_sheet_carries_every_caution_stop_and_blank() -> None:
    paper = _paper(Press(600e3, GAUGE))
    text = html_text(press_test_sheet(paper), "A4")
    assert "Risers &lt;b&gt;" in text
    assert "Never past 400 bar, 600 kN" in text
    for caution in (*AT_THE_PRESS, CAUTIONS[0], CAUTIONS[1], CAUTIONS[3]):
        assert caution in text.replace("&#39;", "'")
    for hold in paper.plan.holds:
        assert f">{GAUGE.plain(hold.reading)}<" in text.replace("\n", "").replace(" ", "")
    assert text.index("Never past") < text.index("Stop at")
    assert text.count("_______") > len(paper.plan.holds)
    assert not re.search(r"\bsafe", text, re.IGNORECASE)
    assert "What to do instead" in text


def test_cautions_at_the_press_name_its_end() -> None:
    said = press_cautions("580 bar, 900 kN")
    assert said[0].startswith("Never past 580 bar, 900 kN")
    for word in ("Guard", "fly", "Stand clear", "decides", "engineer"):
        assert any(word in one for one in said)


@pytest.mark.parametrize("units", [UNITS, INCHES])
def test_charts_show_where_the_press_ends(units: OutputUnits, tmp_path: Path) -> None:
    press = Press(600e3, replace(GAUGE, zero=60.0))
    plan = hold_plan(prediction(), press, 30e3, units)
    draw_gauge_chart(press, plan.holds, units, "Gauge", tmp_path / "gauge.png")
    draw_curve(prediction(), units, "Curve", tmp_path / "curve.png", press)
    for name in ("gauge.png", "curve.png"):
        with Image.open(tmp_path / name) as picture:
            pixels = np.asarray(picture.convert("RGB")).reshape(-1, 3)
        assert (pixels == (0xD1, 0x17, 0x6B)).all(axis=1).sum() > 500
