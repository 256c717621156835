"""U-bolts from the study file to the report."""

import csv
import io
import math
import re
from dataclasses import replace
from pathlib import Path

import pytest
from blocks import bare_block
from demo_text import GOOD, INCHES, swap
from pydantic import TypeAdapter

from fea.errors import InputError
from geometry.block import Layout
from studies.cautions import CLAMP_CAUTION
from studies.clamping.section import clamp_csv, clamp_remarks, clamp_section
from studies.clamping.u_bolts import UBolts
from studies.clamping.words import bolt_remarks
from studies.load_words import load_sentence
from studies.loads import ClampCase, WrapCase
from studies.report import write_report
from studies.results import Comparison, LayoutResult
from studies.solve import layout_result
from studies.study import read_study
from studies.tables import csv_text, markdown_text, verdicts
from studies.units import OutputUnits

CLAMP = '[clamp]\nbolt = "M12"\ngrade = "8.8"\ntorque = "75 N m"\n\n[welds]'


def _with(clamp: str, load: str = "clamped = true") -> str:
    return swap("[welds]", clamp).replace('offset = "35 mm"', f'offset = "35 mm"\n{load}', 1)


def _read(text: str, tmp_path: Path):
    path = tmp_path / "mine.toml"
    path.write_text(text, encoding="utf-8")
    return read_study(path)


def test_the_clamp_becomes_a_load_and_goes_under_those_that_ask(tmp_path: Path) -> None:
    """F = T / (K d), two legs for each of two U-bolts."""
    study = _read(_with(CLAMP), tmp_path)
    _, forward, side, clamp = study.loads
    assert isinstance(clamp, ClampCase)
    assert clamp.load_n == pytest.approx(4 * 75_000.0 / (0.2 * 12.0))
    assert clamp.demanded_n == clamp.load_n
    assert isinstance(forward, WrapCase)
    assert isinstance(side, WrapCase)
    assert forward.clamp_n == clamp.load_n
    assert side.clamp_n == 0.0


def test_share_of_proof_threads_and_seat(tmp_path: Path) -> None:
    clamp = CLAMP.replace(
        'torque = "75 N m"',
        'proof_share = 0.75\nthreads = "oiled"\nu_bolts = 1\nseat = ["140 mm", "60 mm"]',
    )
    study = _read(_with(clamp), tmp_path)
    case, wrap = study.loads[-1], study.loads[1]
    assert isinstance(case, ClampCase)
    assert isinstance(wrap, WrapCase)
    assert case.bolts.nut_factor == 0.15
    assert case.bolts.proof_share == pytest.approx(0.75)
    # 580 MPa × 84.3 mm² (ISO 898-1, M12 of 8.8), two legs.
    assert case.load_n == pytest.approx(2 * 0.75 * 580.0 * 84.3, rel=1e-3)
    assert wrap.seat_size_mm == case.seat_size_mm == pytest.approx((140.0, 60.0))


def test_the_template_reads_with_its_clamp_uncommented(tmp_path: Path) -> None:
    for text in (GOOD, INCHES):
        start = text.index("# [clamp]")
        end = text.index("\n\n", start)
        shown = "\n".join(line.removeprefix("# ") for line in text[start:end].split("\n"))
        study = _read(text[:start] + shown + text[end:], tmp_path)
        assert isinstance(study.loads[-1], ClampCase)


WRONG = {
    "no bolt": (CLAMP.replace('bolt = "M12"\n', ""), ["clamp.bolt", "missing", '"M16"']),
    "odd bolt": (CLAMP.replace("M12", "M13"), ["clamp.bolt", "'M13'", "M12 or M14"]),
    "odd grade": (CLAMP.replace('"8.8"', '"grade 5"'), ["clamp.grade", "metric", '"8.8"']),
    "grade without quotes": (CLAMP.replace('"8.8"', "8.8"), ["clamp.grade", "8.8", "quotes"]),
    "bare torque": (CLAMP.replace('"75 N m"', "75"), ["clamp.torque", "no unit", "N m"]),
    "no torque": (CLAMP.replace('torque = "75 N m"\n', ""), ["clamp.torque", "proof_share"]),
    "both": (CLAMP.replace("torque =", "proof_share = 0.5\ntorque ="), ["clamp.torque", "one"]),
    "a torque that breaks": (
        CLAMP.replace("75 N m", "300 N m"),
        ["clamp.torque", "300 N·m breaks M12", "800 MPa", "at most 117 N·m"],
    ),
    "a huge torque": (CLAMP.replace("75 N m", "75 kN m"), ["clamp.torque", "5000 N m"]),
    "past all proof": (
        CLAMP.replace('torque = "75 N m"', "proof_share = 1.5"),
        ["clamp.proof_share = 1.5", "at most 1"],
    ),
    "half a bolt": (
        CLAMP.replace("torque =", "u_bolts = 1.5\ntorque ="),
        ["clamp.u_bolts = 1.5", "whole number"],
    ),
    "no bolts": (CLAMP.replace("torque =", "u_bolts = 0\ntorque ="), ["clamp.u_bolts = 0"]),
    "wet": (CLAMP.replace("torque =", 'threads = "wet"\ntorque ='), ["clamp.threads", "'oiled'"]),
    "two frictions": (
        CLAMP.replace("torque =", 'threads = "dry"\nnut_factor = 0.2\ntorque ='),
        ["clamp.nut_factor", "just one"],
    ),
    "nut factor of nothing": (
        CLAMP.replace("torque =", "nut_factor = 0\ntorque ="),
        ["clamp.nut_factor = 0", "0.05"],
    ),
    "seat over the edge": (
        CLAMP.replace("torque =", 'seat = ["160 mm", "60 mm"]\ntorque ='),
        ["clamp.seat", "160 mm × 60 mm", "150 mm × 110 mm"],
    ),
    "misspelt": (CLAMP.replace("grade", "grad"), ["clamp.grad", "'grade'"]),
    "no clamp": ("[welds]", ["loads['Wrap forward'].clamped", "[clamp]"]),
}  # fmt: skip


