"""Shop papers and the shelf: U-bolts, DXF read back, costs, yields, and what goes wrong."""

import csv
import io
import math
from pathlib import Path

import ezdxf
import pytest
from blocks import patterned
from demo_text import GOOD as WHOLE
from demo_text import INCHES
from pretend import CRUSH, case_result, layout
from shapely import Point, Polygon

from fea.errors import InputError
from geometry.pieces import pieces
from geometry.welds import weld_lengths_mm
from studies.command import main
from studies.shop.costs import costs
from studies.shop.dxf import dxf_text
from studies.shop.electrodes import electrode
from studies.shop.lists import cost_table, cut_list, ubolt_table, weld_schedule
from studies.shop.model import Axle, Ubolt
from studies.shop.shelf import needs, no_use, shelf_yield
from studies.shop.shelf_paper import layouts_table, sentences, shelved, unused
from studies.shop.ubolt import ubolt_size
from studies.store import keep_result, result_key
from studies.study import Study, read_study
from studies.units import OutputUnits

GOOD = WHOLE[: WHOLE.index("[shop]")] + WHOLE[WHOLE.index("# The layouts to compare") :]
"""The demo without what belongs to the shop, so that each test brings its own."""

RATES = """
[shop]
kerf = "2 mm"
currency = "EUR"
tube_price = "3 per kg"
bar_price = "6 per m"
plate_price = "2.40/kg"
saw_time = "4 min per cut"
cut_time = "3 min per m"
weld_time = "14 min per m"
labour = "48 per h"
"""
MOUNT = """
[axle]
tube_diameter = "60 mm"
spring_width = "60 mm"
spring_height = "45 mm"
spring_seat = "8 mm"
old_block_height = "40 mm"

[ubolt]
rod = "12 mm"
plates = ["10 mm"]
washer = "2.5 mm"
nut = "10.8 mm"
thread_past_nut = "10 mm"
"""
SHELF = """
[[shelf]]
kind = "tube"
size = ["80 mm", "120 mm"]
wall = "6 mm"
length = "200 mm"
quantity = 1

[[shelf]]
kind = "plate"
size = ["310 mm", "230 mm"]
thickness = "8 mm"
quantity = 2

[[shelf]]
kind = "plate"
name = "flat"
size = ["300 mm", "50 mm"]
thickness = "6 mm"
quantity = 1

[[shelf]]
kind = "round bar"
diameter = "16 mm"
length = "100 mm"
quantity = 1
steel = "S235"
"""


def _study(tmp_path: Path, more: str, text: str = GOOD) -> Study:
    path = tmp_path / "risers.toml"
    path.write_text(text + more, encoding="utf-8")
    return read_study(path)


def test_a_round_u_bolt_by_hand() -> None:
    """60 + 8 + 60 + 45 + 10 + 2.5 + 10.8 + 10 = 206.3; rod 2 × 176.3 + π × 72 / 2 (by hand)."""
    axle = Axle(True, 60.0, 60.0, 8.0, 60.0, 45.0, None)
    size = ubolt_size(axle, Ubolt(12.0, (10.0,), 2.5, 10.8, 10.0, True, 12.0), 60.0)
    assert size.leg_mm == pytest.approx(206.3)
    assert size.width_mm == 60.0
    assert size.rod_length_mm == pytest.approx(352.6 + 113.1, abs=0.05)


def test_a_square_u_bolt_by_hand() -> None:
    """Beam 50 × 50, spring 60 wide and 40 high, block 50, nut 10, thread 10: leg 160, inside 60.

    Bent about 12 mm: straights of 148, a flat of 36, and two quarter circles of radius 12 + 6.
    """
    axle = Axle(False, 50.0, 50.0, 0.0, 60.0, 40.0, None)
    size = ubolt_size(axle, Ubolt(12.0, (), 0.0, 10.0, 10.0, False, 12.0), 50.0)
    assert (size.leg_mm, size.width_mm) == (160.0, 60.0)
    assert size.rod_length_mm == pytest.approx(2 * 148 + 36 + 56.55, abs=0.01)


