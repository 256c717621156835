"""Published values run as a user runs them: what passes, what must not, and what is kept."""

import csv
import io
import json
from dataclasses import replace
from pathlib import Path

import pytest
from pretend import CRUSH, case_result, comparison, layout

from fea.errors import InputError, SolveError
from studies.command import main
from studies.published.catalogue import catalogue
from studies.published.check import PublishedCheck, found, within
from studies.report import write_report
from studies.verify import keep_verification, kept_verification, verified
from studies.verify_session import run_verification
from studies.verify_table import check_section


def _check(case: str, published: float, ours: float) -> PublishedCheck:
    return PublishedCheck(case, "a book | page 7", published, "MPa", within(0.02), lambda: ours)


def _broken() -> float:
    raise SolveError("the matrix is\nsingular", "hold the body")


GOOD = _check("Good", 100.0, 101.0)
OFF = _check("Off", 100.0, 103.0)
NO_NUMBER = _check("No number", 100.0, float("nan"))
BROKEN = PublishedCheck("Broken", "a book", 100.0, "MPa", within(0.02), _broken)


def test_a_wrong_published_value_is_caught() -> None:
    """Each elastic case with its published value a tenth off, either way."""
    for topic, check in catalogue():
        if topic != "Elastic bodies":
            continue
        ours = found(check).ours
        for factor in (0.9, 1.1):
            wrong = replace(check, published=check.published * factor, ours=lambda x=ours: x)
            assert not found(wrong).passed, check.case


def test_what_differs_breaks_or_is_no_number_fails() -> None:
    checks = [("Topic", check) for check in (GOOD, OFF, NO_NUMBER, BROKEN)]
    told: list[str] = []
    verification = verified(checks, lambda outcome: told.append(outcome.case))
    assert told == ["Good", "Off", "No number", "Broken"]
    assert [outcome.passed for outcome in verification.outcomes] == [True, False, False, False]
    assert verification.outcomes[1].difference == pytest.approx(0.03)
    broken = verification.outcomes[3]
    assert broken.ours is None
    assert broken.reason == "broke: SolveError: the matrix is?singular; hold the body"


def test_the_exit_code_and_files_tell(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run_verification(tmp_path / "good", (("Topic", GOOD),)) == 0
    assert "All 1 published values reproduced" in capsys.readouterr().out
    assert run_verification(tmp_path / "bad", (("Topic", GOOD), ("Topic", BROKEN))) == 1
    shown = capsys.readouterr()
    assert "1 of 2 published values" in shown.out
    assert "FAILED" in shown.out
    assert "Broken: FAILED" in shown.err
    text = (tmp_path / "bad/verification.csv").read_text(encoding="utf-8-sig")
    rows = list(csv.DictReader(io.StringIO(text)))
    assert [row["passed"] for row in rows] == ["True", "False"]
    assert float(rows[0]["ours / published - 1"]) == pytest.approx(0.01)
    assert rows[1]["ours"] == ""
    kept = json.loads((tmp_path / "bad/verification.json").read_text(encoding="utf-8"))
    assert kept["outcomes"][1]["ours"] is None
    table = (tmp_path / "bad/verification.md").read_text(encoding="utf-8")
    assert "| Good | a book \\| page 7 | 100 MPa | 101 MPa | +1.00 % | ±2 % | passed |" in table


def test_without_out_nothing_is_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert run_verification(None, (("Topic", GOOD),)) == 0
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_cannot_be_is_told_in_one_line(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("not a folder", encoding="utf-8")
    with pytest.raises(InputError, match="choose another folder with --out"):
        run_verification(tmp_path / "file", (("Topic", GOOD),))


def test_the_command_runs_the_catalogue(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    listed = tuple(one for one in catalogue() if one[0] == "Tubes from the shelf")
    monkeypatch.setattr("studies.verify_session.catalogue", lambda: listed)
    assert main(["verify"]) == 0
    assert "Cold-formed square tube" in capsys.readouterr().out


def test_what_was_kept_comes_back_and_goes_stale(tmp_path: Path) -> None:
    verification = verified([("Topic", GOOD)], lambda _: None)
    keep_verification(tmp_path, verification)
    assert kept_verification(tmp_path) == verification
    assert check_section(tmp_path).current
    keep_verification(tmp_path, replace(verification, numerics="older code"))
    assert not check_section(tmp_path).current
    (tmp_path / "verification.json").write_text("{}", encoding="utf-8")
    assert kept_verification(tmp_path) is None


def test_the_report_shows_the_last_run_or_how_to_make_one(tmp_path: Path) -> None:
    rows = comparison(layout("Plain", case_result(CRUSH, 400e3), baseline=True))
    folder = tmp_path / "risers"
    folder.mkdir()
    page = write_report(rows, (), None, folder)
    assert f"gussetry verify --out {tmp_path}" in page.read_text(encoding="utf-8")
    failed = verified([("Topic", GOOD), ("Topic", OFF)], lambda _: None)
    keep_verification(tmp_path, failed)
    text = write_report(rows, (), None, folder).read_text(encoding="utf-8")
    assert "1 of 2 published values reproduced" in text
    assert failed.when in text
    assert "Trust no load in this report" in text
    assert "FAILED, outside what is allowed" in text
    keep_verification(tmp_path, replace(failed, numerics="older code"))
    assert "another version" in write_report(rows, (), None, folder).read_text(encoding="utf-8")
