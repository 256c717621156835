"""Random studies with one thing in them made wrong: a number is one study, always the same.

What is wrong is wrong whatever the rest of the study says.
"""

import random
import tomllib
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import tomlkit
from random_studies import random_study

Data = dict[str, Any]
Chance = random.Random


@dataclass(frozen=True)
class Broken:
    """A study's text, what was done to it, and the parts of the file that may be blamed."""

    text: str
    what: str
    blamed: tuple[str, ...]


def broken_study(number: int) -> Broken:
    """Study ``number`` with one wrong thing."""
    chance = Chance(number)
    data = tomllib.loads(random_study(number))
    name, blamed, breaks = chance.choice(_WRONGS)
    breaks(data, chance)
    return Broken(tomlkit.dumps(data), name, blamed)


def _mm(value: float) -> str:
    return f"{value:.6g} mm"


def _size_mm(data: Data, part: str = "tube") -> tuple[float, float]:
    first, second = (float(text.split()[0]) for text in data[part]["size"])
    return first, second


def _least_mm(data: Data) -> float:
    return min(_size_mm(data))


def _set(part: str, key: str, value: Callable[[Data, Chance], Any]) -> Callable[..., None]:
    def breaks(data: Data, chance: Chance) -> None:
        data.setdefault(part, {})[key] = value(data, chance)

    return breaks


def _in_list(part: str, index: int, key: str, value: Callable[..., Any]) -> Callable[..., None]:
    def breaks(data: Data, chance: Chance) -> None:
        data[part][index][key] = value(data, chance)

    return breaks


def _not_a_length(_: Data, chance: Chance) -> Any:
    return chance.choice(
        ("six mm", "6", 6, 6.5, "6 kN", "6,5 mm", "", "mm", "nan mm", "inf mm", "1/0 in", [], {},
         True, "6 mm 3", "--6 mm", "6 furlong", "1e400 mm", "٣ mm", "6 mm\0", "=6 mm")
    )  # fmt: skip


def _nothing_or_less(_: Data, chance: Chance) -> str:
    return _mm(chance.choice((0.0, -0.0, -1e-9, -3.0, -1e6, 0.49)))


def _too_large(_: Data, chance: Chance) -> str:
    return _mm(chance.uniform(2000.1, 1e9))


def _pin(data: Data, chance: Chance) -> None:
    length, width = _size_mm(data, "bottom_plate")
    data["pin"] = {"diameter": _mm(min(length, width) * chance.uniform(1.0, 3.0)), "length": "9 mm"}


def _pin_off(data: Data, chance: Chance) -> None:
    length, _ = _size_mm(data, "bottom_plate")
    away = chance.choice((-1, 1)) * length * chance.uniform(0.51, 5.0)
    data["pin"] = {"diameter": "5 mm", "length": "9 mm", "position": [_mm(away), "0 mm"]}


def _hole(data: Data, chance: Chance) -> None:
    data["hole"] = {"diameter": _mm(_least_mm(data) * chance.uniform(1.0, 3.0))}


def _hole_off(data: Data, chance: Chance) -> None:
    length, _ = _size_mm(data)
    data["hole"] = {"diameter": "5 mm", "position": [_mm(length * chance.uniform(0.5, 5)), "0 mm"]}


def _small_plate(data: Data, chance: Chance) -> None:
    length, width = _size_mm(data)
    share = chance.uniform(0.05, 0.95)
    data[chance.choice(("bottom_plate", "top_plate"))]["size"] = [_mm(share * length), _mm(width)]


def _thick_plate(data: Data, chance: Chance) -> None:
    part = chance.choice(("bottom_plate", "top_plate"))
    data[part]["thickness"] = _mm(max(_size_mm(data, part)) * chance.uniform(1.01, 3.0))


def _leg(data: Data, chance: Chance) -> None:
    key = chance.choice(("tube_bottom", "tube_top"))
    wall_mm = float(data["tube"]["wall"].split()[0])
    wrong = (1.26 * wall_mm * chance.uniform(1.0, 9.0), 0.0, -5.0, chance.uniform(0.01, 1.49))
    data["welds"][key] = _mm(chance.choice(wrong))


def _unknown_key(data: Data, chance: Chance) -> None:
    part = chance.choice(("tube", "bottom_plate", "top_plate", "welds", "steel"))
    data[part][chance.choice(("wal", "Wall", "colour", "", "a b", "ä", "\u202e", "x" * 200))] = "1"


def _missing(data: Data, chance: Chance) -> None:
    part, key = chance.choice(
        (("tube", "size"), ("tube", "wall"), ("tube", "height"), ("bottom_plate", "size"),
         ("top_plate", "thickness"), ("steel", "all"))
    )  # fmt: skip
    del data[part][key]


def _missing_part(data: Data, chance: Chance) -> None:
    del data[chance.choice(("tube", "bottom_plate", "top_plate", "steel", "layouts", "loads"))]


def _load_name_twice(data: Data, chance: Chance) -> None:
    first, second = chance.sample(range(3), 2)
    data["loads"][first]["name"] = data["loads"][second]["name"]


def _offset(data: Data, chance: Chance) -> str:
    reach = max(_size_mm(data, "top_plate"))
    return _mm(chance.choice((-1.0, 1.0)) * reach * chance.uniform(0.5, 9.0))


def _pad(data: Data, chance: Chance) -> list[str]:
    length, width = _size_mm(data, "top_plate")
    return [_mm(length * chance.uniform(1.01, 4.0)), _mm(width)]