def test_legs_change_with_the_block_and_rods_by_twice_as_much(tmp_path: Path) -> None:
    study = _study(tmp_path, MOUNT)
    table = ubolt_table(study.layouts[0].block, study.shop, OutputUnits())
    assert table is not None
    change = {row[0]: row[3].replace("\u00a0", " ") for row in table.rows}
    assert change["block"] == change["leg, inside the bend to its end"] == "+20 mm"
    assert change["straight rod to bend it from"] == "+40 mm"
    assert change["spring pack"] == change["between the legs"] == "none"


@pytest.mark.parametrize("pattern", ["corner-diagonal", "wall-extensions", "inner-cross"])
@pytest.mark.parametrize("unit", ["mm", "in"])
def test_dxf_read_back_is_the_same_outline(pattern: str, unit: str) -> None:
    per_mm = 1.0 if unit == "mm" else 1.0 / 25.4
    read = 0
    for piece in pieces(patterned(pattern)):
        if piece.outline is None:
            continue
        drawing = ezdxf.read(io.StringIO(dxf_text(piece, OutputUnits(length=unit))))  # type: ignore[attr-defined]
        assert drawing.units == {"mm": 4, "in": 1}[unit]
        (ring,) = drawing.modelspace().query('LWPOLYLINE[layer=="OUTLINE"]')
        assert ring.closed
        outline = Polygon([(x / per_mm, y / per_mm) for x, y, *_ in ring.get_points()])
        for hole in drawing.modelspace().query('CIRCLE[layer=="HOLES"]'):
            centre = (hole.dxf.center.x / per_mm, hole.dxf.center.y / per_mm)
            outline = outline.difference(Point(centre).buffer(hole.dxf.radius / per_mm, 64))
        assert outline.symmetric_difference(piece.outline).area < 0.01 * math.sqrt(outline.area)
        grind = drawing.modelspace().query('LWPOLYLINE[layer=="GRIND_TO"]')
        assert len(grind) == bool(piece.cut and piece.cut.dress_mm)
        read += 1
    assert read >= 3


def test_cost_is_rate_times_amount(tmp_path: Path) -> None:
    """Plain block of the demo: 3 per kg of tube, 2.40 per kg of plate, 6 per m of bar and kerf."""
    study = _study(tmp_path, RATES)
    block = study.layouts[0].block
    found = costs(block, study.shop)
    kg = {piece.name: piece.mass_kg for piece in pieces(block)}
    plates = kg["bottom plate"] + kg["top plate"]
    assert found.steel == pytest.approx(3.0 * kg["tube stub"] + 2.4 * plates + 6.0 * 0.014)
    # Two fillets round 120 × 80 with corners of 12: 2 × (400 − 8 × 12 + 2π × 12) mm at 14 min/m.
    weld_m = 2 * (400 - 96 + 2 * math.pi * 12) / 1000
    assert found.weld_min == pytest.approx(14 * weld_m, rel=1e-3)
    assert found.saw_min == 8.0
    # Round two plates 150 × 110 and a hole of 18.
    assert found.cut_min == pytest.approx(3 * (1040 + 18 * math.pi) / 1000, rel=1e-3)
    minutes = found.saw_min + found.weld_min + found.cut_min
    assert found.money == pytest.approx(found.steel + minutes * 0.8)
    assert found.missing == ()


def test_a_missing_rate_leaves_its_column_out(tmp_path: Path) -> None:
    block = _study(tmp_path, "").layouts[0].block
    bare, full = _study(tmp_path, "").shop, _study(tmp_path, RATES).shop
    assert cost_table(block, bare) is None
    assert "EUR steel, one" in cut_list(block, full, OutputUnits()).headings
    assert not any("steel, one" in text for text in cut_list(block, bare, OutputUnits()).headings)
    part = _study(tmp_path, RATES.replace('plate_price = "2.40/kg"\n', "")).shop
    found = costs(block, part)
    assert (found.steel, found.money, found.missing) == (None, None, ("plate_price",))
    table = cost_table(block, part)
    assert table is not None
    assert [row[0] for row in table.rows] == [
        "sawing",
        "cutting plates and ribs",
        "welding",
        "labour",
    ]


