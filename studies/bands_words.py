"""Error bands in words."""

import math

from studies.bands import STARTS_SPREAD, STIFFNESS_SPREAD
from studies.results import Comparison


def band_gloss() -> str:
    """What the ± beside a figure means, once."""
    return (
        "± is how far finer meshes may still move a figure: "
        f"{_times(STARTS_SPREAD)}what it changed between two meshes ({_times(STIFFNESS_SPREAD)}"
        "that for stiffness and buckling), and never less than what such figures scatter; for "
        "yielding that shows, an estimate, never less than what loads computed past yield differed "
        "from it. Where no ± stands, no band was computed; what the seats answer balances the load "
        "on any mesh. Steel, welds and sizes that differ from the drawing come on top."
    )


def _times(factor: float) -> str:
    return "" if factor == 1.0 else f"{factor:g} times "


def banded(shown: str, share: float | None) -> str:
    """A figure with the half width of its error band, never rounded down, or that it has none."""
    if share is None:
        return f"{shown} (no ±)"
    return f"{shown} ± {math.ceil(100.0 * share - 1e-6):d} %"


def accuracy_remarks(comparison: Comparison) -> list[str]:
    """Which figures could not be told as closely as was asked."""
    if comparison.accuracy is None or not comparison.results:
        return []
    missed = [
        f"{row.name} under {case.case.name} (± {math.ceil(100.0 * case.bands.starts):d} %)"
        for row in comparison.results
        for case in row.cases
        if case.bands.met is False
    ]
    wanted = f"{100.0 * comparison.accuracy:g} %"
    if not missed:
        return [f"Every first-yield load is known to within the ± {wanted} asked for."]
    return [f"± {wanted} was asked for and could not be reached: {'; '.join(missed)}."]
