"""Time our solver beside NGSolve on the same meshes, and write the table in Markdown.

    python tests/benchmarks/solver.py [--sizes 80,330,1000] [--limit SECONDS] [--out FILE.md]

Three load cases (the upper seat moved along x, y and z, both seats held) on one demo layout, at
about the given thousands of unknowns, each library on two threads. NGSolve is given its sparse
Cholesky (up to 400,000 unknowns), its conjugate gradients with the local preconditioner, and with
BDDC, all to a residual of 5e-10, each in a process of its own that is ended after the limit. Both
libraries are given the whole mesh; a column more has what is left of ours when the block's mirrors
are made use of. The run fails when movements differ by more than 1e-7.
"""

import argparse
import multiprocessing
import resource
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from importlib.metadata import version
from multiprocessing.connection import Connection
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "helpers"))

import ngsolve as ngs
import numba
import numpy as np
from blocks import patterned
from reference import Reference, reference_mesh

from fea.assembly import assembled, quadratic_products
from fea.elasticity import vertex_stress_mpa
from fea.mesh import Floats, TaggedMesh
from fea.model import Model, modelled
from fea.solver import Problem
from fea.solving import made_ready, solved
from geometry.amounts import steels_of
from geometry.mesher import SETTINGS, meshed
from geometry.skin import UNDERSIDE, UPPERSIDE

THREADS = 2
TRAVELS_MM = ((0.01, 0.0, 0.0), (0.0, 0.01, 0.0), (0.0, 0.0, -0.01))
CHOLESKY_LIMIT = 400_000
AGREEMENT = 1e-7
GOAL = 5e-10
"""Residual asked of both: at 1e-8 movements would differ by more than AGREEMENT."""

_TRIES = 4
_NEAR_ENOUGH = 0.05
_NODES_PER_VERTEX = 6.7
_UNKNOWNS_OF_NORMAL = 384_000


def main() -> int:
    """Run all sizes and write the table; 1 when the two libraries disagree."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--sizes", default="80,330,1000")
    parser.add_argument("--limit", type=float, default=1800.0)
    parser.add_argument("--out", type=Path)
    options = parser.parse_args()
    numba.set_num_threads(THREADS)
    ngs.SetNumThreads(THREADS)
    _warm_up()
    # All of ours first, so that the other library's memory does not count as ours.
    every = [_measured(1000 * int(size)) for size in options.sizes.split(",")]
    rows = [_compared(ours, options.limit) for ours in every]
    text = _table(rows)
    print(text)
    if options.out:
        options.out.write_text(text, encoding="utf-8")
    return 1 if any(row["apart"] > AGREEMENT for row in rows) else 0


def _warm_up() -> None:
    """Compile or load every kernel before anything is timed."""
    model = _model(20_000)[0]
    for solution in solved(model, _problems(model)):
        vertex_stress_mpa(model, solution.displacement_mm)


def _model(unknowns: int) -> tuple[Model, float, float]:
    """Corner diagonals, fused, near ``unknowns``; then seconds of meshing and of set-up.

    The model knows nothing of its mirrors.
    """
    block = patterned("corner-diagonal", leg_mm=0.0)
    factor = (unknowns / _UNKNOWNS_OF_NORMAL) ** (1 / 3)
    for _ in range(_TRIES):
        began = time.perf_counter()
        mesh = meshed(block, SETTINGS["normal"].refined(factor))
        meshing_s = time.perf_counter() - began
        # A quadratic node at each vertex and on each edge.
        near = 3 * _NODES_PER_VERTEX * len(mesh.points_mm)
        if abs(near / unknowns - 1.0) < _NEAR_ENOUGH:
            break
        factor *= (unknowns / near) ** (1 / 3)
    began = time.perf_counter()
    model = modelled(replace(mesh, mirror_axes=()), steels_of(block, mesh))
    made_ready(model)
    return model, meshing_s, time.perf_counter() - began


def _by_mirrors(model: Model, problems: tuple[Problem, ...]) -> tuple[float, tuple[Floats, ...]]:
    """Seconds of set-up and all loads on the quarter that repeats, and the vertices' movements."""
    began = time.perf_counter()
    mirrored = modelled(replace(model.mesh, mirror_axes=(0, 1)), model.steels)
    solutions = solved(mirrored, problems, goal=GOAL)
    seconds = time.perf_counter() - began
    return seconds, tuple(one.displacement_mm[model.space.vertex_node] for one in solutions)