@pytest.mark.parametrize("name", WRONG)
def test_wrong_clamps_are_one_clear_line(name: str, tmp_path: Path) -> None:
    clamp, said = WRONG[name]
    with pytest.raises(InputError) as caught:
        _read(_with(clamp), tmp_path)
    line = str(caught.value)
    assert line.startswith("mine.toml: ")
    for part in said:
        assert part in line


def test_another_seat_or_the_same_name_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="differs from the one under the U-bolts"):
        _read(_with(CLAMP, 'clamped = true\nseat = ["60 mm", "60 mm"]'), tmp_path)
    with pytest.raises(InputError, match="two are called 'U-bolt clamp'"):
        _read(_with(CLAMP).replace('"Side lean"', '"U-bolt clamp"'), tmp_path)


def test_words_warn_near_and_past_the_proof_load() -> None:
    units = OutputUnits(length="in", force="lbf")
    said = {
        share: " ".join(bolt_remarks(_half_inch(share), units)) for share in (0.5, 0.7, 0.9, 1.2)
    }
    assert "of proof load that bolts" not in said[0.5]
    assert "slippery" not in said[0.5]
    assert "50.3 lbf·ft" in said[0.5]
    assert "slippery" not in said[0.7]
    assert "More than the 75 %" in said[0.9]
    assert "slippery" in said[0.9]
    assert "Past the proof load" in said[1.2]


def _half_inch(share: float) -> UBolts:
    """At 75 % of proof 1/2-13 of grade 5 takes 75.4 lbf·ft with K = 0.2."""
    return UBolts("1/2-13", "grade 5", 2, 0.2, share / 0.75 * 75.4 * 1355.818)


@pytest.fixture(scope="module")
def clamped(tmp_path_factory: pytest.TempPathFactory) -> Comparison:
    """A plain block under a clamp alone, with a load on top, and under that load alone."""
    folder = tmp_path_factory.mktemp("fields")
    bolts = UBolts("M12", "8.8", 2, 0.2, 75_000.0)
    wrap = WrapCase("Clamped wrap", 30_000.0, 2.0, (30.0, 0.0), clamp_n=bolts.clamp_n)
    loads = (
        ClampCase("U-bolt clamp", bolts.clamp_n, 1.0, bolts),
        wrap,
        replace(wrap, name="Bare wrap", clamp_n=0.0),
    )
    block = bare_block(0.0)
    layout = Layout("Plain", "plain", "No ribs.", block, baseline=True)
    result = layout_result(layout, loads, "quick", folder, "plain", lambda _: None)
    return Comparison("Clamped", OutputUnits(), "quick", 30_000.0, loads, (result,))


def test_clamp_and_load_come_out_of_one_run(clamped: Comparison) -> None:
    (row,) = clamped.results
    alone, wrap, bare = row.cases
    assert alone.clamp is not None
    assert wrap.clamp is not None
    assert bare.clamp is None
    assert alone.clamp.clamp_share == pytest.approx(125_000.0 / alone.starts.load_n)
    assert alone.clamp.clamp_stress_mpa == pytest.approx(355.0 * alone.clamp.clamp_share)
    assert wrap.clamp.clamp_share == alone.clamp.clamp_share
    # A clamp uses up part of what the block bears before it yields.
    assert 0.0 < wrap.starts.load_n < bare.starts.load_n
    assert wrap.starts.load_n <= wrap.shows.load_n
    # Kern of the 150 mm plate, 25 mm; its hole moves that by less than 2 %.
    assert wrap.clamp.opens_at_n == pytest.approx(125_000.0 * 25.0 / 5.0, rel=0.15)
    assert wrap.clamp.opening_moment_n_mm == pytest.approx(155_000.0 * 25.0, rel=0.02)
    assert not wrap.clamp.open_at_yield
    assert wrap.clamp.further_solves == 0


