"""Figures: colours against the legend, rings where they belong, and what happens without OpenGL."""

import signal
import subprocess
import sys
import time
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from matplotlib import colormaps
from numpy.typing import NDArray
from PIL import Image
from pretend import BODY_MM, CRUSH, WRAP, body, case_result, comparison, even_field, layout

from fea.errors import PictureError
from studies import lettering, offscreen, outcome, pictures
from studies.fields import Fields
from studies.results import Comparison, LayoutFailure, LayoutResult
from studies.scenes import Seen, picture_axes, shared_frame, shared_scale
from studies.sheets import cell_width, columns

SHARES = (0.35, 0.2)
GAP = 30
MARK = (0xD1, 0x17, 0x6B)
SEEN_POINT, HIDDEN_POINT = (60.0, 20.0, 15.0), (0.0, 20.0, 15.0)

Pixels = NDArray[np.float64]


def _pixels(path: Path) -> Pixels:
    with Image.open(path) as picture:
        return np.asarray(picture.convert("RGB"), dtype=float)


@pytest.fixture(scope="module")
def drawn(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, tuple[pictures.Figure, ...]]:
    """Two bodies under even stress, a third that failed; the first's ring in sight."""
    folder = tmp_path_factory.mktemp("drawn")
    model = body()
    rows: list[LayoutResult | LayoutFailure] = []
    for number, (share, point) in enumerate(zip(SHARES, (SEEN_POINT, HIDDEN_POINT), strict=True)):
        even_field(model, folder / "fields" / f"{number}.vtu", share, CRUSH.demand_multiple)
        case = case_result(CRUSH, 300e3 / share, point_mm=point, field_file=f"{number}.vtu")
        rows.append(layout(f"Body {number}", case, baseline=number == 0))
    rows.append(LayoutFailure("Body that failed", False, "x; y"))
    return folder, pictures.block_figures(comparison(*rows), folder)


def _halves(folder: Path) -> tuple[Pixels, Pixels]:
    """The left and the right body of the stress sheet, cut off above the legend's bar."""
    sheet = _pixels(folder / "stress-1-crush.png")[:-260]
    middle = sheet.shape[1] // 2
    return sheet[:, :middle], sheet[:, middle:]


def test_sheets_have_their_size_and_hold_a_picture(
    drawn: tuple[Path, tuple[pictures.Figure, ...]],
) -> None:
    folder, figures = drawn
    assert [figure.file_name for figure in figures] == ["blocks.png", "stress-1-crush.png"]
    for figure in figures:
        sheet = _pixels(folder / figure.file_name)
        assert sheet.shape[1] == 2 * (cell_width(2) + GAP) + GAP
        assert 400 < sheet.shape[0] < sheet.shape[1]
        for half in np.array_split(sheet, 2, axis=1):
            assert half.std() > 20.0
    assert not list(folder.glob("*.part"))


def test_colours_are_those_of_the_legend(
    drawn: tuple[Path, tuple[pictures.Figure, ...]],
) -> None:
    folder, _ = drawn
    # The scale ends at the round 40 % next above the higher body's 35 %.
    for half, share in zip(_halves(folder), SHARES, strict=True):
        colour = 255.0 * np.array(colormaps["viridis"](share / 0.4)[:3])
        coloured = half[np.ptp(half, axis=2) > 40.0]
        marked = np.abs(coloured - MARK).max(axis=1) < 40.0
        steel = coloured[~marked]
        assert len(steel) > 50_000
        # Shading may darken or lighten the legend's colour a little, never change it.
        shade = steel @ colour / (colour @ colour)
        off = np.abs(steel - shade[:, None] * colour).max(axis=1)
        assert np.mean((off < 6.0) & (shade > 0.7) & (shade < 1.1)) > 0.97