def _problems(model: Model) -> tuple[Problem, ...]:
    nodes = model.space.nodes_mm
    below, above = (
        np.unique(model.space.skin_nodes[model.mesh.facets_of(name)])
        for name in (UNDERSIDE, UPPERSIDE)
    )
    held = np.zeros(nodes.shape, dtype=bool)
    held[below] = held[above] = True
    made = []
    for travel in TRAVELS_MM:
        moved = np.zeros_like(nodes)
        moved[above] = travel
        made.append(Problem(f"moved by {travel}", held, moved, np.zeros_like(nodes)))
    return tuple(made)


@dataclass(frozen=True)
class Ours:
    """What we measured of ourselves on one mesh, and the vertices' movement under each load."""

    row: dict[str, float]
    model: Model
    moved: tuple[np.ndarray, ...]


def _measured(size: int) -> Ours:
    model, mesh_s, setup_s = _model(size)
    problems = _problems(model)
    began = time.perf_counter()
    solutions = solved(model, problems, goal=GOAL)
    solve_s = time.perf_counter() - began
    began = time.perf_counter()
    for solution in solutions:
        vertex_stress_mpa(model, solution.displacement_mm)
    stress_s = time.perf_counter() - began
    peak_gb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6
    mirrors_s, mirrored = _by_mirrors(model, problems)
    alone_s = [_seconds(partial(solved, model, (problem,), GOAL)) for problem in problems]
    row = {
        "unknowns": float(model.space.unknowns),
        "mesh": mesh_s,
        "ours": setup_s + solve_s,
        "mirrors": mirrors_s,
        "setup": setup_s,
        "solve": solve_s,
        "assembly": _seconds(partial(_assembled, model)),
        "alone": float(np.mean(alone_s)),
        "stress": stress_s,
        "rounds": float(max(solution.iterations for solution in solutions)),
        "peak": peak_gb,
    }
    moved = tuple(one.displacement_mm[model.space.vertex_node] for one in solutions)
    row["apart"] = max(map(_apart, mirrored, moved))
    print({key: round(value, 2) for key, value in row.items()}, file=sys.stderr, flush=True)
    return Ours(row, model, moved)


def _compared(ours: Ours, limit_s: float) -> dict[str, float]:
    """The row with the other library's times on the same mesh, and how far apart the two end.

    A time past ``limit_s`` is infinite; a setting that was not tried is not a number.
    """
    row = {**ours.row, "limit": limit_s}
    for method in ("assembly", "cholesky", "local", "bddc"):
        if method == "cholesky" and row["unknowns"] > CHOLESKY_LIMIT:
            row[method] = float("nan")
            continue
        seconds, theirs = _within(limit_s, ours.model, method)
        row["their assembly" if method == "assembly" else method] = seconds
        print(f"{row['unknowns']:,.0f} {method}: {seconds:.1f} s", file=sys.stderr, flush=True)
        for mine, other in zip(ours.moved, theirs, strict=False):
            row["apart"] = max(row["apart"], _apart(mine, other))
    return row


def _apart(one: Floats, other: Floats) -> float:
    return float(np.abs(one - other).max() / np.abs(other).max())


def _within(limit_s: float, model: Model, method: str) -> tuple[float, list[np.ndarray]]:
    """``_theirs`` in a process of its own; infinity and nothing when it takes longer."""
    spawn = multiprocessing.get_context("spawn")
    here, there = spawn.Pipe(duplex=False)
    child = spawn.Process(
        target=_theirs, args=(there, model.mesh, model.steels[0].lame_mpa, method)
    )
    child.start()
    there.close()
    try:
        here.recv()
        seconds, moved = here.recv() if here.poll(limit_s) else (float("inf"), [])
    finally:
        child.kill()
        child.join()
    return float(seconds), moved


