"""A study of very small blocks with fused joints, each computed in about a second."""

from pathlib import Path

TINY = """
title = "Tiny"
rated_load = "10 kN"
demand = 5
mesh = "quick"
[steel]
all = "S355"
[tube]
size = ["40 mm", "40 mm"]
wall = "6 mm"
height = "20 mm"
corner_radius = "10 mm"
[bottom_plate]
size = ["60 mm", "60 mm"]
thickness = "8 mm"
[top_plate]
size = ["60 mm", "60 mm"]
thickness = "8 mm"
[[layouts]]
name = "No gussets"
pattern = "plain"
baseline = true
[[layouts]]
name = "Mid-wall ribs"
pattern = "mid-wall"
rib_thickness = "6 mm"
[[loads]]
kind = "crush"
name = "Crush"
"""

_PRESS = """
[press]
bore = "100 mm"
capacity = "600 kN"
gauge_range = "1000 bar"
gauge_division = "10 bar"
"""
PRESSED = TINY.replace("[[layouts]]", _PRESS + "[[layouts]]", 1)
"""The same with a press."""


def tiny_study(folder: Path, more: str = "") -> Path:
    """Write the study into ``folder``, with ``more`` at its end; return its path."""
    path = folder / "tiny.toml"
    path.write_text(TINY + more, encoding="utf-8")
    return path
