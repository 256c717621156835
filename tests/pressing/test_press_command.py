"""``gussetry press`` as its user meets it."""

import re
from dataclasses import replace
from pathlib import Path

import pytest
from demo_text import GOOD, INCHES
from PIL import Image
from pretend_press import prediction, press_test

from geometry.block import Layout
from studies.command import main
from studies.pressing.prediction import Prediction, block_key, prediction_from
from studies.records.rows import added
from studies.study import read_study

FILES = [
    "gauge-chart.png", "prediction.json", "press-curve.png", "press-test.html", "press-test.pdf",
]  # fmt: skip


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with the metric demo, in which blocks are predicted without being computed."""
    (tmp_path / "mine.toml").write_text(GOOD, "utf-8")
    monkeypatch.chdir(tmp_path)

    def pretended(_study: object, layout: Layout, *_: object) -> Prediction:
        return replace(prediction(block=block_key(layout.block)), layout=layout.name)

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
    kept = prediction_from((folder / "prediction.json").read_bytes())
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
    kept = prediction_from((folder / "prediction.json").read_bytes())
    assert kept is not None
    assert kept.block_key == block_key(layout.block)
    # Statics: it cannot yield everywhere below area times yield, nor somewhere much above.
    area_mm2 = 2 * (101.6 + 76.2) * 0.93 * 6.35
    starts = kept.threshold("starts")
    assert starts is not None
    assert 0.3 < starts.force_n / (area_mm2 * 317.2) < 1.1
    assert main(["press", "mine.toml", "--mesh", "quick"]) == 0
    assert "kept from before" in capsys.readouterr().err
