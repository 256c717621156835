"""What the pictures are made of: sizes on the drawing, loads on the chart, surfaces, cameras."""

import itertools
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from blocks import patterned
from pretend import CRUSH, WRAP, case_result, comparison, layout
from pretend_press import prediction, press_test
from tiny_study import tiny_study

from geometry.block import Layout
from geometry.pieces import pieces_mass_kg, weld_mass_kg
from geometry.tessellation import Shell, tessellated, volume_mm3
from studies.figures.body import body_of
from studies.figures.camera import long_lens, parallel
from studies.figures.drawing import drawing_page
from studies.figures.page import Page
from studies.figures.paint import PAINTS, paint
from studies.figures.strength import panels
from studies.figures.strength_chart import chart_page, chart_words
from studies.pressing.prediction import block_key
from studies.records.press_test import Marks, Numbered
from studies.study import read_study
from studies.units import OutputUnits

MM_PER_IN = 25.4
DENSITY = 7.85e-6


@pytest.fixture(scope="module")
def shells() -> tuple[Shell, ...]:
    """The ribbed block's surface."""
    return tessellated(patterned("corner-diagonal"), 6.0, 1.5)


@pytest.fixture(scope="module")
def drawn(tmp_path_factory: pytest.TempPathFactory) -> tuple[Page, Layout]:
    """The drawing of a small block with a hole."""
    path = tiny_study(tmp_path_factory.mktemp("drawn"), '\n[hole]\ndiameter = "12 mm"\n')
    study = read_study(path)
    return drawing_page(study, study.layouts[1]), study.layouts[1]


def test_surfaces_enclose_the_steel_that_the_shop_cuts(shells: tuple[Shell, ...]) -> None:
    block = patterned("corner-diagonal")
    whole = sum(volume_mm3(shell) for shell in shells)
    steel = (pieces_mass_kg(block) + weld_mass_kg(block)) / DENSITY
    # Round faces are drawn as polygons, and lose a little.
    assert whole == pytest.approx(steel, rel=2e-3)
    for shell in shells:
        assert np.linalg.norm(shell.normals, axis=1) == pytest.approx(1.0)
        a, b, c = (shell.points_mm[shell.triangles[:, i]] for i in range(3))
        facing = np.einsum("ij,ij->i", np.cross(b - a, c - a), shell.normals[shell.triangles[:, 0]])
        assert (facing > 0.0).all()


def test_ripples_bend_normals_on_welds_and_move_nothing(shells: tuple[Shell, ...]) -> None:
    body = body_of(shells)
    low, high = body.points_mm.min(axis=0), body.points_mm.max(axis=0)
    assert low == pytest.approx((-75.0, -55.0, -12.0))
    assert high == pytest.approx((75.0, 55.0, 60.0))
    assert np.linalg.norm(body.normals, axis=1) == pytest.approx(1.0)


def test_the_drawing_has_the_blocks_sizes_in_both_units(drawn: tuple[Page, Layout]) -> None:
    page, one = drawn
    block = one.block
    overhang = (block.top.length_mm - block.tube.length_mm) / 2.0
    wanted = [
        block.top.length_mm, block.tube.length_mm, overhang, overhang, block.height_mm,
        block.tube.height_mm, block.top.width_mm, block.tube.width_mm, overhang, overhang,
        block.top.thickness_mm, block.bottom.thickness_mm, 12.0,
    ]  # fmt: skip
    assert sorted(size.size_mm for size in page.sizes) == pytest.approx(sorted(wanted), abs=0.02)
    for size in page.sizes:
        in_mm, in_inch = (words.split()[0] for words in size.words)
        assert float(in_mm) == pytest.approx(size.size_mm, abs=0.051)
        assert float(in_inch) * MM_PER_IN == pytest.approx(size.size_mm, abs=0.02)


def test_the_svg_says_the_same_sizes(drawn: tuple[Page, Layout], tmp_path: Path) -> None:
    page, _ = drawn
    page.save(tmp_path / "drawing", 300, "A title", "white")
    text = (tmp_path / "drawing.svg").read_text("utf-8")
    for size in page.sizes:
        for words in size.words:
            assert words in text
    assert (tmp_path / "drawing.pdf").read_bytes().startswith(b"%PDF")


