"""The command from study file to report, on both demos and on what can go wrong."""

import csv
import io
import json
import re
import subprocess
import sys
from concurrent.futures import Executor, Future
from dataclasses import replace
from pathlib import Path
from typing import Any

import meshio
import numpy as np
import pytest
from PIL import Image

from fea.errors import InputError, MeshError, PictureError
from studies import pictures, runner, session
from studies.cautions import CAUTIONS
from studies.compare import compared
from studies.fields import read_field
from studies.loads import CrushCase, PadCase, WrapCase
from studies.report import write_report
from studies.results import Comparison, LayoutFailure, LayoutResult
from studies.runner import Elsewhere
from studies.solve import layout_result
from studies.store import kept_result, result_key
from studies.study import read_study
from studies.tables import csv_text, json_text, lines, markdown_text, remarks, verdicts

DEMO = Path(__file__).parents[2] / "studies" / "demo"


def _run(*arguments: str) -> "subprocess.CompletedProcess[str]":
    return subprocess.run(
        [sys.executable, "-m", "studies.command", *arguments],
        capture_output=True,
        text=True,
        check=False,
        timeout=500,
    )


@pytest.fixture(scope="module")
def metric(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    out = tmp_path_factory.mktemp("metric")
    ran = _run("compare", str(DEMO / "trailer_risers.toml"), "--mesh", "quick", "--out", str(out))
    assert ran.returncode == 0, ran.stderr
    return out / "trailer-risers", ran.stdout


def test_the_metric_demo_leaves_everything(metric: tuple[Path, str]) -> None:
    folder, printed = metric
    names = {path.name for path in folder.iterdir()}
    assert {"comparison.csv", "comparison.json", "comparison.md", "report.html"} <= names
    assert {
        "blocks.png",
        "strength.png",
        "stress-1-crush.png",
        "stress-2-wrap-forward.png",
    } <= names
    assert len(list((folder / "fields").glob("*.vtu"))) == 18
    assert not list(folder.rglob("*.part"))
    for caution in CAUTIONS:
        assert caution.split(":")[0] in printed.replace("\n", " ")
    assert max(len(line) for line in printed.splitlines()[:-1]) <= 120


def test_the_tables_agree(metric: tuple[Path, str]) -> None:
    folder, _ = metric
    rows = list(csv.DictReader(io.StringIO((folder / "comparison.csv").read_text("utf-8-sig"))))
    whole = json.loads((folder / "comparison.json").read_text())
    assert len(rows) == 18
    for number, row in enumerate(rows):
        layout, case = whole["rows"][number // 3], whole["rows"][number // 3]["cases"][number % 3]
        assert row["layout"] == layout["name"]
        assert float(row["first yield (kN)"]) == pytest.approx(case["starts"]["load_n"] / 1000)
        assert float(row["mass (kg)"]) == pytest.approx(layout["mass_kg"])
        assert float(row["first yield (kN)"]) <= float(row["expected to show (kN)"])
        assert case["residual"] < 1e-8
    assert (folder / "comparison.md").read_text().count("| Crush |") == 6


def test_figures_show_something(metric: tuple[Path, str]) -> None:
    folder, _ = metric
    for path in folder.glob("*.png"):
        image = np.asarray(Image.open(path).convert("RGB"), dtype=float)
        assert min(image.shape[:2]) > 500, path.name
        assert image.std() > 15.0, path.name
    stress = np.asarray(Image.open(folder / "stress-2-wrap-forward.png").convert("RGB"), dtype=int)
    # The ring's own colour, on every one of the six layouts' thirds of the sheet.
    ring = np.abs(stress - [0xD1, 0x17, 0x6B]).sum(axis=2) < 40
    thirds = np.array_split(ring[: int(0.9 * len(ring))], 3, axis=1)
    assert all(third.sum() > 300 for third in thirds)


def test_the_report_stands_alone(metric: tuple[Path, str]) -> None:
    folder, _ = metric
    page = (folder / "report.html").read_text()
    assert len(page) < 8e6
    # What the scripts ask for is seen in a browser, in test_report_page.py.
    page, scripts = re.subn(r"<script.*?</script>", "", page, flags=re.DOTALL)
    assert scripts == 3
    for outside in ("http:", "https:", "//cdn", "<script", "@import", 'src="/'):
        assert outside not in page
    assert page.count("<img") == page.count('alt="') == 6
    for caution in CAUTIONS:
        assert caution in page
    assert " safe" not in page.lower()


def test_fields_hold_what_the_table_says(metric: tuple[Path, str]) -> None:
    folder, _ = metric
    whole = json.loads((folder / "comparison.json").read_text())
    case = whole["rows"][1]["cases"][0]
    grid = meshio.read(folder / "fields" / case["field_file"])
    assert {"displacement_mm", "stress_mpa", "von_mises_mpa"} <= set(grid.point_data)
    top = np.isclose(grid.points[:, 2], 60.0)
    fall = -grid.point_data["displacement_mm"][top, 2]
    # Rigid platens: the whole top face comes down alike, by load over stiffness.
    assert np.ptp(fall) < 1e-9
    under = np.isclose(grid.points[:, 2], 0.0)
    approach = fall.mean() + grid.point_data["displacement_mm"][under, 2].mean()
    assert approach == pytest.approx(30_000.0 / case["stiffness_n_per_mm"], rel=1e-3)


def test_a_second_run_computes_nothing_again(metric: tuple[Path, str]) -> None:
    folder, _ = metric
    before = (folder / "comparison.json").read_text()
    stamps = {path: path.stat().st_mtime_ns for path in (folder / "fields").iterdir()}
    study = str(DEMO / "trailer_risers.toml")
    ran = _run("compare", study, "--mesh", "quick", "--out", str(folder.parent), "--no-pictures")
    assert ran.returncode == 0
    assert ran.stderr.count("kept from before") == 6
    assert (folder / "comparison.json").read_text() == before
    assert stamps == {path: path.stat().st_mtime_ns for path in (folder / "fields").iterdir()}


def test_the_inch_demo_speaks_inches_and_tons(tmp_path: Path) -> None:
    ran = _run("compare", str(DEMO / "bench_block.toml"), "--mesh", "quick", "--out", str(tmp_path))
    assert ran.returncode == 0, ran.stderr
    assert "US ton" in ran.stdout
    assert "lb" in ran.stdout
    page = (tmp_path / "bench-block" / "report.html").read_text()
    assert "US ton/in" in page
    assert " mm" not in page.split("<h2>How to read")[0]


class _Here(Executor):
    """Runs each job at once, in this process."""

    def submit(self, fn: Any, /, *args: Any, **kwargs: Any) -> "Future[Any]":
        future: Future[Any] = Future()
        future.set_result(fn(*args, **kwargs))
        return future


def _quietly(name: str, what: str) -> None:
    assert name
    assert what


def test_one_layout_that_fails_leaves_the_rest(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    study = replace(read_study(DEMO / "bench_block.toml"), setting="quick")

    def failing(layout: Any, *rest: Any) -> LayoutResult:
        if layout.name == "Corner diagonals":
            raise MeshError("the mesher gave up", "change a size")
        return layout_result(layout, *rest)

    monkeypatch.setattr(runner, "layout_result", failing)
    found: list[str] = []
    comparison = compared(
        study,
        tmp_path,
        _quietly,
        elsewhere=Elsewhere(_Here(), 2),
        found=lambda row: found.append(row.name),
    )
    assert sorted(found) == ["No gussets", "One rib forward"]
    assert [type(row) for row in comparison.rows] == [LayoutResult, LayoutFailure, LayoutResult]
    assert "Corner diagonals could not be computed: the mesher gave up; change a size." in remarks(
        comparison
    )
    assert len(lines(comparison)) == 4
    report = write_report(comparison, (), "no pictures here; install some", tmp_path).read_text()
    assert "the mesher gave up" in report
    assert "no pictures here" in report
    # What was finished is kept; what failed is tried again.
    keys = [result_key(one, study.loads, study.setting) for one in study.layouts]
    kept = [kept_result(tmp_path / "store", key) for key in keys]
    assert [one is not None for one in kept] == [True, False, True]


def test_every_kind_of_load_is_carried(tmp_path: Path) -> None:
    """Pad, stuck platens, a narrow seat and shear, on one block; each checked by the solver."""
    study = replace(read_study(DEMO / "bench_block.toml"), setting="quick")
    loads = (
        CrushCase("loose", 10_000.0, 1.0),
        CrushCase("stuck", 10_000.0, 1.0, friction=True),
        PadCase("pad", 10_000.0, 1.0, (40.0, 30.0), (10.0, 5.0)),
        WrapCase("front", 10_000.0, 1.0, (20.0, 0.0)),
        WrapCase("rear", 10_000.0, 1.0, (-20.0, 0.0)),
        WrapCase("pushed", 10_000.0, 1.0, (20.0, 0.0), (2_000.0, 0.0), (100.0, 80.0)),
    )
    result = layout_result(
        study.layouts[0], loads, "quick", tmp_path, "one", lambda what: _quietly("one", what)
    )
    load_n = {case.case.name: case.starts.load_n for case in result.cases}
    stiffness = {case.case.name: case.stiffness_n_per_mm for case in result.cases}
    assert stiffness["stuck"] > stiffness["loose"]
    # The block is alike front and rear, its mesh is not: the two differ by less than a mesh does.
    assert load_n["front"] == pytest.approx(load_n["rear"], rel=0.06)
    assert stiffness["front"] == pytest.approx(stiffness["rear"], rel=0.01)
    assert load_n["pushed"] != pytest.approx(load_n["front"], rel=0.01)
    assert load_n["pad"] < load_n["loose"]


def test_a_full_disk_is_one_line(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    study = DEMO / "bench_block.toml"

    def full(*_: Any) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(session, "compared", full)
    with pytest.raises(InputError, match="no space left on device; make room"):
        session.run_comparison(study, tmp_path, "quick", False, False)


def test_a_damaged_field_costs_only_its_pictures(tmp_path: Path) -> None:
    path = tmp_path / "x.vtu"
    path.write_text("<VTKFile")
    with pytest.raises(PictureError, match="cannot be read, so its pictures"):
        read_field(path)


def _small(metric: tuple[Path, str]) -> Comparison:
    study = replace(read_study(DEMO / "trailer_risers.toml"), setting="quick")
    rows = []
    for layout in study.layouts:
        result = kept_result(metric[0] / "store", result_key(layout, study.loads, study.setting))
        assert result is not None
        rows.append(result)
    return Comparison(
        study.title, study.units, "quick", study.rated_load_n, study.loads, tuple(rows)
    )


def test_names_cannot_break_out(metric: tuple[Path, str], tmp_path: Path) -> None:
    comparison = _small(metric)
    bad = '=1+1|<script>alert("x")</script>'
    rows = tuple(replace(row, name=bad) for row in comparison.results[:1])
    comparison = replace(comparison, rows=rows, title="<b>bold</b>")
    report = write_report(comparison, (), None, tmp_path).read_text()
    assert "<script>alert" not in report
    assert "&lt;script&gt;alert" in report
    assert "<b>" not in report
    assert "'=1+1" in csv_text(comparison)
    assert "\\|&lt;script" in markdown_text(comparison)
    assert json.loads(json_text(comparison))["rows"][0]["name"] == bad


def test_sentences_name_the_strongest_and_those_too_close(metric: tuple[Path, str]) -> None:
    comparison = _small(metric)
    first, second, third = comparison.results[:3]

    def with_load(row: LayoutResult, load_n: float) -> LayoutResult:
        cases = tuple(
            replace(case, starts=replace(case.starts, load_n=load_n)) for case in row.cases
        )
        return replace(row, cases=cases, mass_kg=2.0)

    rows = (with_load(first, 80e3), with_load(second, 400e3), with_load(third, 390e3))
    said = verdicts(replace(comparison, rows=rows))
    assert re.match(
        rf"Crush: {second.name} is strongest, first yield at 400 kN ± \d+ %, 1\.33 times", said[0]
    )
    assert f"too close to tell from it: {third.name}" in said[0]
    assert said[-1].startswith("Yields below the demanded load: No gussets under Crush")
    printed = lines(replace(comparison, rows=rows))
    assert printed[3].change == "+400 %"
    assert printed[0].change == "–"


def test_without_opengl_the_numbers_stay(
    metric: tuple[Path, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(pictures, "window_system", lambda: None)
    with pytest.raises(PictureError, match="install libgl1"):
        pictures.block_figures(_small(metric), metric[0])


def test_a_crash_while_drawing_is_one_line(
    metric: tuple[Path, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(pictures, "window_system", lambda: "vtkNoSuchWindow")
    monkeypatch.setattr(pictures, "_job", lambda _field, picture: {"picture": str(picture)})
    with pytest.raises(PictureError, match="all numbers are complete"):
        pictures.block_figures(_small(metric), metric[0])