def test_the_filler_is_no_weaker_than_the_steel(tmp_path: Path) -> None:
    """S355 (355 / 490) takes E 42 (420 / 500); A500 B and A36 (46 / 58 ksi) take E60 or more."""
    assert electrode(_study(tmp_path, "").layouts[0].block, inches=False) == "E 42"
    assert electrode(_study(tmp_path, "", INCHES).layouts[0].block, inches=True) == "E60"


def test_the_weld_schedule_has_every_millimetre(tmp_path: Path) -> None:
    for one in _study(tmp_path, "").layouts:
        table = weld_schedule(one.block, OutputUnits())
        assert [row[0] for row in table.rows] == [str(n + 1) for n in range(len(table.rows))]
        assert {row[5] for row in table.rows} == {"E 42"}
        told = sum(float(row[4].split("\u00a0")[0]) for row in table.rows)
        assert told == pytest.approx(sum(weld_lengths_mm(one.block).values()), abs=0.3)


def test_the_shelf_by_hand(tmp_path: Path) -> None:
    """Plain block: a 200 mm tube gives 4 stubs of 44 (kerf 2), each plate 4 of 150 × 110.

    310 × 230 holds 2 × 2 of them with 2 mm between, so two plates make 4 blocks; 7 pins of 12 come
    off 100 mm. With four ribs of 13 × 44 in a block, 300 × 50 gives 20 ribs, 5 blocks.
    """
    study = _study(tmp_path, RATES + SHELF)
    by_name = {one.layout.name: one.found for one in shelved(study, tmp_path)}
    assert by_name["No gussets"].blocks == by_name["Mid-wall ribs"].blocks == 4
    assert {need.kind for need in by_name["No gussets"].short} == {"tube", "plate"}
    assert by_name["Cross inside"].blocks < 4
    for found in by_name.values():
        for supply in found.supplies:
            cut = sum(count for _, count, _ in supply.lengths) + sum(
                len(laid) for _, laid, _ in supply.sheets
            )
            assert cut == found.blocks * sum(piece.quantity for piece in supply.need.pieces)
    (tube,) = (s for s in by_name["No gussets"].supplies if s.need.kind == "tube")
    assert tube.lengths[0][2] == pytest.approx(200 - 4 * 46)


def test_strengths_come_from_a_finished_comparison_or_not_at_all(tmp_path: Path) -> None:
    study = _study(tmp_path, SHELF)
    heading = "least first yield / demand"
    assert heading not in layouts_table(study, shelved(study, tmp_path)).headings
    (tmp_path / "fields").mkdir()
    (tmp_path / "fields/f.vtu").touch()
    cases = [case_result(CRUSH, load_n, field_file="f.vtu") for load_n in (450_000.0, 330_000.0)]
    key = result_key(study.layouts[0], study.loads, study.setting)
    keep_result(tmp_path / "store", key, layout("kept", *cases))
    table = layouts_table(study, shelved(study, tmp_path))
    told = {row[0]: row[table.headings.index(heading)] for row in table.rows}
    assert told.pop("No gussets") == "1.10 (Crush)"
    assert set(told.values()) == {"not computed"}


def test_stock_of_no_use_says_why(tmp_path: Path) -> None:
    wrong = {
        'kind = "tube"\nsize = ["100 mm", "80 mm"]\nwall = "6 mm"\nlength = "1 m"': "wrong section",
        'kind = "tube"\nsize = ["120 mm", "80 mm"]\nwall = "6 mm"\nlength = "40 mm"': "too small",
        'kind = "plate"\nsize = ["1 m", "1 m"]\nthickness = "10 mm"': "wrong thickness",
        'kind = "plate"\nsize = ["100 mm", "90 mm"]\nthickness = "8 mm"': "too small",
        'kind = "plate"\nsize = ["1 m", "1 m"]\nthickness = "8 mm"\nsteel = "S235"': "is S235",
        'kind = "round bar"\ndiameter = "20 mm"\nlength = "1 m"': "wrong diameter",
    }
    more = "".join(f"\n[[shelf]]\n{stock}\nquantity = 1\n" for stock in wrong)
    study = _study(tmp_path, more)
    every = tuple(need for one in study.layouts for need in needs(one.block, study.shop))
    for stock, reason in zip(study.shop.shelf, wrong.values(), strict=True):
        assert reason in (no_use(stock, every, study.units) or "")
    assert len(unused(study)) == len(wrong)
    assert shelf_yield(study.layouts[0].block, study.shop).blocks == 0


