"""``gussetry press`` as its user meets it."""

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numba
import numpy as np
import pytest
from demo_text import GOOD, INCHES
from PIL import Image
from pretend import CRUSH, case_result, comparison, layout
from pretend_press import crushed_box, prediction, press_test

from fea.curve import Crushed
from fea.errors import SolveError
from fea.mesh import TaggedMesh
from geometry.block import Layout
from geometry.mesher import MeshSizes
from studies.command import main
from studies.loads import CrushCase
from studies.pressing.compute import Computed
from studies.pressing.flakes import Flakes
from studies.pressing.gauge import NoseSize
from studies.pressing.prediction import block_key, prediction_from
from studies.pressing.session import PressRequest, run_press
from studies.pressing.together import pressed_together
from studies.records.rows import added
from studies.study import read_study
from studies.whole_files import unsealed

FILES = [
    "gauge-chart.png", "prediction.json", "press-curve.png", "press-test.html", "press-test.pdf",
]  # fmt: skip


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with the metric demo, in which blocks are predicted without being computed."""
    (tmp_path / "mine.toml").write_text(GOOD, "utf-8")
    monkeypatch.chdir(tmp_path)

    def pretended(_study: object, layout: Layout, *_: object) -> Computed:
        made = replace(prediction(block=block_key(layout.block)), layout=layout.name)
        return Computed(made, None)

    monkeypatch.setattr("studies.pressing.session.predicted", pretended)
    return tmp_path


def test_it_writes_sheet_charts_and_prediction(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["press", "mine.toml", "--layout", "mid-wall ribs"]) == 0
    folder = shop / "out" / "mine" / "press" / "mid-wall-ribs"
    assert sorted(item.name for item in folder.iterdir()) == FILES
    out = capsys.readouterr().out
    assert "Stops for Mid-wall ribs" in out
    assert "Never past 580 bar, 900 kN" in out
    assert b"595.27" in (folder / "press-test.pdf").read_bytes()
    with Image.open(folder / "gauge-chart.png") as picture:
        assert picture.size[1] > picture.size[0]
    assert main(["press", "mine.toml", "--paper", "Letter"]) == 0
    other = shop / "out" / "mine" / "press" / "no-gussets" / "press-test.pdf"
    assert re.search(rb"/MediaBox \[ 0 0 612[ .]", other.read_bytes())


def test_a_yield_fitted_to_a_test_is_taken_on_request_and_said(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    key = block_key(read_study(shop / "mine.toml").layouts[0].block)
    test = press_test((0.1, 0.2, 0.3, 0.45, 0.6, 0.75), 1.2, 0.0, prediction(block=key))
    added(shop / "press-tests.sqlite", replace(test, block_key=key))
    added(shop / "press-tests.sqlite", press_test((0.1,)))
    assert main(["press", "mine.toml", "--yield-from-test", "1"]) == 0
    out = capsys.readouterr().out
    assert re.search(r"Steel: 1\.20 ± 0\.\d+ times the minimum, as fitted to test 1", out)
    folder = shop / "out" / "mine" / "press" / "no-gussets"
    assert "as fitted to test 1" in (folder / "press-test.html").read_text("utf-8")
    kept = prediction_from(unsealed((folder / "prediction.json").read_bytes()) or b"")
    assert kept is not None
    assert kept.yield_times == 1.0
    assert main(["press", "mine.toml"]) == 0
    assert "as fitted" not in capsys.readouterr().out
    for words, said in (
        (["--yield-from-test", "2"], "test 2 was of another block"),
        (["--yield-from-test", "9"], "there is no test 9"),
        (["--yield-from-test", "1", "--book", "no.sqlite"], "there is no book"),
        (["--yield-from-test", "1", "--layout", "Cross inside"], "another block"),
    ):
        assert main(["press", "mine.toml", *words]) == 2
        assert said in capsys.readouterr().err


def test_several_layouts_are_pressed_by_one_command_and_one_that_fails_is_told(
    shop: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    together: list[list[str]] = []

    def pretended(_study: object, layouts: tuple[Layout, ...], *_: object) -> dict[str, str]:
        together.append([layout.name for layout in layouts])
        return {layout.name: "no mesh" for layout in layouts if layout.name != "Mid-wall ribs"}

    monkeypatch.setattr("studies.pressing.session.pressed_together", pretended)
    two = ["--layout", "mid-wall ribs", "--layout", "Cross inside"]
    assert main(["press", "mine.toml", *two]) == 1
    shown = capsys.readouterr()
    assert "Stops for Mid-wall ribs" in shown.out
    assert "Stops for Cross inside" not in shown.out
    assert shown.err == "gussetry: Cross inside could not be computed: no mesh\n"
    folder = shop / "out" / "mine" / "press"
    assert (folder / "mid-wall-ribs" / "press-test.pdf").exists()
    assert not (folder / "cross-inside").exists()
    monkeypatch.setattr("studies.pressing.session._press_one", lambda *_, **__: None)
    assert main(["press", "mine.toml", "--all"]) == 1
    every = [one.name for one in read_study(shop / "mine.toml").layouts]
    assert together == [["Mid-wall ribs", "Cross inside"], every]


def crushed_or_not(
    layout: Layout, _case: object, _nose_mm: NoseSize, _sizes: MeshSizes, say: Callable[[str], None]
) -> tuple[TaggedMesh, Crushed]:
    """A crusher as worker processes find it: for one layout it fails."""
    say(f"on {numba.get_num_threads()} threads")
    if layout.name == "Cross inside":
        raise SolveError("it stopped", "try another mesh setting")
    return crushed_box()


def test_processes_keep_their_curves_and_tell_what_they_do(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "mine.toml").write_text(GOOD, "utf-8")
    study = read_study(tmp_path / "mine.toml")
    layouts = [one for one in study.layouts if one.name in ("Cross inside", "No gussets")]
    nothing = comparison(layout("No gussets", case_result(CRUSH, 500e3)))
    monkeypatch.setattr("studies.pressing.together.compared", lambda *_: nothing)
    said: list[str] = []

    def heard(name: str, what: str) -> None:
        said.append(f"{name}: {what}")

    failed = pressed_together(study, layouts, tmp_path, heard, False, crushed_or_not)
    assert failed == {"Cross inside": "it stopped; try another mesh setting"}
    assert any(one.startswith("No gussets: on ") for one in said)
    assert {"No gussets: press curve done", "Cross inside: press curve failed"} <= set(said)
    assert len(list((tmp_path / "store").glob("*-press.json"))) == 2


@pytest.mark.usefixtures("shop")
def test_wrong_requests_are_one_line_each(capsys: pytest.CaptureFixture[str]) -> None:
    Path("none.toml").write_text(
        GOOD[: GOOD.index("[press]")] + GOOD[GOOD.index("# The layouts") :], "utf-8"
    )
    Path("blocked").write_text("a file where a folder should be")
    for words, said in (
        (["none.toml"], "none.toml: press: is missing"),
        (["mine.toml", "--layout", "Midwall ribs"], "did you mean 'Mid-wall ribs'?"),
        (["mine.toml", "--paper", "A5"], "'A5' is no choice for --paper"),
        (["mine.toml", "--out", "blocked"], "choose another folder with --out"),
    ):
        assert main(["press", *words]) == 2
        err = capsys.readouterr().err
        assert said in err
        assert err.count("\n") == 1


def test_a_press_curve_is_shown_kept_and_mapped_on_the_skin(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A curve made up for a box; the elastic loads before it are made up too."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "mine.toml").write_text(GOOD, "utf-8")
    row = layout("No gussets", case_result(CRUSH, 500e3))
    shown = comparison(row)
    monkeypatch.setattr("studies.pressing.compute.compared", lambda *_: shown)
    crushes = []

    def crusher(
        _layout: Layout,
        _case: CrushCase,
        _nose_mm: NoseSize,
        sizes: MeshSizes,
        say: Callable[[str], None],
    ) -> tuple[TaggedMesh, Crushed]:
        say("crushing")
        crushes.append(sizes)
        return crushed_box()

    asked = PressRequest(
        Path("mine.toml"), (), Path("out"), "quick", False, None, Path("no.sqlite"), None
    )
    assert run_press(asked, crusher) == 0
    out = capsys.readouterr().out
    assert "0.2 % of the height stays" in out
    assert "Careful past 1.50 mm of travel: strains grow past what is computed." in out
    folder = tmp_path / "out" / "mine" / "press" / "no-gussets"
    assert sorted(item.name for item in folder.iterdir()) == ["flake-map.png", *FILES]
    with Image.open(folder / "flake-map.png") as picture:
        pixels = np.asarray(picture.convert("RGB")).astype(int)
    red = (pixels[..., 0] > 150) & (pixels[..., 1] < 60)
    assert red[: -pixels.shape[0] // 6].sum() > 1000
    kept = prediction_from(unsealed((folder / "prediction.json").read_bytes()) or b"")
    assert kept is not None
    assert kept.basis == "elastic-plastic"
    assert run_press(asked, crusher) == 0
    assert [one.body_share for one in crushes] == pytest.approx([1.05, 1.47])
    assert run_press(replace(asked, fresh=True), crusher) == 0
    assert len(crushes) == 4
    assert run_press(asked) == 0
    assert not (folder / "flake-map.png").exists()


def test_strain_on_the_skin_between_steps_and_for_stronger_steel() -> None:
    flakes = Flakes(
        np.zeros((3, 3)),
        np.array([[0, 1, 2]]),
        np.array([0.0, 100.0, 90.0, 200.0]),
        np.array([[0.0], [1.0], [2.0], [3.0]]),
    )
    at = [float(flakes.at(force)[0]) for force in (-5.0, 50.0, 100.0, 145.0, 999.0)]
    assert at == pytest.approx([0.0, 0.5, 1.0, 2.5, 3.0])
    assert float(flakes.scaled(2.0).at(100.0)[0]) == pytest.approx(1.0)


def test_a_real_block_is_computed_and_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The inch demo on its quick mesh: its press, ending at 40.5 US ton, is too small for it."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "mine.toml").write_text(INCHES, "utf-8")
    assert main(["press", "mine.toml", "--mesh", "quick"]) == 0
    out = capsys.readouterr().out
    assert "The gauge ends before the block yields anywhere" in out
    assert "out of this press's reach: first local yield" in out
    folder = tmp_path / "out" / "mine" / "press" / "no-gussets"
    assert sorted(item.name for item in folder.iterdir()) == FILES
    layout = read_study(tmp_path / "mine.toml").layouts[0]
    kept = prediction_from(unsealed((folder / "prediction.json").read_bytes()) or b"")
    assert kept is not None
    assert kept.block_key == block_key(layout.block)
    # Statics: it cannot yield everywhere below area times yield, nor somewhere much above.
    area_mm2 = 2 * (101.6 + 76.2) * 0.93 * 6.35
    starts = kept.threshold("starts")
    assert starts is not None
    assert 0.3 < starts.force_n / (area_mm2 * 317.2) < 1.1
    assert main(["press", "mine.toml", "--mesh", "quick"]) == 0
    assert "kept from before" in capsys.readouterr().err