def test_welds_carry_clamp_and_demanded_load_together(clamped: Comparison) -> None:
    """Statics: the clamp of 125 kN, with 2 × 30 kN on top of it, and those alone."""
    (row,) = clamped.results
    for case, total_n in zip(row.cases, (125_000.0, 185_000.0, 60_000.0), strict=True):
        for line, load in zip(row.weld_plan.lines, case.weld_loads, strict=True):
            assert line.closed
            assert sum(load.pull) * line.spacing_mm == pytest.approx(-total_n, rel=1e-5)


def test_a_clamped_result_survives_being_kept(clamped: Comparison) -> None:
    kept = TypeAdapter(LayoutResult)
    (row,) = clamped.results
    assert kept.validate_json(kept.dump_json(row)) == row


def test_the_clamp_is_told_in_words_tables_and_report(clamped: Comparison, tmp_path: Path) -> None:
    said = " ".join(clamp_remarks(clamped))
    assert "75.0 N·m pulls each leg with about 31.2 kN, 64 % of its proof load" in said
    assert "Clamped wrap, clamped with 125 kN: as the load grows, a seat starts to open" in said
    # 25 mm × (125 kN × 1/1.25 to 1/0.75 + 30 kN), the hole's 2 % apart.
    low, high = re.search(r"\((\d+) N·m to (\d+) N·m, as nut", said).groups()
    assert (float(low), float(high)) == pytest.approx((3250.0, 4917.0), rel=0.03)
    assert CLAMP_CAUTION in said
    assert CLAMP_CAUTION in markdown_text(clamped)
    section = clamp_section(clamped)
    assert len(section.alone) == len(section.loads) == 1
    rows = clamp_csv(clamped).splitlines()
    assert len(rows) == 3
    assert rows[1].startswith("Plain,U-bolt clamp,")
    assert float(rows[1].split(",")[2]) == pytest.approx(125.0)
    # Stress under the clamp alone has the band of the clamp's own first yield, on every row.
    (row,) = clamped.results
    band = 100.0 * row.cases[0].bands.starts
    assert section.alone[0][1].endswith(f"± {math.ceil(band)} %")
    for line in csv.DictReader(io.StringIO(clamp_csv(clamped))):
        assert float(line["stress under the clamp alone, error band from the mesh (± %)"]) == band
    words = load_sentence(clamped.loads[0], clamped.units)
    assert words.startswith("two U-bolts, M12 of 8.8, tightened to 75.0 N·m at each nut, press")
    assert "on top of the U-bolts' 125 kN" in load_sentence(clamped.loads[1], clamped.units)
    page = write_report(clamped, (), None, tmp_path).read_text(encoding="utf-8")
    assert "Under the U-bolts alone" in page
    assert "Loads on the clamped block" in page
    assert "the U-bolts press with 125 kN" in page
    assert CLAMP_CAUTION.replace("'", "&#39;") in page


def test_without_a_clamp_nothing_is_said(clamped: Comparison) -> None:
    (row,) = clamped.results
    bare = replace(clamped, loads=clamped.loads[2:], rows=(replace(row, cases=row.cases[2:]),))
    assert clamp_remarks(bare) == []
    assert clamp_section(bare).alone == ()
    assert clamp_csv(bare) == ""


def test_a_clamp_past_yield_is_said_and_breaks_no_table(
    clamped: Comparison, tmp_path: Path
) -> None:
    (row,) = clamped.results
    alone, wrap, bare = row.cases
    assert alone.clamp is not None
    crushed = replace(alone, clamp=replace(alone.clamp, clamp_share=1.1))
    nothing = replace(
        wrap,
        starts=replace(wrap.starts, load_n=0.0),
        shows=replace(wrap.shows, load_n=0.0),
    )
    spent = replace(clamped, rows=(replace(row, cases=(crushed, nothing, bare)),))
    assert "The U-bolts alone make Plain yield" in " ".join(clamp_remarks(spent))
    assert any("no layout can take any" in one for one in verdicts(spent))
    assert csv_text(spent).count("\n") == 4
    page = write_report(spent, (), None, tmp_path).read_text(encoding="utf-8")
    assert "Strongest: <strong>none</strong>" in page
    assert not math.isnan(nothing.ratio)
