"""Press curves of several layouts in the report."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from pretend import CRUSH, case_result, comparison, layout
from pretend_press import prediction
from tiny_study import tiny_study

from studies.pressing.choice import prediction_file
from studies.pressing.curves_figure import PRESS_CURVES, press_figure
from studies.pressing.curves_section import kept_curves, press_section
from studies.pressing.prediction import band_along, block_key, keep_prediction
from studies.study import read_study
from studies.units import OutputUnits


def test_only_curves_of_just_these_blocks_are_taken(tmp_path: Path) -> None:
    study = read_study(tiny_study(tmp_path))
    plain, ribbed = study.layouts
    assert kept_curves(study, tmp_path) == ()
    curve = prediction(block=block_key(plain.block))
    keep_prediction(prediction_file(tmp_path, study, plain), curve)
    keep_prediction(prediction_file(tmp_path, study, ribbed), curve)  # of another block
    assert kept_curves(study, tmp_path) == (curve,)
    elastic = prediction(curve=False, block=block_key(plain.block))
    keep_prediction(prediction_file(tmp_path, study, plain), elastic)
    assert kept_curves(study, tmp_path) == ()


def test_the_section_has_a_row_for_each_curve_and_names_those_without() -> None:
    of = comparison(*(layout(name, case_result(CRUSH, 4e5)) for name in ("No gussets", "Ribbed")))
    section = press_section(of, (prediction(),))
    (row,) = section.rows
    told = dict(zip(section.headings, row, strict=True))
    assert told["First local yield"] == "500 kN"
    assert told["The most it carries"] == "704 kN"
    assert told["0.2 % of the height stays"] == "650 kN"
    assert section.absent == "Ribbed"
    rising = replace(prediction(), still_rising=True)
    assert "over 704 kN" in press_section(of, (rising,)).rows[0]
    assert press_section(of, ()).rows == ()


def test_the_band_ends_at_stronger_steel_on_the_same_slope() -> None:
    one = prediction()
    low_n, high_n = band_along(one, np.array([0.1, 0.25, 1.0]))
    # 2.0e6 N/mm, 500 kN at 0.25 mm; steel 1.25 times as strong yields at 0.3125 mm only.
    assert low_n == pytest.approx([0.95 * 200e3, 0.95 * 500e3, 0.95 * 702e3], rel=2e-3)
    assert high_n[:2] == pytest.approx([1.05 * 200e3, 1.05 * 500e3], rel=2e-3)
    # Where both are past their steps, forces stand as the strengths do.
    assert high_n[2] == pytest.approx(1.05 * 1.25 * 701.6e3, rel=3e-3)


def test_curves_are_drawn_apart(tmp_path: Path) -> None:
    assert press_figure((), OutputUnits(), tmp_path) is None
    two = (prediction(), replace(prediction(), layout="Ribbed $5 <b>"))
    figure = press_figure(two, OutputUnits(), tmp_path)
    assert figure is not None
    assert "Ribbed $5 <b>: first yield at 500 kN, carries at most 704 kN" in figure.alt
    with Image.open(tmp_path / PRESS_CURVES) as picture:
        pixels = np.asarray(picture.convert("RGB"), dtype=int)
    assert (np.abs(pixels - (0xC8, 0x56, 0x2B)).max(axis=2) < 8).sum() > 2000
