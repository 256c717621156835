"""Which designs are best for their mass; tables, chart and page of made-up sweeps."""

import csv
import io
import json
from pathlib import Path

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from studies.cautions import CAUTIONS
from studies.sweeps.found import FoundCase, FoundDesign, LeftOut, Sweep
from studies.sweeps.page import sweep_figure, write_sweep_page
from studies.sweeps.table import (
    reasons,
    sweep_csv,
    sweep_json,
    sweep_lines,
    sweep_markdown,
    sweep_verdicts,
)
from studies.units import OutputUnits


def _case(load_n: float, name: str = "Crush") -> FoundCase:
    return FoundCase(name, load_n, 100_000.0, 1.1 * load_n, "tube, left wall", 9.0e5)


def _sweep(*designs: tuple[float, float], units: OutputUnits | None = None) -> Sweep:
    """Designs given by mass and load, and one that cannot be built."""
    rows = [
        FoundDesign(number, "Ribs", (f"{number} mm",), mass_kg, 500.0, (_case(load_n),))
        for number, (mass_kg, load_n) in enumerate(designs, start=1)
    ]
    wrong = LeftOut(len(rows) + 1, "Ribs", ("90 mm",), "tube.wall: too thick; use less", True)
    headings = ("tube wall",)
    return Sweep("Made up", units or OutputUnits(), headings, ("Crush",), (*rows, wrong))


MIXED = ((2.0, 150e3), (3.0, 140e3), (2.5, 200e3), (4.0, 260e3), (1.5, 80e3), (4.0, 250e3))


def test_best_for_mass_by_hand() -> None:
    # Number 2 is heavier and weaker than 1, number 6 as heavy as 4 and weaker.
    assert [one.number for one in _sweep(*MIXED).best_for_mass(0)] == [5, 1, 3, 4]
    # Two that are alike are both best.
    assert [one.number for one in _sweep((1.0, 5.0), (1.0, 5.0)).best_for_mass(0)] == [1, 2]


@given(st.lists(st.tuples(st.integers(1, 9), st.integers(1, 9)), min_size=1, max_size=25))
def test_best_for_mass_is_its_definition(pairs: list[tuple[int, int]]) -> None:
    """A design is best when no other is at least as light and as strong, and better in one."""
    sweep = _sweep(*[(float(mass), 1e4 * load) for mass, load in pairs])
    best = {one.number for one in sweep.best_for_mass(0)}
    for number, (mass, load) in enumerate(pairs, start=1):
        beaten = any(m <= mass and f >= load and (m, f) != (mass, load) for m, f in pairs)
        assert (number in best) == (not beaten)


def test_tables_say_what_was_found() -> None:
    sweep = _sweep(*MIXED)
    printed = sweep_lines(sweep)
    assert printed[2].loads == ("200 kN, 2.00 × ★",)
    assert printed[1].loads == ("140 kN, 1.40 ×",)
    assert [line.best for line in printed] == [True, False, True, True, True, False]
    assert sweep_verdicts(sweep) == [
        "6 of 7 designs computed, 1 cannot be built.",
        "Crush: no. 4 (Ribs, tube wall 4 mm; 4.00 kg, first yield at 260 kN) is strongest; no. 1 "
        "(Ribs, tube wall 1 mm; 2.00 kg, first yield at 150 kN) is the lightest that reaches the "
        "demanded load.",
    ]
    assert reasons(sweep) == [("7", "tube.wall: too thick; use less")]
    rows = list(csv.DictReader(io.StringIO(sweep_csv(sweep))))
    assert [row["best for its mass"] for row in rows] == [str(line.best) for line in printed] + [""]
    assert float(rows[3]["first yield (kN)"]) == 260.0
    assert float(rows[3]["first yield / demanded"]) == 2.6
    assert rows[6]["left out because"] == "tube.wall: too thick; use less"
    whole = json.loads(sweep_json(sweep))
    assert whole["best_for_mass"] == {"Crush": [5, 1, 3, 4]}
    assert whole["rows"][0]["cases"][0]["first_yield_n"] == 150e3
    text = sweep_markdown(sweep)
    assert "| 3 | Ribs | 3 mm | 2.50 kg | 200 kN, 2.00 × ★ |" in text
    for caution in CAUTIONS:
        assert caution in text


def test_weak_sweeps_say_so() -> None:
    weak = _sweep((2.0, 10e3), (3.0, 20e3))
    assert "no design reaches the demanded load" in sweep_verdicts(weak)[1]
    one = _sweep((2.0, 110e3))
    assert sweep_verdicts(one)[1].endswith("also the lightest that reaches the demanded load.")
    assert sweep_verdicts(_sweep()) == ["0 of 1 designs computed, 1 cannot be built."]


def test_the_page_stands_alone(tmp_path: Path) -> None:
    sweep = _sweep(*MIXED, units=OutputUnits("in", "US ton", "ksi", "lb"))
    page = write_sweep_page(sweep, sweep_figure(sweep, tmp_path), tmp_path).read_text()
    for outside in ("http:", "https:", "<script", "@import", 'src="/'):
        assert outside not in page
    assert page.count("<img") == page.count('alt="') == 1
    for caution in CAUTIONS:
        assert caution in page
    assert "US ton" in page
    assert " kN" not in page
    assert " safe" not in page.lower()
    assert not list(tmp_path.glob("*.part"))


def test_the_chart_rings_the_best(tmp_path: Path) -> None:
    sweep = _sweep(*MIXED)
    assert sweep_figure(sweep, tmp_path) is not None
    image = np.asarray(Image.open(tmp_path / "sweep.png").convert("RGB"), dtype=int)
    assert min(image.shape[:2]) > 500
    # The line of the load demanded runs right across; marks have the first layout's colour.
    demanded = np.abs(image - [0xD1, 0x17, 0x6B]).sum(axis=2) < 40
    assert demanded.sum(axis=1).max() > 0.7 * image.shape[1]
    assert (np.abs(image - [0x0B, 0x5C, 0x8A]).sum(axis=2) < 40).sum() > 6 * 60
    assert sweep_figure(_sweep(), tmp_path) is None


def test_names_cannot_break_out(tmp_path: Path) -> None:
    bad = '=1+1|$x$<script>alert("x")</script>'
    row = FoundDesign(1, bad, ("5 mm",), 2.0, 500.0, (_case(90e3, bad),))
    sweep = Sweep(bad, OutputUnits(), ("tube wall",), (bad,), (row,))
    page = write_sweep_page(sweep, sweep_figure(sweep, tmp_path), tmp_path).read_text()
    assert "<script" not in page
    assert "'=1+1" in sweep_csv(sweep)
    assert "<script" not in sweep_markdown(sweep)
