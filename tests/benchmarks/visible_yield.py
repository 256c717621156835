"""Follow the demo's blocks past first yield and keep where yielding shows, beside the estimates.

    python tests/benchmarks/visible_yield.py [--elements 0.55,0.75] [--study trailer_risers]
        [--layout "No gussets"] [--fresh | --estimates] [--kept FILE.json]

Writes ``studies/published/visible_yield.json``, which ``gussetry verify`` and reports show. Runs
that the file holds are left as they are, so that the whole may be done in pieces; --fresh makes
them again, --estimates only what is estimated, a minute in all: for when the plastic engine is
what it was. With --kept, runs go into another file, and those of several may be put together.
"""

import argparse
import sys
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from importlib.metadata import version
from pathlib import Path

from fea.model import modelled
from geometry.amounts import steels_of
from geometry.block import Layout
from geometry.mesher import MeshSizes, meshed
from studies.loads import LoadCase
from studies.past_yield import can_follow, followed_on
from studies.states import CaseState, states_on
from studies.store import numerics, write_whole
from studies.study import Study, read_study
from studies.visible_yield import ADAPTER, KEPT, VisibleRun, VisibleStudy, summary

DEMOS = Path(__file__).parents[2] / "studies" / "demo"
STUDIES = ("trailer_risers", "bench_block")


def main() -> int:
    """Make the runs asked for that are not kept yet."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--elements", default="0.55,0.75")
    parser.add_argument("--study", choices=STUDIES)
    parser.add_argument("--layout")
    parser.add_argument("--fresh", action="store_true")
    parser.add_argument("--estimates", action="store_true")
    parser.add_argument("--kept", type=Path, default=Path(str(KEPT)))
    options = parser.parse_args()
    sizes = MeshSizes(*map(float, options.elements.split(",")))
    for name in (options.study,) if options.study else STUDIES:
        study = read_study(DEMOS / f"{name}.toml")
        for layout in study.layouts:
            if options.layout in (None, layout.name):
                if options.estimates:
                    _estimate(study, layout, sizes, options.kept)
                else:
                    _run(study, layout, sizes, options.fresh, options.kept)
    print(summary(_held(options.kept)))
    return 0


def _run(study: Study, layout: Layout, sizes: MeshSizes, fresh: bool, path: Path) -> None:
    share = (sizes.joint_share, sizes.body_share)
    done = {
        run.load
        for run in _held(path).runs
        if (run.study, run.layout, run.element_share) == (study.title, layout.name, share)
    }
    loads = tuple(
        case for case in study.loads if can_follow(case) and (fresh or case.name not in done)
    )
    for run in runs_of(study.title, layout, loads, sizes):
        print(run, file=sys.stderr, flush=True)
        _keep(run, path)


def _estimate(study: Study, layout: Layout, sizes: MeshSizes, path: Path) -> None:
    """Make the estimates of one layout's runs anew; the loads they are held against stay."""
    share = (sizes.joint_share, sizes.body_share)
    runs = {
        run.load: run
        for run in _held(path).runs
        if (run.study, run.layout, run.element_share) == (study.title, layout.name, share)
    }
    loads = tuple(case for case in study.loads if case.name in runs)
    if not loads:
        return
    mesh = meshed(layout.block, sizes)
    model = modelled(mesh, steels_of(layout.block, mesh))
    for state in states_on(model, layout.block, loads, lambda _: None):
        run = replace(
            runs[state.case.name],
            **_estimates(state),
            estimate_code=numerics("studies.states"),
        )
        print(run, file=sys.stderr, flush=True)
        _keep(run, path)


def _estimates(state: CaseState) -> dict[str, float]:
    case, found = state.case, state.found
    return {
        "starts_n": case.load_n / found.starts.utilisation,
        "shows_n": case.load_n / found.shows.utilisation,
    }


def runs_of(
    title: str, layout: Layout, loads: tuple[LoadCase, ...], sizes: MeshSizes
) -> Iterator[VisibleRun]:
    """Estimates and loads on yielding steel of one layout, all on one mesh."""
    if not loads:
        return
    mesh = meshed(layout.block, sizes)
    model = modelled(mesh, steels_of(layout.block, mesh))
    for state in states_on(model, layout.block, loads, lambda _: None):
        case = state.case
        found = followed_on(model, layout.block, case)
        yield VisibleRun(
            study=title,
            layout=layout.name,
            load=case.name,
            element_share=(sizes.joint_share, sizes.body_share),
            unknowns=model.space.unknowns,
            **_estimates(state),
            begins_n=found.begins.load_n if found.begins else None,
            plain_n=found.plain.load_n if found.plain else None,
            steps=found.effort.steps,
            newton=found.effort.newton,
            linear=found.effort.linear,
            version=version("gussetry"),
            code=numerics("studies.past_yield"),
            when=date.today().isoformat(),
        )


def _held(path: Path) -> VisibleStudy:
    return ADAPTER.validate_json(path.read_bytes()) if path.exists() else VisibleStudy(())


def _keep(run: VisibleRun, path: Path) -> None:
    others = [one for one in _held(path).runs if _key(one) != _key(run)]
    runs = tuple(sorted([*others, run], key=_key))
    write_whole(path, ADAPTER.dump_json(VisibleStudy(runs), indent=1))


def _key(run: VisibleRun) -> tuple[object, ...]:
    return (run.study, run.layout, run.load, run.element_share)


if __name__ == "__main__":
    sys.exit(main())
