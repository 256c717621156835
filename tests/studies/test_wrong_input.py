"""Wrong study files: one clear line for each, naming file, key, value and remedy."""

import math
import re
from dataclasses import replace
from pathlib import Path

import pytest
from blocks import bare_block
from demo_text import GOOD, INCHES, MID_WALL, pad, swap
from random_studies import random_study

from fea.errors import InputError
from geometry.block import Hole
from studies.standing import pressed_middle_mm
from studies.study import read_study


def _free(where: str) -> str:
    rib = f'{{ name = "nose rib", {where}, direction = "0 deg", thickness = "6 mm" }}'
    return swap(MID_WALL, f'name = "Mid-wall ribs"\npattern = "free"\nribs = [{rib}]')


WRONG = {
    "unknown key": (swap('wall = "6 mm"', 'wal = "6 mm"'), ["tube.wal", "did you mean 'wall'"]),
    "missing key": (swap('height = "44 mm"\n', ""), ["tube.height", "missing"]),
    "bare number": (swap('wall = "6 mm"', "wall = 6"), ["tube.wall", "6 has no unit", '"60 mm"']),
    "wrong unit": (swap('wall = "6 mm"', 'wall = "6 kN"'), ["tube.wall", "'6 kN'", "mm"]),
    "wrong shape": (
        swap('size = ["120 mm", "80 mm"]', 'size = "120 mm"'),
        ["tube.size", "'120 mm'", '["120 mm", "80 mm"]'],
    ),
    "three sizes": (
        swap('size = ["120 mm", "80 mm"]', 'size = ["1 mm", "2 mm", "3 mm"]'),
        ["tube.size", "two"],
    ),
    "unknown pattern": (
        swap('pattern = "mid-wall"', 'pattern = "midwall"'),
        ["layouts['Mid-wall ribs'].pattern", "'midwall'", "did you mean 'mid-wall'"],
    ),
    "unknown steel": (swap('all = "S355"', 'all = "S356"'), ["steel", "'S356'", "'S355'"]),
    "own steel half given": (
        swap('all = "S355"', 'all = { yield = "300 MPa" }'),
        ["steel.all", "ultimate", "missing"],
    ),
    "own steel upside down": (
        swap('all = "S355"', 'all = { yield = "300 MPa", ultimate = "200 MPa" }'),
        ["ultimate", "below the yield"],
    ),
    "no baseline": (swap("baseline = true\n", ""), ["layouts", "baseline = true"]),
    "two baselines": (
        GOOD.replace('pattern = "mid-wall"', 'pattern = "mid-wall"\nbaseline = true'),
        ["layouts", "2 marked as the baseline"],
    ),
    "one name twice": (swap('"Mid-wall ribs"', '"No gussets"'), ["two are called 'No gussets'"]),
    "names alike but for their case": (
        swap('"Mid-wall ribs"', '"no Gussets"'),
        ["'No gussets' and 'no Gussets' differ too little"],
    ),
    "one load twice": (swap('"Side lean"', '"Crush"'), ["two are called 'Crush'"]),
    "unknown load": (swap('kind = "crush"', 'kind = "squash"'), ["loads", "'squash'", "crush"]),
    "key of another load": (
        swap('name = "Crush"', 'name = "Crush"\noffset = "3 mm"'),
        ["loads['Crush'].offset", "unknown key"],
    ),
    "offset and torque": (
        swap('offset = "35 mm"', 'offset = "35 mm"\naxle_torque = "5 N m"'),
        ["loads['Wrap forward'].offset", "give just one"],
    ),
    "offset off the plate": (
        swap('offset = "35 mm"', 'offset = "80 mm"'),
        ["loads['Wrap forward'].offset", "80 mm", "71.25 mm"],
    ),
    "torque off the plate": (
        swap('axle_torque = "450 N m"', 'axle_torque = "9 kN m"'),
        ["loads['Side lean'].axle_torque", "300 mm"],
    ),
    "no rated load": (swap('rated_load = "30 kN"', 'rated_load = "0 kN"'), ["'0 kN'", "1 N to"]),
    "load the wrong way": (swap('rated_load = "30 kN"', 'rated_load = "-30 kN"'), ["'-30 kN'"]),
    "weight for a force": (
        swap('rated_load = "30 kN"', 'rated_load = "3000 lbs"'),
        ["rated_load", "'3000 lbs'", "did you mean 3000 lbf"],
    ),
    "comma in a number": (
        swap('rated_load = "30 kN"', 'rated_load = "3,5 kN"'),
        ["rated_load", "'3,5 kN'", "no commas"],
    ),
    "demand of nothing": (swap("demand = 10", "demand = 0"), ["demand = 0", "more than 0"]),
    "rib too long": (
        swap('name = "Mid-wall ribs"', 'name = "Mid-wall ribs"\nrib_length = "40 mm"'),
        ["layouts['Mid-wall ribs'].rib_length", "front rib", "past", "use at most"],
    ),
    "weld too large": (
        swap('tube_bottom = "5 mm"', 'tube_bottom = "9 mm"'),
        ["welds.tube_bottom", "9 mm", "to 7.5 mm"],
    ),
    "weld of nothing": (
        swap('tube_top = "5 mm"', 'tube_top = "0 mm"'),
        ["welds.tube_top", "fused"],
    ),
    "hole too wide": (
        swap('diameter = "18 mm"', 'diameter = "90 mm"'),
        ["hole.diameter", "90 mm"],
    ),
    "ten metres": (
        swap('height = "44 mm"', 'height = "10 m"'),
        ["tube.height", "10000 mm", "2000 mm"],
    ),
    "free without ribs": (
        swap('pattern = "mid-wall"', 'pattern = "free"'),
        ["layouts['Mid-wall ribs'].ribs", "free"],
    ),
    "no radius": (swap('standard = "EN 10219"\n', "\n") if 'standard = "EN 10219"\n' in GOOD
                  else GOOD.replace('standard = "EN 10219" ', "# ", 1),
                  ["tube.corner_radius", "EN 10219"]),
    "not TOML": (GOOD + "\n[[[", ["line"]),
    "no quotes": (
        swap('wall = "6 mm"', "wall = 6 mm"),
        ["line 24, wall = 6 mm", 'write wall = "6 mm"'],
    ),
    "one quote": (swap('wall = "6 mm"', 'wall = "6 mm'), ["line 24", "a quote is missing"]),
    "key twice": (
        swap('wall = "6 mm"', 'wall = "6 mm"\nwall = "5 mm"'),
        ['line 25, wall = "5 mm"', "keep one"],
    ),
    "part twice": (GOOD + '\n[pin]\ndiameter = "3 mm"\n', ["[pin]", "is there twice"]),
    "large True": (swap("baseline = true", "baseline = True"), ["write baseline = true"]),
    "backslash": (swap('title = "R', 'title = "C:\\U'), ["line 5", "backslash"]),
    "prose": ("hello", ["line 1, hello", 'key = "value"']),
    "brackets": ("a = " + 5000 * "[", ["brackets"]),
    "empty": ("# nothing yet", ["nothing in it", "gussetry new"]),
    "no wall": (swap('wall = "6 mm"', 'wall = "0 mm"'), ["tube.wall", "0 mm", "0.5 mm"]),
    "wall fills the tube": (
        swap('wall = "6 mm"', 'wall = "41 mm"'),
        ["tube.wall", "41 mm", "80 mm wide", "36 mm"],
    ),
    "list for one size": (
        swap('wall = "6 mm"', 'wall = ["6 mm"]'),
        ["tube.wall", "['6 mm']", "not one length"],
    ),
    "plate smaller than the tube": (
        swap('size = ["150 mm", "110 mm"]', 'size = ["100 mm", "110 mm"]'),
        ["bottom_plate.size", "100 mm", "120 mm"],
    ),
    "plate thicker than its grade goes": (
        swap('thickness = "8 mm"', 'thickness = "120 mm"'),
        ["steel.all (for bottom_plate)", "120 mm", "100 mm"],
    ),
    "pin off the plate": (
        swap('length = "12 mm"', 'length = "12 mm"\nposition = ["70 mm", "0 mm"]'),
        ["pin", "16 mm", "on the plate"],
    ),
    "no ribs thickness": (
        swap(MID_WALL + '\nrib_thickness = "6 mm"', MID_WALL + '\nrib_thickness = "0 mm"'),
        ["layouts['Mid-wall ribs'].rib_thickness", "0 mm"],
    ),
    "rib steel no grade": (
        swap(MID_WALL, MID_WALL + "\nrib_steel = 355"),
        ["layouts['Mid-wall ribs'].rib_steel", "355", "a grade"],
    ),
    "rib in the air": (
        _free('start = ["160 mm", "0 mm"], length = "12 mm"'),
        ["layouts['Mid-wall ribs']", "nose rib", "misses the tube", "100 mm"],
    ),
    "free rib too long": (
        _free('start = ["60 mm", "0 mm"], length = "52 mm"'),
        ["layouts['Mid-wall ribs']", "nose rib", "past", "use at most 15 mm"],
    ),
    "free rib turned in": (
        _free('start = ["-60 mm", "0 mm"], length = "12 mm"'),
        ["layouts['Mid-wall ribs']", "nose rib", "points outwards"],
    ),
    "letters that do not print": (
        swap('"Mid-wall ribs"', '"Mid\\u001b[31m"'),
        ["layouts[", "cannot be printed"],
    ),
    "lines inside a key": (swap("wall =", '"wa\\r\\u2028ll" ='), ["tube.wa??ll", "'wall'"]),
    "one bracket for a list": (
        GOOD[: GOOD.index("[[loads]]")] + '[loads]\nkind = "crush"\nname = "Crush"',
        ["loads", "[[loads]]"],
    ),
    "demand that is no number": (swap("demand = 10", "demand = nan"), ["demand = nan"]),
    "own steel in pascals": (
        swap('all = "S355"', 'all = { yield = "355e6 MPa", ultimate = "490 MPa" }'),
        ["steel.all.yield", "'355e6 MPa'", "5000 MPa"],
    ),
    "own steel's E in MPa": (
        swap('all = "S355"', 'all = { yield = "3e2 MPa", ultimate = "400 MPa", E = "210 MPa" }'),
        ["steel.all.E", "'210 MPa'", '"210 GPa"'],
    ),
    "pad over the edge": (
        pad('["30 mm", "30 mm"]\nposition = ["70 mm", "0 mm"]'),
        ["loads['Pad'].position", "70 mm and 0 mm", "60 mm and 40 mm"],
    ),
    "pad larger than the plate": (
        pad('["160 mm", "30 mm"]'),
        ["loads['Pad'].size", "160 mm × 30 mm", "150 mm × 110 mm"],
    ),
    "pad of nothing": (pad('["0 mm", "30 mm"]'), ["loads['Pad'].size[1]", "'0 mm'", "0.5 mm"]),
    "seat larger than the plate": (
        swap('offset = "35 mm"', 'offset = "35 mm"\nseat = ["160 mm", "90 mm"]'),
        ["loads['Wrap forward'].seat", "160 mm", "150 mm × 110 mm"],
    ),
    "offset off the bottom plate": (
        swap('position = ["0 mm", "0 mm"]', 'position = ["-3 mm", "0 mm"]').replace(
            'offset = "35 mm"', 'offset = "70 mm"'
        ),
        ["loads['Wrap forward'].offset", "73 mm lengthwise", "would tip", "71.25 mm"],
    ),
    "shear off the bottom plate": (
        swap('offset = "35 mm"', 'offset = "35 mm"\nshear = "22 kN"'),
        ["loads['Wrap forward'].offset", "79 mm lengthwise", "smaller offset or shear"],
    ),
    "pad over the hole": (
        pad('["8 mm", "8 mm"]'),
        ["loads['Pad'].size", "touches no steel", "18 mm"],
    ),
    "neither offset nor torque": (
        swap('offset = "35 mm"\n', ""),
        ["loads['Wrap forward'].offset", "axle_torque", '"900 N m"'],
    ),
    "hole too small for the pin": (
        swap('# seat_hole = "20 mm"', 'seat_hole = "14 mm"'),
        ["pin.seat_hole", "14 mm does not take a pin of 16 mm", "at least 16 mm"],
    ),
    "hole as wide as the plate": (
        swap('# seat_hole = "20 mm"', 'seat_hole = "108 mm"'),
        ["pin.seat_hole", "108 mm leaves no seat", "at most 104.5 mm"],
    ),
    "offset the other way": (
        swap('offset = "35 mm"', 'offset = "-35 mm"'),
        ["loads['Wrap forward'].offset", "-35 mm", "turn toward"],
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", WRONG)
def test_wrong_input_is_one_clear_line(name: str, tmp_path: Path) -> None:
    text, said = WRONG[name]
    path = tmp_path / "mine.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        read_study(path)
    line = str(caught.value)
    assert line.startswith("mine.toml: ")
    assert "\n" not in line
    for part in said:
        assert part in line
    assert line.isprintable()
    assert len(caught.value.remedy.split()) > 1


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('tube_bottom = "3/16 in"', 'tube_bottom = "1/2 in"', "12.7 mm (0.500 in)"),
        ('offset = "1-1/4 in"', 'offset = "3 in"', "puts the load 76.2 mm (3.00 in)"),
    ],
)
def test_a_study_in_inches_is_refused_in_inches(
    old: str, new: str, said: str, tmp_path: Path
) -> None:
    path = tmp_path / "mine.toml"
    path.write_text(INCHES.replace(old, new, 1), "utf-8")
    with pytest.raises(InputError) as caught:
        read_study(path)
    assert said in caught.value.problem
    assert re.search(r" mm \([\d.]+ in\)", caught.value.remedy)