def test_a_shelf_that_yields_nothing_is_said_and_is_no_error(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "risers.toml"
    first = SHELF.split("\n\n")[0]
    path.write_text(GOOD + first, encoding="utf-8")
    assert main(["shelf", str(path), "--out", str(tmp_path)]) == 0
    assert "The shelf yields no block of any layout." in capsys.readouterr().out
    assert sentences(shelved(read_study(path), tmp_path))[0].startswith("The shelf yields no")
    with (tmp_path / "risers/papers/shelf.csv").open(encoding="utf-8-sig") as stream:
        assert all(row["blocks"] == "0" for row in csv.DictReader(stream))


def test_papers_for_one_layout(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "risers.toml"
    path.write_text(GOOD + RATES + MOUNT, encoding="utf-8")
    wanted = ["papers", str(path), "--layout", "overhang RIBS", "--out", str(tmp_path)]
    assert main(wanted) == 0
    (folder,) = (tmp_path / "risers/papers").iterdir()
    assert str(folder / "papers.pdf") in capsys.readouterr().out
    names = {str(item.relative_to(folder)) for item in folder.rglob("*") if item.is_file()}
    assert names == {
        "papers.pdf", "papers.html", "block.step", "cut-list.csv", "welds.csv", "set-backs.csv",
        "u-bolts.csv", "kit.csv", "cost.csv", "dxf/bottom-plate.dxf", "dxf/top-plate.dxf",
        "dxf/rib.dxf",
    }  # fmt: skip
    page = (folder / "papers.html").read_text(encoding="utf-8")
    assert "not a rating of any part" in page
    assert "Lift against the old block" in page
    assert main([*wanted[:2], "--layout", "nothing such", "--out", str(tmp_path)]) == 2
    assert "use one of: 'No gussets'" in capsys.readouterr().err


WRONG = {
    "stock with no quantity": (
        SHELF.replace("quantity = 1", "", 1),
        ["shelf[1].quantity", "missing"],
    ),
    "none of it": (SHELF.replace("quantity = 1", "quantity = 0", 1), ["quantity", "at least 1"]),
    "half of one": (SHELF.replace("quantity = 1", "quantity = 1.5", 1), ["whole number"]),
    "unknown stock": (SHELF.replace('"round bar"', '"bar"'), ["shelf", "'bar'", "round bar"]),
    "misspelt key of stock": (SHELF.replace("thickness", "thicknes", 1), ["'thickness'"]),
    "shelf as one table": ('[shelf]\nkind = "tube"\n', ["[[shelf]]"]),
    "solid tube": (SHELF.replace('wall = "6 mm"', 'wall = "45 mm"'), ["shelf[1].wall", "no bore"]),
    "price in words": (RATES.replace("3 per kg", "cheap"), ["shop.tube_price", "per kg"]),
    "plate by the metre": (RATES.replace("2.40/kg", "2.40 per m"), ["shop.plate_price"]),
    "time per kg": (RATES.replace("14 min per m", "14 min per kg"), ["shop.weld_time", "per m"]),
    "kerf too wide": (RATES.replace('kerf = "2 mm"', 'kerf = "2 in"'), ["shop.kerf", "2 in"]),
    "U-bolt without axle": ("[ubolt]" + MOUNT.split("[ubolt]")[1], ["axle", "[axle]"]),
    "no axle size": (MOUNT.replace('tube_diameter = "60 mm"\n', ""), ["tube_diameter", "beam"]),
    "wide spring": (MOUNT.replace('width = "60 mm"', 'width = "70 mm"'), ["ubolt.bend", "square"]),
    "a nut too high": (MOUNT.replace("10.8 mm", "108 mm"), ["ubolt.nut", "24 mm"]),
}


@pytest.mark.parametrize("case", WRONG)
def test_what_is_wrong_is_told_in_one_line(case: str, tmp_path: Path) -> None:
    more, said = WRONG[case]
    with pytest.raises(InputError) as caught:
        _study(tmp_path, "\n" + more)
    line = str(caught.value)
    assert line.startswith("risers.toml: ")
    assert "\n" not in line
    for words in said:
        assert words in line, line