def _clear_of_each_other(page: Page) -> bool:
    page.canvas.canvas.draw()
    boxes = [words.get_window_extent() for words in page.words]
    inside = page.canvas.bbox
    return all(
        inside.x0 <= box.x0 and box.x1 <= inside.x1 and inside.y0 <= box.y0 for box in boxes
    ) and not any(one.overlaps(other) for one, other in itertools.combinations(boxes, 2))


def test_no_words_on_the_drawing_overlap(drawn: tuple[Page, Layout]) -> None:
    assert _clear_of_each_other(drawn[0])


def _known(tests: tuple[Numbered, ...], curve: bool = False):  # type: ignore[no-untyped-def]
    block = patterned("corner-diagonal")
    one = Layout("Ribbed", "corner-diagonal", "Ribs.", block)
    row = layout("Ribbed", case_result(CRUSH, 412e3, shows_n=455e3), case_result(WRAP, 80e3))
    found = comparison(row, loads=(CRUSH, WRAP))
    predicted = prediction(block=block_key(block)) if curve else None
    return panels(found, row, one, predicted, tests)


def test_the_chart_shows_the_results_with_their_bands() -> None:
    crush, wrap = _known(())
    first, shows = crush.known
    assert (first.load_n, shows.load_n, wrap.known[0].load_n) == (412e3, 455e3, 80e3)
    assert first.high_n / first.load_n == pytest.approx(1.03)
    assert shows.low_n / shows.load_n == pytest.approx(0.96)
    assert {one.source for panel in (crush, wrap) for one in panel.known} == {"computed"}
    assert (crush.base, crush.base_n, crush.demanded_n) == ("rated", 30e3, 300e3)


def test_recorded_loads_are_of_the_same_block_and_called_recorded() -> None:
    key = block_key(patterned("corner-diagonal"))
    marks = Marks(no_set_at=250.0, set_at=300.0)
    tests = tuple(
        Numbered(number, "2026-04-01", replace(press_test(), block_key=block, marks=marks))
        for number, block in ((1, "another block"), (2, key))
    )
    crush, wrap = _known(tests, curve=True)
    recorded = [one for one in crush.known if one.source == "recorded"]
    gauge = tests[1].test.gauge
    assert [one.load_n for one in recorded] == [gauge.force_n(250.0), gauge.force_n(300.0)]
    assert all(one.detail.startswith("test 2") for one in recorded)
    assert recorded[0].high_n - recorded[0].load_n == pytest.approx(gauge.tolerance_n(250.0))
    assert [one.load_n for one in crush.known if one.detail == "press curve"] == [650e3, 704e3]
    assert not [one for one in wrap.known if one.source == "recorded"]
    words = chart_words((crush, wrap), OutputUnits())
    assert "first yield 412 kN ± 3 % (computed)" in words
    assert "recorded, test 2" in words
    assert _clear_of_each_other(chart_page("Ribbed", (crush, wrap), OutputUnits()))


def test_a_camera_holds_all_with_its_margin_and_sees_the_floor() -> None:
    rng = np.random.default_rng(3)
    points = rng.uniform(-50.0, 50.0, (200, 3))
    for made in (parallel, long_lens):
        camera = made(points, (1.0, -1.25, 0.6), 800, 0.1)
        at = camera.on_picture(points)
        assert at[:, 0].min() == pytest.approx(80.0, abs=2.0)
        assert at[:, 0].max() == pytest.approx(720.0, abs=2.0)
        assert at[:, 1].min() > 0.0
        assert at[:, 1].max() < camera.pixels[1]
        floor = np.array([(12.0, -7.0, -50.0)])
        ((column, line),) = camera.on_picture(floor)
        seen = camera.floor_mm(np.array([column]), np.array([line]), -50.0)
        assert seen[0, 0] == pytest.approx((12.0, -7.0))


def test_paints_have_names_and_numbers() -> None:
    assert paint("Dark Gray") == PAINTS["dark grey"]
    assert paint("#1f4e79") == (0x1F, 0x4E, 0x79)
