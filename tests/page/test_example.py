"""The answer that comes with the example is the example's own, by this version."""

import json
from dataclasses import replace
from importlib.metadata import version
from importlib.resources import files
from pathlib import Path

import pytest

from studies.compare import compared
from studies.page.answers import PACKED, PACKED_SETTING, answer, packed, shown
from studies.page.folder import EXAMPLES
from studies.page.guess import guess
from studies.page.views import VIEWS, packed_views
from studies.reader import data_of
from studies.study import Study, study_from, table_from
from studies.template import study_template


def _example() -> Study:
    name = next(iter(EXAMPLES))
    return study_from(table_from(data_of(study_template("mm"), name), name), Path(name))


def test_the_example_has_an_answer_to_all_it_asks(tmp_path: Path) -> None:
    study = _example()
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


def test_another_block_has_none(tmp_path: Path) -> None:
    study = _example()
    thinner = [
        replace(one, block=replace(one.block, tube=replace(one.block.tube, wall_mm=5.0)))
        for one in study.layouts
    ]
    assert answer(replace(study, layouts=tuple(thinner)), tmp_path) is None


def test_it_is_small() -> None:
    demo = files("studies.demo")
    assert sum(len(demo.joinpath(name).read_bytes()) for name in (PACKED, VIEWS)) < 3_000_000


def test_a_guess_of_size_is_near_what_the_meshes_had() -> None:
    said = guess(replace(_example(), setting=PACKED_SETTING))
    most = max(row.unknowns for row in packed().results.values())
    assert 0.7 < said.unknowns / most < 1.4


@pytest.mark.long
def test_computing_it_anew_gives_what_is_packed(tmp_path: Path) -> None:
    study = replace(_example(), setting=PACKED_SETTING)
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
