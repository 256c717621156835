"""What the tables and the sentences under them say, against numbers chosen by hand."""

import csv
import io
import json
from pathlib import Path

import pytest
from pretend import CRUSH, WRAP, case_result, comparison, layout

from studies.cautions import CAUTIONS
from studies.load_words import load_sentence
from studies.loads import CrushCase, PadCase, WrapCase
from studies.results import Comparison, LayoutFailure
from studies.tables import (
    HEADINGS,
    csv_text,
    json_text,
    lines,
    load_remarks,
    markdown_text,
    remarks,
    shortfalls,
    verdicts,
    write_tables,
)
from studies.units import OutputUnits

FAILED = LayoutFailure("Walls carried on", False, "the mesher gave up; make the welds smaller")


@pytest.fixture
def two() -> Comparison:
    return comparison(
        layout("Bare", case_result(CRUSH, 400e3), case_result(WRAP, 80e3), baseline=True),
        FAILED,
        layout("Ribbed", case_result(CRUSH, 500e3), case_result(WRAP, 60e3), mass_kg=4.0),
        loads=(CRUSH, WRAP),
    )


def _rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


def test_lines_show_loads_ratio_and_change(two: Comparison) -> None:
    bare_crush, bare_wrap, ribbed_crush, ribbed_wrap = lines(two)
    assert bare_crush.layout == "Bare (baseline)"
    assert (bare_crush.first_yield, bare_crush.ratio, bare_crush.change) == (
        "400 kN ± 3 %",
        "1.33 ×",
        "–",
    )
    assert (ribbed_crush.first_yield, ribbed_crush.change) == ("500 kN ± 3 %", "+25 %")
    assert (ribbed_wrap.ratio, ribbed_wrap.change) == ("0.67 ×", "-25 %")
    assert [line.meets for line in lines(two)] == [True, False, True, False]
    assert bare_wrap.load == "Wrap forward"
    assert (ribbed_crush.mass, ribbed_crush.weld, ribbed_crush.averaging) == (
        "4.00 kg",
        "759 mm",
        "3.00 mm (+12 % over half, -9 % over double)",
    )
    # 9.0e6 N/mm is 9000 kN/mm.
    assert ribbed_crush.stiffness == "9000 kN/mm ± 1 %"


def test_a_load_that_just_meets_the_demand_meets_it() -> None:
    (line,) = lines(comparison(layout("Even", case_result(CRUSH, 300e3))))
    assert line.meets
    assert line.ratio == "1.00 ×"


def test_without_its_baseline_nothing_is_compared() -> None:
    failed = LayoutFailure("Bare", True, "x; y")
    lone = comparison(failed, layout("Ribbed", case_result(CRUSH, 500e3)))
    assert lines(lone)[0].change == "no baseline"
    assert _rows(csv_text(lone))[1]["layout"] == "Bare"
    assert _rows(csv_text(lone))[0]["change against baseline (%)"] == ""


def test_less_than_half_a_percent_is_the_same() -> None:
    rows = (
        layout("A", case_result(CRUSH, 400e3), baseline=True),
        layout("B", case_result(CRUSH, 398.5e3)),
    )
    assert lines(comparison(*rows))[1].change == "same"


def test_csv_json_and_markdown_agree_with_the_results(two: Comparison) -> None:
    rows = _rows(csv_text(two))
    whole = json.loads(json_text(two))
    cases = [case for row in two.results for case in row.cases]
    stored = [case for row in whole["rows"] if "cases" in row for case in row["cases"]]
    assert len(rows) == len(cases) + 1
    for row, case, kept in zip(rows, cases, stored, strict=False):
        assert float(row["first yield (kN)"]) * 1000.0 == pytest.approx(case.starts.load_n)
        assert float(row["expected to show (kN)"]) * 1000.0 == pytest.approx(case.shows.load_n)
        assert float(row["first yield / demanded"]) == pytest.approx(case.ratio)
        assert row["place"] == case.starts.place == kept["starts"]["place"]
        assert kept["starts"]["load_n"] == case.starts.load_n
    assert [row["change against baseline (%)"] for row in rows[:4]] == [
        "0.0",
        "0.0",
        "25.0",
        "-25.0",
    ]
    assert rows[4]["layout"] == FAILED.name
    assert rows[4]["failure"] == FAILED.reason
    assert whole["cautions"] == list(CAUTIONS)
    assert whole["rows"][1]["reason"] == FAILED.reason
    table = [line for line in markdown_text(two).splitlines() if line.startswith("|")]
    assert len(table) == 2 + len(cases)
    assert all(line.count("|") == len(HEADINGS) + 1 for line in table)
    assert "| Ribbed | Crush | 500 kN ± 3 % | 1.67 × | +25 % |" in table[4]


