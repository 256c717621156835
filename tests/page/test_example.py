"""The answer that comes with the example is the example's own, by this version."""

import json
from dataclasses import replace
from importlib.metadata import version
from importlib.resources import files
from pathlib import Path

import pytest

from studies.compare import compared
from studies.page.answers import PACKED, PACKED_SETTING, answer, packed, shown
from studies.page.curves import press_curves
from studies.page.example import PRESS, SHOWN, example, packed_shown
from studies.page.guess import guess
from studies.page.views import VIEWS, packed_views
from studies.store import keep_result, question_key, result_key


def test_the_example_has_an_answer_to_all_it_asks(tmp_path: Path) -> None:
    study = example()
    found = answer(study, tmp_path)
    assert found is not None, "make it anew: python -m studies.page.pack_example OUT"
    assert found.missing == ()
    assert found.setting == PACKED_SETTING
    said = shown(found)
    assert [load["name"] for load in said["loads"]] == [load.name for load in study.loads]
    assert f"Gussetry {version('gussetry')} on" in said["made"]
    views = json.loads(packed_views(found))
    assert [one["name"] for one in views["layouts"]] == [one.name for one in study.layouts]
    renamed = [replace(one, name=f"{one.name}, renamed") for one in study.layouts]
    other = answer(replace(study, layouts=tuple(renamed)), tmp_path)
    assert other is not None
    assert packed_views(other) == "null", "pictures under other names would mislead"


def test_what_is_shown_at_once_is_what_the_packed_results_say(tmp_path: Path) -> None:
    study = example()
    found = answer(study, tmp_path)
    assert found is not None
    anew = "make it anew: python -m studies.page.pack_example --words"
    assert packed_shown(study) == json.loads(json.dumps(shown(found))), anew
    assert packed_shown(replace(study, setting="fine")) == packed_shown(study)
    assert packed_shown(replace(study, title="Mine")) is None
    assert packed_shown(replace(study, layouts=study.layouts[:2])) is None


def test_its_press_curves_are_of_its_own_blocks_and_start_where_its_answer_does(
    tmp_path: Path,
) -> None:
    study = example()
    found = answer(study, tmp_path)
    said = press_curves(study, tmp_path)
    assert found is not None
    assert said is not None
    assert [one["layout"] for one in said["curves"]] == [one.name for one in study.layouts[:2]]
    for curve, row in zip(said["curves"], found.comparison.results, strict=False):
        starts = row.cases[0].starts.load_n * (1.0 + row.cases[0].bands.starts)
        first = curve["marks"][0]
        assert first["low"] <= study.units.force_in(starts)
        assert first["high"] >= study.units.force_in(row.cases[0].starts.load_n)


def test_another_block_has_none(tmp_path: Path) -> None:
    study = example()
    thinner = [
        replace(one, block=replace(one.block, tube=replace(one.block.tube, wall_mm=5.0)))
        for one in study.layouts
    ]
    other = replace(study, layouts=tuple(thinner))
    assert answer(other, tmp_path) is None
    assert packed_shown(other) is press_curves(other, tmp_path) is None


def test_what_a_run_has_kept_goes_before_what_is_packed(tmp_path: Path) -> None:
    study = replace(example(), setting=PACKED_SETTING)
    asked = (study.loads, study.setting, study.accuracy)
    first = study.layouts[0]
    row = packed().results[question_key(first, *asked)]
    keep_result(tmp_path / "store", result_key(first, *asked), replace(row, name="another name"))
    found = answer(study, tmp_path)
    assert found is not None
    assert (found.made, found.setting) == ("", PACKED_SETTING)
    assert [one.name for one in found.comparison.results] == [first.name]
    assert found.missing == tuple(one.name for one in study.layouts[1:])
    assert shown(found)["masses"] == {first.name: study.units.show_mass(row.mass_kg)}


def test_it_is_small() -> None:
    demo = files("studies.demo")
    assert (
        sum(len(demo.joinpath(name).read_bytes()) for name in (PACKED, VIEWS, SHOWN, PRESS))
        < 3_000_000
    )


def test_a_guess_of_size_is_near_what_the_meshes_had() -> None:
    said = guess(replace(example(), setting=PACKED_SETTING))
    most = max(row.unknowns for row in packed().results.values())
    assert 0.7 < said.unknowns / most < 1.4


@pytest.mark.long
def test_computing_it_anew_gives_what_is_packed(tmp_path: Path) -> None:
    study = replace(example(), setting=PACKED_SETTING)
    study = replace(study, layouts=study.layouts[:2])
    found = answer(replace(study, setting="normal"), tmp_path)
    assert found is not None
    comparison = compared(study, tmp_path, lambda *_: None)
    for anew, there in zip(comparison.results, found.comparison.results, strict=True):
        assert anew.mass_kg == pytest.approx(there.mass_kg, rel=1e-9)
        for one, other in zip(anew.cases, there.cases, strict=True):
            # Another version of the mesher may cut the block otherwise: the bands allow for that.
            within = one.bands.starts + other.bands.starts
            assert one.starts.load_n == pytest.approx(other.starts.load_n, rel=within)
            assert one.stiffness_n_per_mm == pytest.approx(
                other.stiffness_n_per_mm, rel=one.bands.stiffness + other.bands.stiffness
            )
