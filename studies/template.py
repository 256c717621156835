"""The commented study file that ``gussetry new`` writes."""

import re
from functools import cache
from importlib.resources import files
from typing import Literal

_NAMES = {"mm": "trailer_risers.toml", "in": "bench_block.toml"}
_HEADING = re.compile(r"(?:# )?\[{1,2}(\w+)\]{1,2}\s*(?:# *(.*))?")
_LINE = re.compile(r"(?:# )?(\w+) = (.*?)(?:\s+# *(.*))?")


def study_template(units: Literal["mm", "in"]) -> str:
    """A study file to start from, in millimetres and kilonewtons or in inches and US tons."""
    return (files("studies.demo") / _NAMES[units]).read_text(encoding="utf-8")


@cache
def study_notes() -> dict[str, str]:
    """The notes of both files by dotted key, such as ``tube.standard``; a part's own by its name.

    Lines that are notes themselves, such as ``# paper = "A4"   # A4 or Letter``, count as well.
    """
    notes: dict[str, str] = {}
    for name in _NAMES:
        part = ""
        for line in study_template(name).splitlines():  # type: ignore[arg-type]
            if heading := _HEADING.fullmatch(line):
                part, key, note = heading[1], heading[1], heading[2]
            elif found := _LINE.fullmatch(line):
                key, note = f"{part}.{found[1]}".lstrip("."), found[3]
            else:
                continue
            if note:
                notes.setdefault(key, note)
    return notes
