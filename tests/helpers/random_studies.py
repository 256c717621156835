"""Study files drawn at random: extreme proportions, every pattern, welds on or off.

A number is one study: the same number gives the same file on every machine.
"""

import math

import numpy as np

from geometry.patterns import PATTERNS

_Chance = np.random.Generator


def random_study(number: int) -> str:
    """The text of study ``number``: one layout under a crush, a wrap and a pad load."""
    chance = np.random.default_rng(number)
    length, width = _between(chance, 25.0, 220.0), _between(chance, 25.0, 220.0)
    least = min(length, width)
    most = max(length, width)
    wall = _between(chance, max(2.0, most / 30), 0.3 * least)
    radius = 0.0 if chance.random() < 0.15 else wall * float(chance.uniform(1.06, 2.6))
    height = least * _between(chance, 0.12, 2.0)
    fused = chance.random() < 0.25
    leg = 0.0 if fused else wall * float(chance.uniform(0.4, 0.95))
    lines = [
        f'title = "Random block {number}"',
        'rated_load = "10 kN"',
        "demand = 5",
        'mesh = "quick"',
        f'[steel]\nall = "{chance.choice(["S235", "S355", "A36"])}"',
        f"[tube]\nsize = {_pair(length, width)}\nwall = {_mm(wall)}\nheight = {_mm(height)}",
        f"corner_radius = {_mm(radius)}",
    ]
    plates = [_plate(chance, length, width, leg) for _ in range(2)]
    for name, (size, thickness, position) in zip(("bottom", "top"), plates, strict=True):
        lines.append(f"[{name}_plate]\nsize = {_pair(*size)}\nthickness = {_mm(thickness)}")
        lines.append(f"position = {_pair(*position)}")
        if name == "top":
            lines += _taper(number)
    if chance.random() < 0.7:
        lines.append(f"[pin]\ndiameter = {_mm(least * _between(chance, 0.08, 0.5))}")
        lines.append(f"length = {_mm(_between(chance, 4.0, 40.0))}")
    if chance.random() < 0.7:
        lines.append(f"[hole]\ndiameter = {_mm((least - 2 * wall) * _between(chance, 0.1, 0.8))}")
    lines += _welds(leg)
    lines += _layout(chance, wall, length, width)
    lines += _loads(chance, plates[1][0])
    return "\n".join(lines) + "\n"


def _between(chance: _Chance, low: float, high: float) -> float:
    """A number between the two, small ones as likely as large ones."""
    return float(math.exp(chance.uniform(math.log(low), math.log(high))))


def _mm(value: float) -> str:
    return f'"{value:.4g} mm"'


def _pair(first: float, second: float) -> str:
    return f"[{_mm(first)}, {_mm(second)}]"


def _plate(
    chance: _Chance, length: float, width: float, leg: float
) -> tuple[tuple[float, float], float, tuple[float, float]]:
    """Size, thickness and position of a plate that covers the tube and its weld."""
    overhang = [leg + 1.0 + _between(chance, 0.5, 0.6 * length) for _ in range(2)]
    size = (length + 2 * overhang[0], width + 2 * overhang[1])
    thickness = _between(chance, max(3.0, max(size) / 30), 30.0)
    if chance.random() < 0.6:
        return size, thickness, (0.0, 0.0)
    shift = [float(chance.uniform(-1.0, 1.0)) * (over - leg - 1.0) for over in overhang]
    return size, thickness, (shift[0], shift[1])


def _taper(number: int) -> list[str]:
    """A tilted top plate for one study in four, drawn apart so that the rest stays as it was."""
    chance = np.random.default_rng((number, 1))
    return [f'taper = "{chance.uniform(-11.0, 11.0):.3g} deg"'] if chance.random() < 0.25 else []


def _welds(leg: float) -> list[str]:
    shown = _mm(leg) if leg >= 1.5 else '"fused"'
    keys = ("tube_bottom", "tube_top", "rib_plate", "rib_tube")
    return ["[welds]", *(f"{key} = {shown}" for key in keys)]


def _layout(chance: _Chance, wall: float, length: float, width: float) -> list[str]:
    pattern = str(chance.choice(sorted(PATTERNS)))
    lines = ["[[layouts]]", 'name = "Random"', f'pattern = "{pattern}"', "baseline = true"]
    thickness = wall * float(chance.uniform(0.4, 1.6))
    if pattern == "free":
        return [*lines, _free_ribs(chance, thickness, length, width)]
    if pattern != "plain":
        lines.append(f"rib_thickness = {_mm(thickness)}")
    return lines


def _free_ribs(chance: _Chance, thickness: float, length: float, width: float) -> str:
    """One to three ribs, each square or skew on a wall of its own."""
    walls = (
        (0.0, length / 2, 0.0, 0.0, width),
        (180.0, -length / 2, 0.0, 0.0, width),
        (90.0, 0.0, width / 2, length, 0.0),
        (270.0, 0.0, -width / 2, length, 0.0),
    )
    ribs = []
    for index in chance.permutation(4)[: chance.integers(1, 4)]:
        turned, x, y, along_x, along_y = walls[index]
        off = float(chance.uniform(-0.3, 0.3))
        skew = float(chance.uniform(-40.0, 40.0)) if chance.random() < 0.5 else 0.0
        shape = str(chance.choice(["full", "triangle"]))
        ribs.append(
            f'{{ name = "rib {index}", start = {_pair(x + off * along_x, y + off * along_y)}, '
            f'direction = "{turned + skew:.4g} deg", '
            f"length = {_mm(_between(chance, 6.0, 40.0))}, thickness = {_mm(thickness)}, "
            f'shape = "{shape}", side = "{chance.choice(["bottom", "top"])}" }}'
        )
    return f"ribs = [{', '.join(ribs)}]"


def _loads(chance: _Chance, top: tuple[float, float]) -> list[str]:
    toward = str(chance.choice(["front", "rear", "left", "right"]))
    reach = top[0] if toward in ("front", "rear") else top[1]
    friction = str(chance.choice(["none", "full"]))
    offset = reach * float(chance.uniform(0.02, 0.4))
    pad = [side * float(chance.uniform(0.2, 0.9)) for side in top]
    return [
        f'[[loads]]\nkind = "crush"\nname = "Crush"\nfriction = "{friction}"',
        f'[[loads]]\nkind = "wrap"\nname = "Wrap"\ntoward = "{toward}"\noffset = {_mm(offset)}',
        f'[[loads]]\nkind = "pad"\nname = "Pad"\nsize = {_pair(*pad)}',
    ]
