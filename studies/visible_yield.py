"""How the estimates stand beside loads computed on yielding steel, over the demo's blocks.

The runs take an hour; ``tests/benchmarks/visible_yield.py`` makes them and keeps their loads in
``studies/published/visible_yield.json``, each with the version of the code that made it.
"""

import math
from dataclasses import dataclass
from importlib.resources import files

from pydantic import TypeAdapter

from fea.patches import PATCH_MM2
from studies.units import OutputUnits

KEPT = files("studies.published") / "visible_yield.json"

_UNITS = OutputUnits()


@dataclass(frozen=True)
class VisibleRun:
    """One layout under one load on one mesh.

    element_share are the sizes of elements along joints and elsewhere, as shares of the local
    thickness; version and code tell what made the run, estimate_code what made the estimates if
    they were made anew since.
    starts_n and shows_n are the estimates; begins_n and plain_n the loads on yielding steel
    at which plastic strain of 0.05 % and 0.2 % covers a patch, None where the block gave way first.
    newton and linear are the rounds of Newton's method and of conjugate gradients that took.
    """

    study: str
    layout: str
    load: str
    element_share: tuple[float, float]
    unknowns: int
    starts_n: float
    shows_n: float
    begins_n: float | None
    plain_n: float | None
    steps: int
    newton: int
    linear: int
    version: str
    code: str
    when: str
    estimate_code: str = ""


@dataclass(frozen=True)
class VisibleStudy:
    """All runs."""

    runs: tuple[VisibleRun, ...]

    @property
    def when(self) -> str:
        """The day of the last run."""
        return max(run.when for run in self.runs)


ADAPTER = TypeAdapter(VisibleStudy)


def kept_study() -> VisibleStudy:
    """The runs kept with the program; none where the file is not there."""
    return ADAPTER.validate_json(KEPT.read_bytes()) if KEPT.is_file() else VisibleStudy(())


@dataclass(frozen=True)
class Ratios:
    """How often a load was this many times an estimate: mean, standard deviation, extremes."""

    count: int
    mean: float
    scatter: float
    least: float
    most: float


def ratios(found: list[float]) -> Ratios:
    """Of one or more values."""
    mean = sum(found) / len(found)
    spread = sum((one - mean) ** 2 for one in found) / max(len(found) - 1, 1)
    return Ratios(len(found), mean, math.sqrt(spread), min(found), max(found))


def begins_over_shows(study: VisibleStudy) -> Ratios:
    """Computed over estimated load at which yielding begins to show."""
    return ratios([run.begins_n / run.shows_n for run in study.runs if run.begins_n])


def summary(study: VisibleStudy) -> str:
    """What the runs say, in one sentence."""
    one = begins_over_shows(study)
    return (
        f"Followed on yielding steel, {one.count} runs of the demo's layouts and loads began to "
        f"show (0.05 % plastic strain over {PATCH_MM2:.0f} mm²) at {one.mean:.2f} times the "
        f"estimate, ± {one.scatter:.2f} standard deviation, {one.least:.2f} to {one.most:.2f} "
        f"(last run {study.when})."
    )


TITLE = "Estimates beside loads computed on yielding steel (kept, not computed now)"

HEADINGS = (
    "Study, layout, load",
    "Elements",
    "Starts, estimate",
    "Shows, estimate",
    "0.05 % over a patch",
    "0.2 % over a patch",
    "Over estimate",
)


def table(study: VisibleStudy) -> list[tuple[str, ...]]:
    """One row a run, then mean and scatter of what is divided."""
    rows: list[tuple[str, ...]] = [
        (
            f"{run.study}, {run.layout}, {run.load}",
            f"{run.element_share[0]:g} to {run.element_share[1]:g} of the thickness",
            _UNITS.show_force(run.starts_n),
            _UNITS.show_force(run.shows_n),
            _UNITS.show_force(run.begins_n) if run.begins_n else "gave way before",
            _UNITS.show_force(run.plain_n) if run.plain_n else "gave way before",
            " / ".join(
                f"{load_n / run.shows_n:.2f}" if load_n else "–"
                for load_n in (run.begins_n, run.plain_n)
            ),
        )
        for run in study.runs
    ]
    said = [
        ("0.05 % over where it is expected to show", begins_over_shows(study)),
        ("0.2 % over where it is expected to show", _over(study, "plain_n", "shows_n")),
        ("0.05 % over where yielding starts", _over(study, "begins_n", "starts_n")),
        ("0.2 % over where yielding starts", _over(study, "plain_n", "starts_n")),
    ]
    return rows + [
        (f"{words}: mean", "", "", "", "", "", f"{one.mean:.2f} ± {one.scatter:.2f}")
        for words, one in said
    ]


def _over(study: VisibleStudy, above: str, below: str) -> Ratios:
    found = [(getattr(run, above), getattr(run, below)) for run in study.runs]
    return ratios([high / low for high, low in found if high])
