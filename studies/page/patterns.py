"""The small drawings that gusset patterns are chosen from."""

from dataclasses import asdict
from functools import cache
from pathlib import Path
from typing import Any

from geometry.patterns import PATTERNS
from studies.page.preview import plan
from studies.reader import data_of
from studies.study import study_from, table_from
from studies.template import study_template

_FREE = [
    {"name": "a", "start": ["60 mm", "18 mm"], "direction": "0 deg"},
    {"name": "b", "start": ["-60 mm", "-18 mm"], "direction": "180 deg"},
    {"name": "c", "start": ["20 mm", "40 mm"], "direction": "90 deg"},
]
"""Ribs here and there: the pattern ``free`` has none of its own."""


@cache
def pattern_plans() -> dict[str, Any]:
    """Every pattern on the example's block, seen from above."""
    data = data_of(study_template("mm"), "example")
    layouts = [
        {"name": name, "pattern": name, "baseline": number == 0, "rib_thickness": "8 mm"}
        for number, name in enumerate(PATTERNS)
    ]
    for layout in layouts:
        if layout["name"] == "free":
            layout["ribs"] = [{**rib, "length": "12 mm", "thickness": "8 mm"} for rib in _FREE]
    path = Path("example.toml")
    study = study_from(table_from({**data, "layouts": layouts}, path.name), path)
    return {layout.name: asdict(plan(layout.block)) for layout in study.layouts}