def _pad_off(data: Data, chance: Chance) -> list[str]:
    length, _ = _size_mm(data, "top_plate")
    return [_mm(chance.choice((-1.0, 1.0)) * length * chance.uniform(0.5, 4.0)), "0 mm"]


def _pick(*values: Any) -> Callable[[Data, Chance], Any]:
    return lambda _, chance: chance.choice(values)


def _top(key: str, *values: Any) -> Callable[..., None]:
    def breaks(data: Data, chance: Chance) -> None:
        data[key] = chance.choice(values)

    return breaks


def _wide(low: float, high: float) -> Callable[[Data, Chance], str]:
    return lambda data, chance: _mm(_least_mm(data) * chance.uniform(low, high))


def _free_without(data: Data, chance: Chance) -> None:
    rib = {"name": "r", "start": ["0 mm", "0 mm"], "direction": "0 deg", "length": "9 mm",
           "thickness": "5 mm"}  # fmt: skip
    free = chance.random() < 0.5
    data["layouts"][0] |= {"pattern": "free" if free else "plain", "ribs": [] if free else [rib]}


_WRONGS: tuple[tuple[str, tuple[str, ...], Callable[..., None]], ...] = (
    ("wall no length", ("tube",), _set("tube", "wall", _not_a_length)),
    ("wall of nothing", ("tube",), _set("tube", "wall", _nothing_or_less)),
    ("wall fills the tube", ("tube", "hole", "steel"), _set("tube", "wall", _wide(0.451, 3.0))),
    ("height no length", ("tube",), _set("tube", "height", _not_a_length)),
    ("height of nothing", ("tube",), _set("tube", "height", _nothing_or_less)),
    ("height too large", ("tube",), _set("tube", "height", _too_large)),
    ("a column", ("tube",), _set("tube", "height", _wide(10.01, 40.0))),
    ("radius too large", ("tube",), _set("tube", "corner_radius", _wide(0.451, 3.0))),
    ("radius below nothing", ("tube",), _set("tube", "corner_radius", _pick("-1 mm", "-0.1 in"))),
    ("one size", ("tube",), _set("tube", "size", _pick("60 mm", ["60 mm"], [], ["1 mm"] * 3, 60))),
    ("plate too small", ("bottom_plate", "top_plate"), _small_plate),
    ("plate too thick", ("bottom_plate", "top_plate", "steel"), _thick_plate),
    ("plate far off", ("bottom_plate",),
     _set("bottom_plate", "position", _pick(["500 mm", "0 mm"], ["0 mm", "-9 m"]))),
    ("pin too wide", ("pin", "steel"), _pin),
    ("pin off the plate", ("pin",), _pin_off),
    ("hole too wide", ("hole",), _hole),
    ("hole off the bore", ("hole",), _hole_off),
    ("leg", ("welds",), _leg),
    ("leg no length", ("welds",), _set("welds", "tube_top", _not_a_length)),
    ("taper", ("top_plate",), _set("top_plate", "taper", _pick("10.1 deg", "-45 deg", "9 mm", 3))),
    ("no steel", ("steel",), _set("steel", "all", _pick("S356", "", 355, [], {"yield": "1 MPa"}))),
    ("unknown key", ("tube", "bottom_plate", "top_plate", "welds", "steel"), _unknown_key),
    ("missing key", ("tube", "bottom_plate", "top_plate", "steel"), _missing),
    ("missing part", ("tube", "bottom_plate", "top_plate", "steel", "layouts", "loads"),
     _missing_part),
    ("demand", ("demand",), _top("demand", 0, -1, 1001, "5", float("nan"), float("inf"), True)),
    ("rated load", ("rated_load",),
     _top("rated_load", "0 kN", "-3 kN", "3 lb", "3 ton", "9e9 kN", 3, "10 mm", "")),
    ("mesh", ("mesh",), _top("mesh", "coarse", "", 1, ["quick"])),
    ("title", ("title",), _top("title", "", "x" * 61, "a\nb", "\x1b[31m", 7, "\u202eevil")),
    ("pattern", ("layouts",),
     _in_list("layouts", 0, "pattern", _pick("midwall", "", "PLAIN", "../x", 3))),
    ("no baseline", ("layouts",), _in_list("layouts", 0, "baseline", _pick(False, "true", 1))),
    ("ribs", ("layouts",), _free_without),
    ("rib of nothing", ("layouts",),
     _in_list("layouts", 0, "rib_thickness", _pick("0 mm", "-2 mm", "x", 4))),
    ("kind of load", ("loads",), _in_list("loads", 0, "kind", _pick("squash", "", "wrap", 1))),
    ("friction", ("loads",), _in_list("loads", 0, "friction", _pick("some", 0.3, "", True))),
    ("toward", ("loads",), _in_list("loads", 1, "toward", _pick("up", "Front", "", 0))),
    ("offset", ("loads",), _in_list("loads", 1, "offset", _offset)),
    ("offset and torque", ("loads",), _in_list("loads", 1, "axle_torque", _pick("1 N m", "x"))),
    ("pad too large", ("loads",), _in_list("loads", 2, "size", _pad)),
    ("pad of nothing", ("loads",),
     _in_list("loads", 2, "size", _pick(["0 mm", "9 mm"], ["9 mm", "-9 mm"], ["9 mm"]))),
    ("pad off the plate", ("loads",), _in_list("loads", 2, "position", _pad_off)),
    ("one name twice", ("loads",), _load_name_twice),
)  # fmt: skip
