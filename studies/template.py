"""The commented study file that ``gussetry new`` writes."""

from importlib.resources import files
from typing import Literal


def study_template(units: Literal["mm", "in"]) -> str:
    """A study file to start from, in millimetres and kilonewtons or in inches and US tons."""
    name = {"mm": "trailer_risers.toml", "in": "bench_block.toml"}[units]
    return (files("studies.demo") / name).read_text(encoding="utf-8")