def test_the_legend_runs_over_the_whole_scale(
    drawn: tuple[Path, tuple[pictures.Figure, ...]],
) -> None:
    folder, _ = drawn
    sheet = _pixels(folder / "stress-1-crush.png")
    wide = sheet.shape[1]
    ends = [255.0 * np.array(colormaps["viridis"](end)[:3]) for end in (0.0, 0.5, 1.0)]
    places = (round(0.12 * wide) + 6, wide // 2, round(0.88 * wide) - 6)
    close = [
        np.abs(sheet[:, place] - end).max(axis=1) < 6.0
        for place, end in zip(places, ends, strict=True)
    ]
    # Rows in which all three colours stand: the bar, and nothing but the bar.
    assert 20 < np.logical_and.reduce(close).sum() < 60


def test_rings_lie_where_yielding_starts_and_are_broken_where_hidden(
    drawn: tuple[Path, tuple[pictures.Figure, ...]],
) -> None:
    folder, _ = drawn
    right, up = picture_axes()
    corners = np.array([(x, y, z) for x in (0, 60) for y in (0, 40) for z in (0, 30)], dtype=float)
    across = corners @ right
    scale = cell_width(2) / (1.05 * np.ptp(across))  # pixels a mm: 2.5 % of margin each side
    counts = []
    for half, point in zip(_halves(folder), (SEEN_POINT, HIDDEN_POINT), strict=True):
        rows, cols = np.nonzero(np.abs(half - MARK).max(axis=2) < 12.0)
        counts.append(len(rows))
        steel = np.nonzero(np.ptp(half, axis=2) > 40.0)
        for places, found, heights in (
            (cols, steel[1], corners @ right - np.array(point) @ right),
            (rows, steel[0], np.array(point) @ up - corners @ up),
        ):
            middle = (found.min() + found.max()) / 2.0
            expected = middle - scale * (heights.min() + heights.max()) / 2.0
            # The body is drawn moved by up to a twentieth of its size.
            assert (places.min() + places.max()) / 2.0 == pytest.approx(
                expected, abs=0.05 * max(BODY_MM) * scale
            )
        assert cols.max() - cols.min() == pytest.approx(2 * 0.042 * cell_width(2), abs=25)
    assert counts[0] > 1000
    assert 0.3 * counts[0] < counts[1] < 0.8 * counts[0]


def test_words_name_each_layout_and_the_one_that_is_absent(
    drawn: tuple[Path, tuple[pictures.Figure, ...]],
) -> None:
    _, (plain, stress) = drawn
    assert "Body 0, Body 1" in plain.alt
    for figure in (plain, stress):
        assert "could not be computed: Body that failed" in figure.caption
    assert "first yield at 857 kN ± 3 % (2.86 × demand), tube, left wall" in stress.alt
    assert "300 kN" in stress.caption
    assert "times larger" in stress.caption


def test_movement_is_drawn_at_a_round_factor_within_a_twentieth() -> None:
    flat = np.zeros((2, 2))
    one = Seen(flat, flat, 0.31, 0.52, furthest_mm=0.02, size_mm=100.0)
    scale = shared_scale([one, replace(one, furthest_mm=0.01)], demand=10.0)
    # 5 % of 100 mm over 10 × 0.02 mm is 25: the next round factor below is 20.
    assert scale.exaggeration == 20.0
    assert (scale.top_share, scale.peak_share) == (0.4, 0.52)


def test_one_window_holds_every_layout_at_one_scale() -> None:
    small = Seen(np.array([(0.0, 0.0), (10.0, 5.0)]), np.zeros((2, 2)), 0.1, 0.1, 1.0, 10.0)
    large = replace(small, across_mm=np.array([(-20.0, 0.0), (20.0, 10.0)]))
    frame = shared_frame([small, large], 0.0, 900)
    # 40 by 10 mm with 2.5 % of 40 mm on every side.
    assert frame.half_height_mm == pytest.approx(6.0)
    assert frame.pixels == (900, round(900 * 12.0 / 42.0))
    right, up = picture_axes()
    assert np.array(frame.middle_mm) @ right == pytest.approx(0.0)
    assert np.array(frame.middle_mm) @ up == pytest.approx(5.0)


@pytest.mark.parametrize(
    ("count", "across"), [(1, 1), (2, 2), (3, 3), (4, 2), (5, 3), (8, 3), (12, 3), (24, 3)]
)
def test_at_most_three_stand_side_by_side(count: int, across: int) -> None:
    assert columns(count) == across


@pytest.mark.parametrize("count", [1, 2, 12])
def test_the_chart_has_a_bar_for_every_layout(count: int, tmp_path: Path) -> None:
    rows = [
        layout(f"Layout number {n} with a rather long name", case_result(CRUSH, 400e3 + 50e3 * n))
        for n in range(count)
    ]
    failed = LayoutFailure("Failed", False, "x; y")
    figure = pictures.chart_figure(comparison(*rows, failed), tmp_path)
    chart = _pixels(tmp_path / figure.file_name)[:-110]  # without the legend
    bars = np.abs(chart - (0x2A, 0x6F, 0x7F)).max(axis=2) < 6
    column = bars[:, np.flatnonzero(bars.any(axis=0))[0] + 5]
    assert np.sum(np.diff(column.astype(int)) == 1) == count
    assert "Layout number 0 with a rather long name 400 kN" in figure.alt


def test_longer_bars_for_higher_loads(tmp_path: Path) -> None:
    rows = [layout("A", case_result(CRUSH, 400e3)), layout("B", case_result(CRUSH, 800e3))]
    pictures.chart_figure(comparison(*rows), tmp_path)
    chart = _pixels(tmp_path / "strength.png")
    bars = np.abs(chart - (0x2A, 0x6F, 0x7F)).max(axis=2) < 6
    lengths = bars.sum(axis=1)
    rows_of_bars = np.flatnonzero(lengths > 50)
    upper, lower = rows_of_bars[:10], rows_of_bars[-60:-50]
    demand_line = 5
    assert lengths[lower].mean() == pytest.approx(2.0 * lengths[upper].mean(), abs=4 * demand_line)
    assert not (np.abs(chart - (0x8A, 0x5A, 0x62)).max(axis=2) < 6).any()


def test_twelve_loads_stay_printable(tmp_path: Path) -> None:
    loads = tuple(replace(CRUSH, name=f"Crush {n}") for n in range(12))
    row = layout("A", *(case_result(load, 400e3) for load in loads))
    pictures.chart_figure(comparison(row, loads=loads), tmp_path)
    assert _pixels(tmp_path / "strength.png").shape[1] < 3000


@pytest.mark.parametrize("name", ["costs $5 and $6", "肋骨 🔧 ребро", "a\nb\tc\x07", "W" * 60, " "])
def test_any_name_can_be_lettered(name: str, tmp_path: Path) -> None:
    row = layout(name, case_result(replace(CRUSH, name=name), 400e3))
    pictures.chart_figure(comparison(row, loads=(replace(CRUSH, name=name),)), tmp_path)
    assert (tmp_path / "strength.png").is_file()


def test_words_are_wrapped_to_their_width() -> None:
    text = "weld tube to top plate, front right, along the tube " + "x" * 90
    lines = lettering.wrapped(text, 400.0, 17.0)
    assert all(lettering.width(line, 17.0) <= 400.0 for line in lines)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")
    short = lettering.wrapped(text, 400.0, 17.0, most_lines=2)
    assert len(short) == 2
    assert short[1].endswith("…")
    assert lettering.width(short[1], 17.0) <= 400.0


def _one(folder: Path) -> Comparison:
    even_field(body(), folder / "fields" / "0.vtu", 0.3, WRAP.demand_multiple)
    row = layout("Body", case_result(WRAP, 300e3, field_file="0.vtu"))
    return comparison(row, loads=(WRAP,))


def test_without_opengl_the_chart_and_the_numbers_stay(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(pictures, "window_system", lambda: None)
    one = _one(tmp_path)
    with pytest.raises(PictureError, match="no OpenGL") as raised:
        pictures.block_figures(one, tmp_path)
    for package in ("libgl1", "libegl1", "libxcursor1", "libxft2", "libxinerama1"):
        assert package in raised.value.remedy
    figures, _, missing = outcome._shown(one, tmp_path, Fields(tmp_path / "fields"))
    # The charts and the weld plan need no OpenGL.
    assert [figure.file_name for figure in figures] == ["strength.png", "welds.png"]
    assert missing == str(raised.value)


def _python(code: str) -> object:
    def command(_module: str, *_arguments: str) -> Sequence[str]:
        return [sys.executable, "-c", code]

    return command


def test_a_probe_that_crashes_or_hangs_means_no_opengl(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(offscreen, "_child", _python("import os; os.abort()"))
    assert offscreen.window_system() is None
    monkeypatch.setattr(offscreen, "_PROBE_SECONDS", 0.2)
    monkeypatch.setattr(offscreen, "_child", _python("import time; time.sleep(60)"))
    assert offscreen.window_system() is None


@pytest.mark.skipif(sys.platform != "linux", reason="the lock is that of its C library")
def test_a_probe_that_hangs_ends_with_ctrl_c() -> None:
    """Deep inside a library that never looks up; here one that waits for a lock it has itself."""
    code = (
        "import ctypes, importlib\n"
        "from studies import probe_child\n"
        "def hang(name):\n"
        "    print('hangs', flush=True)\n"
        "    lock = (ctypes.c_byte * 64)()\n"
        "    for _ in range(2):\n"
        "        ctypes.PyDLL(None).pthread_mutex_lock(lock)\n"
        "importlib.import_module = hang\n"
        "probe_child.main()\n"
    )
    probe = subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE)
    with probe:
        assert probe.stdout is not None
        probe.stdout.readline()
        time.sleep(0.5)
        probe.send_signal(signal.SIGINT)
        try:
            assert probe.wait(10) == -signal.SIGINT
        finally:
            probe.kill()


@pytest.mark.parametrize("code", ["import os; os.abort()", "import time; time.sleep(60)"])
def test_a_child_that_crashes_or_hangs_costs_only_its_pictures(
    code: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    one = _one(tmp_path)
    monkeypatch.setattr(pictures, "window_system", lambda: "vtkEGLRenderWindow")
    monkeypatch.setattr(offscreen, "_child", _python(code))
    monkeypatch.setattr(offscreen, "_DRAW_SECONDS", 1.0)
    with pytest.raises(PictureError, match="drawing them stopped") as raised:
        pictures.block_figures(one, tmp_path)
    assert "all numbers are complete" in raised.value.remedy
    assert not list(tmp_path.glob("*.png"))


def test_nothing_computed_draws_nothing(tmp_path: Path) -> None:
    assert pictures.block_figures(comparison(LayoutFailure("A", True, "x; y")), tmp_path) == ()


def test_the_body_is_as_large_as_said() -> None:
    assert tuple(np.ptp(body().mesh.points_mm, axis=0)) == BODY_MM
