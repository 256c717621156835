"""A press described wrongly: one clear line for each."""

from pathlib import Path

import pytest
from demo_text import GOOD, INCHES, swap

from fea.errors import InputError
from studies.study import read_study

BORE = 'bore = "140 mm"'
NOSE = '# nose = ["60 mm", "60 mm"]'
HOLDS = '# hold_points = ["300 kN", "450 kN"]'

WRONG = {
    "neither bore nor area": (swap(BORE, ""), ["press.bore", "so is area", 'bore = "4 in"']),
    "both": (swap(BORE, BORE + '\narea = "154 cm2"'), ["press.area", "beside a bore"]),
    "bore of nothing": (swap(BORE, 'bore = "0 mm"'), ["press.bore", "'0 mm'", "5 mm to"]),
    "area as a length": (swap(BORE, 'area = "140 mm"'), ["press.area", "unit of area"]),
    "gauge ends below its zero": (
        swap('"0 bar"', '"700 bar"'),
        ["press.gauge_range", "600 bar", "700 bar", "no load"],
    ),
    "gauge ends at its zero": (swap('"0 bar"', '"600 bar"'), ["press.gauge_range", "600 bar"]),
    "zero below nothing": (swap('"0 bar"', '"-5 bar"'), ["press.gauge_zero", "'-5 bar'"]),
    "bare zero": (swap('gauge_zero = "0 bar"', "gauge_zero = 0"), ["press.gauge_zero", "no unit"]),
    "hold point past capacity": (
        swap(HOLDS, 'hold_points = ["300 kN", "950 kN"]'),
        ["press.hold_points", "950 kN", "900 kN", "press ends"],
    ),
    "hold point past the gauge": (
        INCHES.replace('# hold_points = ["20 US ton"]', 'hold_points = ["45 US ton"]', 1),
        ["press.hold_points", "45.0 US ton", "40.5 US ton", "gauge ends"],
    ),
    "nose of nothing": (
        swap(NOSE, 'nose = ["0 mm", "60 mm"]'),
        ["press.nose", "'0 mm'", "5 mm to"],
    ),
    "nose of one side": (swap(NOSE, 'nose = "60 mm"'), ["press.nose", "'60 mm'"]),
    "nose as a force": (swap(NOSE, 'nose = ["60 kN", "60 mm"]'), ["press.nose", "60 kN"]),
    "no gauge": (
        swap('gauge_range = "600 bar"', ""),
        ["press.gauge_range", "missing", '"10000 psi"'],
    ),
    "no capacity": (swap('capacity = "900 kN"', ""), ["press.capacity", "missing"]),
    "gauge in millimetres": (
        swap('"600 bar"', '"600 mm"'),
        ["press.gauge_range", "'600 mm'", "pressure or force", '"250 bar"'],
    ),
    "gauge in tons": (swap('"600 bar"', '"60 tons"'), ["press.gauge_range", "two kinds of ton"]),
    "gauge of nothing": (swap('"600 bar"', '"0 bar"'), ["press.gauge_range", "no end of a scale"]),
    "bore beside a dial in kN": (
        swap('"600 bar"', '"900 kN"').replace('"10 bar"', '"10 kN"').replace('"0 bar"', '"0 kN"'),
        ["press.bore", "marked in kN", "leave it out"],
    ),
    "divisions in another kind": (swap('"10 bar"', '"10 kN"'), ["press.gauge_division", "10 kN"]),
    "divisions too wide": (swap('"10 bar"', '"300 bar"'), ["press.gauge_division", "120 bar"]),
    "no division": (swap('"10 bar"', '"0 bar"'), ["press.gauge_division", "'0 bar'"]),
    "unknown accuracy": (
        swap('"class 1.6"', '"good"'),
        ["press.gauge_accuracy", "'good'", "grade B"],
    ),
    "hopeless accuracy": (swap('"class 1.6"', '"30 %"'), ["press.gauge_accuracy", "at most 10 %"]),
    "misspelt key": (swap('capacity = "9', 'capasity = "9'), ["press.capasity", "'capacity'"]),
    "hold points alone": (swap(HOLDS, 'hold_points = "300 kN"'), ["press.hold_points", "list"]),
    "press in a word": (
        GOOD[: GOOD.index("[press]")].replace("title", 'press = "big"\ntitle', 1)
        + GOOD[GOOD.index("# The layouts") :],
        ["press = 'big'", "keys of its own"],
    ),
}


@pytest.mark.parametrize("name", WRONG)
def test_a_wrong_press_is_one_clear_line(name: str, tmp_path: Path) -> None:
    text, said = WRONG[name]
    path = tmp_path / "mine.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        read_study(path)
    line = str(caught.value)
    assert line.startswith("mine.toml: press")
    assert line.isprintable()
    for part in said:
        assert part in line
    assert len(caught.value.remedy.split()) > 1