def _theirs(
    there: Connection, mesh: TaggedMesh, lame_mpa: tuple[float, float], method: str
) -> None:
    """Send word once the mesh is ready; then the seconds and the vertices' movements."""
    ngs.SetNumThreads(THREADS)
    grid = reference_mesh(mesh)
    with ngs.TaskManager():
        Reference(grid, lame_mpa)
        there.send(None)
        began = time.perf_counter()
        moved = _reference_moved(grid, lame_mpa, method)
        there.send((time.perf_counter() - began, moved))


def _seconds(work: Callable[[], object]) -> float:
    began = time.perf_counter()
    work()
    return time.perf_counter() - began


def _assembled(model: Model) -> object:
    """The quadratic stiffness once more, alone."""
    space, mesh = model.space, model.mesh
    return assembled(
        space.tet_nodes,
        len(space.nodes_mm),
        model.gradients,
        mesh.tet_volumes_mm3,
        model.lame_mpa,
        quadratic_products(),
    )


def _reference_moved(grid: object, lame_mpa: tuple[float, float], method: str) -> list[np.ndarray]:
    """Movement of the vertices under the three travels, assembled and solved by ``method``."""
    reference = Reference(grid, lame_mpa)
    made = reference.assembled(None if method in ("assembly", "cholesky") else method)
    if method == "assembly":
        return []
    if method == "cholesky":
        free = reference.space.FreeDofs()
        inverse = reference.form.mat.Inverse(free, inverse="sparsecholesky")
    else:
        inverse = ngs.CGSolver(reference.form.mat, made.mat, tol=GOAL, maxiter=5000)
    return [reference.moved(inverse, travel)[0] for travel in TRAVELS_MM]


def _table(rows: list[dict[str, float]]) -> str:
    packages = ", ".join(
        f"{name} {version(name)}" for name in ("numpy", "scipy", "numba", "ngsolve")
    )
    head = (
        "| unknowns | mesh s | assembly s | NGSolve's s | assembly + set-up s | three loads s | "
        "one load alone s | by mirrors s | rounds | stress s | peak GB | NGSolve Cholesky s "
        "| local CG s | BDDC s | best of theirs / ours | apart |"
    )
    out = [f"{THREADS} threads; {packages}; seconds of assembly + set-up + three loads.", "", head]
    out.append("|" + "---|" * 16)
    for row in rows:
        theirs = {name: row[name] for name in ("cholesky", "local", "bddc")}
        best = np.nanmin(list(theirs.values()))
        cholesky, local, bddc = (_shown(seconds, row["limit"]) for seconds in theirs.values())
        ratio = _shown(best / row["ours"], row["limit"] / row["ours"])
        out.append(
            f"| {row['unknowns']:,.0f} | {row['mesh']:.1f} | {row['assembly']:.2f} | "
            f"{row['their assembly']:.2f} | {row['setup']:.2f} | "
            f"{row['solve']:.2f} | {row['alone']:.2f} | {row['mirrors']:.2f} | "
            f"{row['rounds']:.0f} | {row['stress']:.2f} | {row['peak']:.1f} | "
            f"{cholesky} | {local} | {bddc} | {ratio} | {row['apart']:.0e} |"
        )
    if len(rows) > 1:
        first, last = rows[0], rows[-1]
        growth = np.log(last["ours"] / first["ours"]) / np.log(last["unknowns"] / first["unknowns"])
        out += ["", f"Ours grows as unknowns to the power {growth:.2f}."]
    return "\n".join(out) + "\n"


def _shown(value: float, limit: float) -> str:
    return (
        "not tried" if np.isnan(value) else f"> {limit:.1f}" if np.isinf(value) else f"{value:.1f}"
    )


if __name__ == "__main__":
    sys.exit(main())