def test_files_that_are_no_study(tmp_path: Path) -> None:
    binary, huge = tmp_path / "a.toml", tmp_path / "b.toml"
    binary.write_bytes(b"\xff\xfe\x00")
    huge.write_bytes(b"#" * 2_000_000)
    for path, said in (
        (binary, "is not a text file; save it as UTF-8"),
        (huge, "larger than a megabyte"),
        (tmp_path, "is not a file"),
        (Path("/dev/zero"), "is not a file"),
        (tmp_path / "none.toml", "no such file"),
        (tmp_path / ("x" * 300), "file name too long"),
        (tmp_path / "two\nlines", "two?lines: no such file"),
        (Path("a\0b"), "null"),
    ):
        with pytest.raises(InputError) as caught:
            read_study(path)
        assert str(caught.value).isprintable()
        assert said in str(caught.value)


def test_a_pad_presses_where_the_hole_leaves_steel(tmp_path: Path) -> None:
    """Its middle stands over the bottom plate, but that of what it touches hardly does."""
    path = tmp_path / "pad.toml"
    path.write_text(random_study(5541), encoding="utf-8")
    with pytest.raises(InputError, match=r"pad\.toml: loads\['Pad'\]\.position.*would tip"):
        read_study(path)


def test_a_hole_moves_the_middle_of_what_is_pressed_by_its_share_of_the_area() -> None:
    """(A x - a x') / (A - a) for a pad of area A with a hole of area a in it."""
    block = replace(bare_block(0.0), hole=Hole(10.0, (5.0, 0.0)))
    pad_mm2, hole_mm2 = 60.0 * 40.0, math.pi * 5.0**2
    x, y = pressed_middle_mm(block, (0.0, 2.0), (60.0, 40.0))
    assert x == pytest.approx(-hole_mm2 * 5.0 / (pad_mm2 - hole_mm2), rel=0.01)
    assert y == pytest.approx(pad_mm2 * 2.0 / (pad_mm2 - hole_mm2), rel=0.001)
