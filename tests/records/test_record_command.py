"""``gussetry record`` as its user meets it: what it writes, what it refuses."""

import csv
import io
from pathlib import Path

import numpy as np
import pytest
from demo_text import GOOD, INCHES
from PIL import Image
from pretend_press import prediction, press_test

from studies.command import main
from studies.pressing.prediction import block_key, keep_prediction
from studies.records.press_test import Numbered, Reading
from studies.records.rows import added, all_tests, one_test
from studies.records.session import draw_test
from studies.study import read_study
from studies.units import OutputUnits


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a study in mm and one in inches, in which the command runs."""
    (tmp_path / "mine.toml").write_text(GOOD, "utf-8")
    (tmp_path / "inch.toml").write_text(INCHES, "utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def _add(*words: str, study: str = "mine.toml") -> list[str]:
    return ["record", "add", study, "--by", "A. Welder", *words]


ONE = ("--reading", "100 bar", "0.1 mm", "all quiet")


def test_a_test_typed_in_is_in_the_book(shop: Path) -> None:
    (shop / "stops.csv").write_text("gauge (bar);travel (mm);seen\n200;0,25;\n300;-;flakes\n")
    said = [
        *ONE, "--readings", "stops.csv", "--seen-at", "300", "--no-set-at", "250 bar", "--date",
        "2026-03-31", "--layout", "corner DIAGONALS", "--photo", "a.jpg", "--note", "first  one",
        "--zero", "5 bar",
    ]  # fmt: skip
    assert main(_add(*said)) == 0
    test = one_test(Path("press-tests.sqlite"), 1).test
    assert test.readings == (
        Reading(100.0, 0.1, "all quiet"),
        Reading(200.0, 0.25, ""),
        Reading(300.0, None, "flakes"),
    )
    assert (test.layout, test.tested_on, test.note) == (
        "Corner diagonals",
        "2026-03-31",
        "first one",
    )
    assert (test.marks.seen_at, test.marks.no_set_at, test.gauge.zero) == (300.0, 250.0, 5.0)
    assert test.prediction is None
    assert test.rated_load_n == 30_000.0


def test_inches_and_psi(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = ("--reading", "5000", "1/32 in", "--no-set-at", "5000 psi")
    assert main(_add(*words, study="inch.toml")) == 0
    test = one_test(shop / "press-tests.sqlite", 1).test
    assert test.readings[0].travel_mm == pytest.approx(0.79375)
    assert test.gauge.force_n(5000.0) == pytest.approx(36_000.0 * 4.4482216152605)
    assert "18.0 US ton" in capsys.readouterr().out


def test_a_kept_prediction_goes_with_the_test(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    block = read_study(shop / "mine.toml").layouts[0].block
    kept = prediction(block=block_key(block))
    place = shop / "out" / "mine" / "press" / "no-gussets" / "prediction.json"
    assert main(_add(*ONE)) == 0
    assert "No prediction was kept" in capsys.readouterr().out
    assert main(["record", "predict", "1", "mine.toml"]) == 2
    keep_prediction(place, kept)
    assert main(_add("--crushed-at", "590 bar")) == 0
    assert "Crush load: measured" in capsys.readouterr().out
    assert main(["record", "predict", "1", "mine.toml"]) == 0
    assert main(["record", "csv", "all.csv"]) == 0
    rows = list(csv.DictReader(io.StringIO((shop / "all.csv").read_text("utf-8-sig"))))
    assert [row["predicted (kN)"] for row in rows] == ["", "704.0"]
    assert float(rows[1]["measured / predicted"]) == pytest.approx(590 * 1.5393804 / 704, rel=1e-6)
    first, second = (one.test for one in all_tests(shop / "press-tests.sqlite"))
    assert (first.prediction, first.predicted_before) == (kept, False)
    assert (second.prediction, second.predicted_before) == (kept, True)
    assert main(["record", "score"]) == 0
    out = capsys.readouterr().out
    assert "crush load: 1.29, one test only" in out
    assert "Left out, with no prediction made before the test: 1." in out


REFUSED = {
    "no such layout": (_add(*ONE, "--layout", "Mid wall"), "did you mean 'Mid-wall ribs'"),
    "nothing read": (_add(), "nothing was read"),
    "past the gauge": (_add("--reading", "700 bar"), "past the gauge's end, 600 bar"),
    "below no load": (_add("--reading", "500", study="inch.toml"), "below the 1000 psi at no load"),
    "reading in kN": (_add("--reading", "300 kN"), "--reading 1: '300 kN' has no unit of pressure"),
    "word for a reading": (_add("--seen-at", "high"), "--seen-at: 'high' is not a pressure"),
    "travel back": (_add("--reading", "100", "-1 mm"), "is negative"),
    "travel in bar": (_add("--reading", "100", "3 bar"), "travel '3 bar' has no unit of length"),
    "four words": (_add("--reading", "1", "2", "3", "4"), "4 entries"),
    "zero past the end": (_add(*ONE, "--zero", "600 bar"), "--zero '600 bar' is not on the scale"),
    "set below no set": (_add("--no-set-at", "300", "--set-at", "200"), "--set-at 200 bar is not"),
    "no such day": (_add(*ONE, "--date", "31.3.2026"), "write it as 2026-03-31"),
    "a day to come": (_add(*ONE, "--date", "2999-01-01"), "still to come"),
    "nobody": (["record", "add", "mine.toml", "--by", " ", *ONE], "--by: is empty"),
    "no name given": (["record", "add", "mine.toml", *ONE], "--by is missing"),
    "no such file": (_add("--readings", "none.csv"), "none.csv: no such file"),
    "no book": (["record", "list"], "there is no book of press tests"),
    "no book to score": (["record", "score"], "there is no book of press tests"),
    "number in words": (["record", "show", "one"], "number 'one' is not a whole number"),
    "unknown doing": (["record", "lst"], "did you mean list?"),
    "a long story": (_add(*ONE, "--note", "x" * 2001), "--note: is too long"),
    "a terminal code": (_add(*ONE, "--note", "a\x1b[31m"), "--note: has a character"),
}


@pytest.mark.parametrize("name", REFUSED)
@pytest.mark.usefixtures("shop")
def test_what_cannot_be_is_one_clear_line(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    words, said = REFUSED[name]
    assert main(words) == 2
    line = capsys.readouterr().err
    assert line.startswith("gussetry: ")
    assert line.count("\n") == 1
    assert said in line
    assert "; " in line
    assert not Path("press-tests.sqlite").exists()


def test_a_study_without_a_press_is_refused(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = GOOD[: GOOD.index("[press]")] + GOOD[GOOD.index("# The layouts") :]
    (shop / "mine.toml").write_text(text, "utf-8")
    assert main(_add(*ONE)) == 2
    assert "mine.toml: press: is missing" in capsys.readouterr().err


def test_the_csv_has_every_reading_and_no_formula(shop: Path) -> None:
    assert main(_add(*ONE, "--note", "=cmd|' /C calc'!A0", "--seen-at", "300 bar")) == 0
    assert main(_add("--reading", "200", "-", "@home", "--photo", "+1.jpg")) == 0
    assert main(["record", "csv", "all.csv"]) == 0
    rows = list(csv.DictReader(io.StringIO((shop / "all.csv").read_text("utf-8-sig"))))
    assert [row["what"] for row in rows] == ["reading", "yielding seen", "reading"]
    assert float(rows[0]["force (kN)"]) == pytest.approx(153.938, abs=1e-3)
    assert float(rows[0]["force (US ton)"]) == pytest.approx(153.938 / 8.896443, abs=1e-3)
    for row in rows:
        for cell in row.values():
            assert not cell.startswith(("=", "+", "-", "@"))
    assert rows[0]["note"].startswith("'=")
    assert main(["record", "csv", str(shop)]) == 2


def test_the_points_are_drawn_on_the_curve(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    travels = (0.05, 0.1, 0.2, 0.3, 0.45, 0.6, 0.75)
    book = shop / "press-tests.sqlite"
    added(book, press_test(travels, 1.15, 0.1, prediction()))
    added(book, press_test((0.1,)))
    assert main(["record", "show", "1", "--picture", "one.png"]) == 0
    out = capsys.readouterr().out
    assert "The steel yields at 1.15 ±" in out
    with Image.open("one.png") as picture:
        assert picture.size[0] > 1500
        seen = np.asarray(picture.convert("RGB")).reshape(-1, 3)
    for colour in ((0xE0, 0x8A, 0x1E), (0x8A, 0x5A, 0x62)):  # the points, the fitted curve
        assert (seen == colour).all(axis=1).sum() > 100
    assert main(["record", "show", "2", "--picture", "two.png"]) == 2
    assert "no prediction to be drawn on" in capsys.readouterr().err


def test_a_prediction_without_a_curve_is_drawn_as_far_as_it_goes(tmp_path: Path) -> None:
    test = press_test((0.1, 0.2), predicted=prediction(curve=False))
    path = tmp_path / "one.png"
    draw_test(Numbered(1, "", test), OutputUnits("in", "US ton", "ksi", "lb"), path)
    assert path.is_file()
