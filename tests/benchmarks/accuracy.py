"""Whether figures refined to an accuracy are as close as they say, against a mesh finer still.

    python tests/benchmarks/accuracy.py --keep FOLDER [--accuracy "3 %"] [--studies bench_block]

Each layout of the demo studies is refined as ``gussetry compare --accuracy`` does it. Its judge has
all that was refined, and at every place that governs, also where nothing was asked, elements half
as small again. Meshes are kept in FOLDER.

Printed are each load's band, whether it reached what was asked, and how far the judge is off; the
run fails when fewer than 95 % of first yields or stiffnesses lie inside their bands.
"""

import argparse
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from fea.model import modelled
from geometry.amounts import steels_of
from geometry.block import Layout
from geometry.mesher import SETTINGS, MeshSizes, Spot
from studies.bands import accuracy_share
from studies.loads import LoadCase
from studies.mesh_store import stored_mesh
from studies.refining import Run, refined
from studies.states import states_on
from studies.study import read_study

DEMO = Path(__file__).parents[2] / "studies" / "demo"
LEAST_INSIDE = 0.95
FINER = 1.5
_REACH = 2.0
_UNREFINED = 0.5
"""Elements at places never refined, as a share of the length averaged over."""


@dataclass(frozen=True)
class Judged:
    """A load's bands, and how far off its judge is: shares of first yield and of stiffness."""

    where: str
    met: bool
    band: float
    off: float
    stiffness_band: float
    stiffness_off: float


def main() -> int:
    """Refine and judge all; 1 when the bands do not hold."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--keep", type=Path, required=True)
    parser.add_argument("--accuracy", type=accuracy_share, default="3 %")
    parser.add_argument("--studies", default="bench_block,trailer_risers")
    options = parser.parse_args()
    options.keep.mkdir(parents=True, exist_ok=True)
    every: list[Judged] = []
    for name in options.studies.split(","):
        study = read_study(DEMO / f"{name}.toml")
        for layout in study.layouts:
            began = time.process_time()
            run = refined(
                layout.block,
                study.loads,
                SETTINGS["normal"],
                options.keep,
                options.accuracy,
                _quiet,
            )
            taken_s = time.process_time() - began
            for one in _judged(layout, study.loads, run, options.keep):
                print(
                    f"{one.where}: ± {one.band:.1%}{'' if one.met else ' (not reached)'}, judge "
                    f"{one.off:+.2%}; stiffness ± {one.stiffness_band:.1%}, judge "
                    f"{one.stiffness_off:+.2%}; {taken_s:.0f} s of processor",
                    flush=True,
                )
                every.append(one)
    inside = np.mean([abs(one.off) <= one.band for one in every])
    stiff = np.mean([abs(one.stiffness_off) <= one.stiffness_band for one in every])
    print(
        f"{len(every)} loads: first yield {inside:.1%} inside, median band "
        f"{np.median([one.band for one in every]):.1%}; stiffness {stiff:.1%} inside; "
        f"{sum(one.met for one in every)} reached what was asked"
    )
    return 0 if min(inside, stiff) >= LEAST_INSIDE else 1


def _quiet(_: str) -> None:
    pass


def _judged(layout: Layout, loads: tuple[LoadCase, ...], run: Run, keep: Path) -> Iterator[Judged]:
    mesh = stored_mesh(layout.block, _finer(run), keep)
    model = modelled(mesh, steels_of(layout.block, mesh))
    judges = states_on(model, layout.block, loads, _quiet)
    for state, bands, judge in zip(run.states, run.bands, judges, strict=True):
        used, true = (one.found.starts.utilisation for one in (state, judge))
        yield Judged(
            f"{layout.name}, {state.case.name}",
            bool(bands.met),
            bands.starts,
            used / true - 1.0,
            bands.stiffness,
            judge.stiffness_n_per_mm / state.stiffness_n_per_mm - 1.0,
        )


def _finer(run: Run) -> MeshSizes:
    """Sizes of the run, and smaller than its smallest at every place that governs."""
    places = [state.found.starts for state in run.states]
    sizes_mm = [spot.size_mm for spot in run.sizes.spots] or [
        _UNREFINED * at.length_mm for at in places
    ]
    size_mm = min(sizes_mm) / FINER
    return run.sizes.finer_at(
        tuple(Spot(at.point_mm, _REACH * at.length_mm, size_mm) for at in places)
    )


if __name__ == "__main__":
    sys.exit(main())
