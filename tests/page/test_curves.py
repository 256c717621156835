"""Press curves as the page is told them: places, words, readings, and what lies out of reach."""

from dataclasses import replace
from pathlib import Path

import pytest
from pretend_press import PRESS, prediction
from tiny_study import tiny_study

from studies.page.curves import press_curves
from studies.pressing.choice import prediction_file
from studies.pressing.prediction import Prediction, block_key, keep_prediction
from studies.study import Study, read_study

CURVE = prediction()


@pytest.fixture
def study(tmp_path: Path) -> Study:
    return replace(read_study(tiny_study(tmp_path)), press=replace(PRESS, capacity_n=600e3))


def _kept(study: Study, out: Path, which: int, found: Prediction) -> None:
    layout = study.layouts[which]
    own = replace(found, block_key=block_key(layout.block))
    keep_prediction(prediction_file(out, study, layout), own)


def test_nothing_computed_is_nothing_shown(study: Study, tmp_path: Path) -> None:
    assert press_curves(study, tmp_path) is None
    keep_prediction(prediction_file(tmp_path, study, study.layouts[0]), CURVE)
    assert press_curves(study, tmp_path) is None, "that was another block"


def test_points_carry_force_band_and_the_gauge_s_reading(study: Study, tmp_path: Path) -> None:
    _kept(study, tmp_path, 1, CURVE)
    said = press_curves(study, tmp_path)
    assert said is not None
    assert said["absent"] == ["No gussets"]
    assert said["cautions"][0].startswith("Never past 400 bar, 600 kN")
    assert any("never fit it" in one for one in said["cautions"])
    assert said["gauge"]["limit_words"] == "Red line: the press ends here, 400 bar, 600 kN."
    (curve,) = said["curves"]
    points = curve["points"]
    # The spring gives way at 500 kN after 0.25 mm; 1500 N for each bar of this gauge.
    (bend,) = [one for one in points if one["travel"] == 0.25]
    assert bend["force"] == pytest.approx(500.0, rel=1e-6)
    assert bend["low"] < 500.0 < bend["high"]
    assert bend["said"][1] == "500 kN on the block"
    assert bend["said"][3] == "gauge 330 bar"
    assert points[-1]["said"][3] == "out of this press's reach: never past 400 bar"
    assert "past what this way of computing holds for" in points[-1]["said"]
    assert [one["sure"] for one in points] == [one["travel"] <= 1.5 for one in points]
    assert any("Dashed: strains grow" in one for one in curve["notes"])


def test_marks_are_the_loads_of_the_sheet_with_their_bands(study: Study, tmp_path: Path) -> None:
    _kept(study, tmp_path, 0, CURVE)
    said = press_curves(study, tmp_path)
    assert said is not None
    marks = said["curves"][0]["marks"]
    assert [one["name"] for one in marks][:2] == ["first local yield", "yielding begins to show"]
    # Five in a hundred for the mesh, and steel up to 1.25 times its minimum.
    assert (marks[0]["low"], marks[0]["high"]) == pytest.approx((475.0, 656.25))
    assert marks[0]["words"][:2] == ["500 kN", "475 kN to 656 kN"]
    assert marks[-1]["words"][2] == "out of this press's reach: never past 400 bar"


def test_without_curve_or_press_it_says_so(study: Study, tmp_path: Path) -> None:
    _kept(study, tmp_path, 0, prediction(curve=False))
    said = press_curves(replace(study, press=None), tmp_path)
    assert said is not None
    assert said["gauge"] is None
    assert said["cautions"][0].startswith("Never past what press and gauge are made for")
    (curve,) = said["curves"]
    assert curve["points"][-1]["force"] == pytest.approx(500.0)
    assert all(one["sure"] for one in curve["points"])
    assert any("Only springy steel" in one for one in curve["notes"])
    assert curve["marks"][0]["words"][2] == "no press described"
