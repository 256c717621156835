"""What is said and drawn of welds, and how the study file chooses."""

import csv
import io
from pathlib import Path

import pytest
from demo_text import GOOD, INCHES, swap
from PIL import Image
from pretend import CRUSH, WRAP, comparison
from pretend_welds import even_load, weld_line, welded

from fea.errors import InputError
from studies.report import write_report
from studies.results import Comparison
from studies.study import read_study
from studies.tables import lines, markdown_text, verdicts, write_tables
from studies.units import OutputUnits
from studies.welding.plan_figure import weld_figure
from studies.welding.words import weld_section, weld_shortfalls, welds_csv

TUBE = weld_line("tube end", name="tube to top plate", length_mm=380.0)
RIB = weld_line(name="front rib to top plate", length_mm=13.0)
BARE = weld_line("tube end", name="tube to bottom plate", leg_mm=0.0, length_mm=380.0)
FORCES = {TUBE: even_load(pull=-2000.0), RIB: even_load(pull=300.0), BARE: even_load(pull=50.0)}


def _made(units: OutputUnits | None = None, name: str = "Ribbed") -> Comparison:
    rows = (welded("Bare", {BARE: FORCES[BARE]}, CRUSH, True), welded(name, FORCES, CRUSH))
    return comparison(*rows, loads=(CRUSH,), units=units)


def test_a_column_says_which_weld_governs() -> None:
    bare, ribbed = (line.governs for line in lines(_made()))
    assert bare == "no fillet to check"
    # √2 · 2000 / (5 / √2) over 490 / (0.9 · 1.25) MPa.
    assert ribbed == "tube to top plate, 184 % used"
    assert ribbed in markdown_text(_made())


def test_a_weld_too_small_is_said_among_the_verdicts() -> None:
    (sentence,) = weld_shortfalls(_made())
    assert sentence in verdicts(_made())
    assert sentence == (
        "Welds too small for the demanded load by EN 1993-1-8, directional method (4.5.3.2): "
        "Ribbed under Crush (tube to top plate, 184 % used)."
    )
    assert weld_shortfalls(comparison(welded("Fine", {RIB: FORCES[RIB]}, CRUSH))) == []


def test_the_section_has_a_row_for_each_kind_of_joint() -> None:
    section = weld_section(_made())
    joints = [(row[0], row[1], row[3]) for row in section.rows]
    assert joints == [
        ("Bare", "tube to bottom plate", "not checked"),
        ("Ribbed", "tube to bottom plate", "not checked"),
        ("Ribbed", "tube to top plate", "184 %"),
        ("Ribbed", "ribs to plates", "14 %"),
    ]
    assert section.over == (False, False, True, False)
    # A leg of 9.18 mm would do: the shop lays 9.5.
    assert section.rows[2][7:] == ("9.18 mm", "4.24 mm", "9.5 mm")
    notes = " ".join(section.notes)
    assert "All of it is given to the fillets, pressing too" in notes
    assert "fillets of: ribs to plates (13.0 mm long)" in notes
    assert "it would open, for tube to bottom plate is pulled with 0.0500 kN/mm" in notes


def test_inches_are_rounded_up_to_sixteenths() -> None:
    units = OutputUnits("in", "lbf", "ksi", "lb")
    (row,) = (row for row in weld_section(_made(units)).rows if row[3] == "184 %")
    assert row[-1] == "3/8 in"


def test_the_csv_has_every_line_and_no_formula() -> None:
    rows = list(csv.DictReader(io.StringIO(welds_csv(_made(name="=Ribbed")))))
    assert len(rows) == 4
    assert rows[1]["layout"] == "'=Ribbed"
    assert float(rows[1]["pull (kN/mm)"]) == pytest.approx(-2.0)
    assert rows[0]["strength used"] == ""


def test_tables_plan_and_report_carry_the_welds(tmp_path: Path) -> None:
    made = _made(name="Ribs <b>$x$")
    write_tables(made, tmp_path)
    assert (tmp_path / "welds.csv").is_file()
    figure = weld_figure(made, tmp_path)
    with Image.open(tmp_path / figure.file_name) as picture:
        colours = picture.convert("RGB").getcolors(1_000_000)
    assert colours
    # The mark of what is past its limit.
    assert any(colour == (0xD1, 0x17, 0x6B) and count > 500 for count, colour in colours)
    assert "tube to top plate" in figure.alt
    text = write_report(made, (figure,), None, tmp_path).read_text(encoding="utf-8")
    assert "184 % too small" in text
    assert "<b>" not in text
    assert text.count("data:image/webp") == 1


def test_nothing_is_drawn_or_said_of_welds_without_lines(tmp_path: Path) -> None:
    none = comparison(welded("None", {}, WRAP), loads=(WRAP,))
    figure = weld_figure(none, tmp_path)
    text = write_report(none, (figure,), None, tmp_path).read_text(encoding="utf-8")
    assert "<h2>Welds</h2>" not in text


def _rules(text: str, tmp_path: Path):
    path = tmp_path / "study.toml"
    path.write_text(text, encoding="utf-8")
    return read_study(path).weld_rules


def test_the_study_file_chooses(tmp_path: Path) -> None:
    assert _rules(GOOD, tmp_path).method == "EN directional"
    inches = _rules(INCHES, tmp_path)
    assert (inches.method, inches.tube_ends) == ("AISC LRFD", "sawn")
    assert inches.electrode_mpa == pytest.approx(482.633, rel=1e-5)
    own = swap('method = "EN directional"', "correlation = 1.0\npartial_factor = 1.3")
    rules = _rules(own.replace('tube_ends = "sawn"', 'tube_ends = "faced"'), tmp_path)
    assert (rules.method, rules.correlation, rules.gamma) == ("EN directional", 1.0, 1.3)
    assert rules.tube_ends == "faced"


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        ('method = "AWS"', ["weld_check.method", "'AWS'", "EN directional"]),
        ('electrode = "70 ksi"', ["weld_check.electrode", "AISC", "EN directional"]),
        (
            'method = "AISC ASD"\ncorrelation = 0.9',
            ["weld_check.correlation", "belongs to the EN", "'AISC ASD'"],
        ),
        ('method = "AISC ASD"\npartial_factor = 1.25', ["weld_check.partial_factor", "EN"]),
        ("partial_factor = 0.9", ["weld_check.partial_factor", "at least 1"]),
        ("correlation = 9", ["weld_check.correlation", "at most 1.5"]),
        ('method = "AISC ASD"\nelectrode = "70"', ["weld_check.electrode", "'70'", "ksi"]),
        ('tube_ends = "milled"', ["weld_check.tube_ends", "'milled'", "sawn"]),
        ('methode = "AISC ASD"', ["weld_check.methode", "did you mean 'method'"]),
    ],
)
def test_wrong_choices_are_refused(lines: str, said: list[str], tmp_path: Path) -> None:
    text = swap('method = "EN directional"', lines).replace('tube_ends = "sawn" ', "#")
    with pytest.raises(InputError) as refusal:
        _rules(text, tmp_path)
    for part in said:
        assert part in str(refusal.value)