def test_csv_is_in_the_units_asked_for() -> None:
    units = OutputUnits("in", "US ton", "ksi", "lb")
    (row,) = _rows(csv_text(comparison(layout("A", case_result(CRUSH, 400e3)), units=units)))
    # 1 US ton of force is 2000 lbf of 4.4482216 N each; 1 lb is 0.45359237 kg.
    assert float(row["first yield (US ton)"]) == pytest.approx(400e3 / (2000 * 4.4482216), rel=1e-7)
    assert float(row["mass (lb)"]) == pytest.approx(2.0 / 0.45359237)
    assert float(row["weld bead (in)"]) == pytest.approx(759.0 / 25.4)


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r"])
def test_a_spreadsheet_takes_no_name_for_a_formula(start: str) -> None:
    name = f"{start}cmd|' /C calc'!A0"
    case = case_result(CRUSH, 400e3, place=f"{start}1, left")
    failed = LayoutFailure(name, False, f"{start}2; mend it")
    first, last = _rows(csv_text(comparison(layout(name, case), failed)))
    for text in (first["layout"], first["place"], first["part"], last["layout"], last["failure"]):
        assert text.startswith(f"'{start}")


def test_no_name_breaks_out_of_the_markdown_table() -> None:
    bad = "a|b\nc <b>"
    table = markdown_text(comparison(layout(bad, case_result(CRUSH, 400e3)), title=f"T\n# {bad}"))
    (row,) = [line for line in table.splitlines() if line.startswith("| a")]
    assert row.startswith("| a\\|b c &lt;b> |")
    assert table.splitlines()[0] == "# T # a\\|b c &lt;b>"
    assert "<b>" not in table


def test_every_table_carries_the_cautions(two: Comparison, tmp_path: Path) -> None:
    write_tables(two, tmp_path)
    assert {path.name for path in tmp_path.iterdir()} == {
        "comparison.csv",
        "comparison.json",
        "comparison.md",
        "walls.csv",
        "welds.csv",
        "by_hand.csv",
    }
    text = (tmp_path / "comparison.md").read_text(encoding="utf-8")
    assert all(caution in text for caution in CAUTIONS)
    # A mark that tells a spreadsheet that the text is UTF-8.
    assert (tmp_path / "comparison.csv").read_bytes().startswith(b"\xef\xbb\xbf")


def test_the_strongest_and_the_strongest_for_its_mass(two: Comparison) -> None:
    crush, wrap, short = verdicts(two)
    # 500 kN on 4 kg is 125 kN for each kg, 400 kN on 2 kg is 200.
    assert crush == (
        "Crush: Ribbed is strongest, first yield at 500 kN ± 3 %, 1.67 times the 300 kN demanded; "
        "Bare is the strongest for its mass (200 kN for each kg)."
    )
    assert wrap.startswith(
        "Wrap forward: Bare is strongest, first yield at 80.0 kN ± 3 %, 0.89 times"
    )
    assert wrap.endswith("it is also the strongest for its mass.")
    assert [short] == shortfalls(two)
    assert short == (
        "Yields below the demanded load: Bare under Wrap forward; Ribbed under Wrap forward."
    )


@pytest.mark.parametrize(("other_n", "tied"), [(500e3, True), (472e3, True), (470e3, False)])
def test_layouts_within_each_others_bands_are_a_tie(other_n: float, tied: bool) -> None:
    # Both are known to ± 3 %: 500 kN may be 485 kN, 471 kN may be as much.
    rows = (layout("A", case_result(CRUSH, 500e3)), layout("B", case_result(CRUSH, other_n)))
    (sentence,) = verdicts(comparison(*rows))
    assert ("too close to tell from it: B" in sentence) is tied


def test_all_failed_is_said() -> None:
    nothing = comparison(FAILED)
    assert verdicts(nothing) == ["No layout could be computed."]
    assert lines(nothing) == []
    assert remarks(nothing) == [f"{FAILED.name} could not be computed: {FAILED.reason}."]
    assert FAILED.reason in markdown_text(nothing)


def test_the_lift_of_the_seat_is_said_once_a_load(two: Comparison) -> None:
    assert load_remarks(two) == [
        "Wrap forward: the seat starts to lift when the load is 25.4 mm off the middle; "
        "at 35.0 mm it lifts."
    ]


def test_loads_in_words() -> None:
    units = OutputUnits()
    assert load_sentence(CRUSH, units) == (
        "stiff flat plates press on the whole block; demanded: 300 kN, 10 times 30.0 kN."
    )
    assert "gripping" in load_sentence(CrushCase("C", 1e3, 1.0, friction=True), units)
    pad = load_sentence(PadCase("P", 1e3, 1.0, (40.0, 30.0), (0.0, -5.0)), units)
    assert "40.0 mm by 30.0 mm, its middle 5.00 mm to the right off the plate's;" in pad
    wrap = WrapCase("W", 10e3, 2.0, (-35.0, 8.0), (300.0, 400.0), (60.0, 50.0))
    assert load_sentence(wrap, units) == (
        "a soft seat presses on the top plate, over 60.0 mm by 50.0 mm of it, the load 35.0 mm to "
        "the rear and 8.00 mm to the left off the middle, and pushes sideways with 500 N for each "
        "10.0 kN of load; demanded: 20.0 kN, 2 times 10.0 kN."
    ).replace("500 N", "0.500 kN")
