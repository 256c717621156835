"""Time our solver beside NGSolve on the same meshes, and write the table in Markdown.

    python tests/benchmarks/solver.py [--sizes 80,330,1000] [--out FILE.md]

Three load cases (the upper seat moved along x, y and z, both seats held) on one demo layout, at
about the given thousands of unknowns, each library on two threads. NGSolve is given its sparse
Cholesky (up to 400,000 unknowns), its conjugate gradients with the local preconditioner, and with
BDDC, all to a residual of 1e-9. The run fails when movements differ by more than 1e-7.
"""

import argparse
import resource
import sys
import time
from importlib.metadata import version
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "helpers"))

import ngsolve as ngs
import numba
import numpy as np
from blocks import patterned
from reference import Reference, reference_mesh

from fea.elasticity import vertex_stress_mpa
from fea.model import Model, modelled
from fea.solver import Problem, solved
from geometry.amounts import steels_of
from geometry.mesher import SETTINGS, meshed
from geometry.skin import UNDERSIDE, UPPERSIDE

THREADS = 2
TRAVELS_MM = ((0.01, 0.0, 0.0), (0.0, 0.01, 0.0), (0.0, 0.0, -0.01))
CHOLESKY_LIMIT = 400_000
AGREEMENT = 1e-7
GOAL = 1e-9
"""Residual asked of both: at 1e-8 movements would differ by more than AGREEMENT."""

UNKNOWNS_AT_NORMAL = 480_000


def main() -> int:
    """Run all sizes and write the table; 1 when the two libraries disagree."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--sizes", default="80,330,1000")
    parser.add_argument("--out", type=Path)
    options = parser.parse_args()
    numba.set_num_threads(THREADS)
    ngs.SetNumThreads(THREADS)
    _warm_up()
    rows = [_measured(1000 * int(size)) for size in options.sizes.split(",")]
    text = _table(rows)
    print(text)
    if options.out:
        options.out.write_text(text, encoding="utf-8")
    return 1 if max(row["apart"] for row in rows) > AGREEMENT else 0


def _warm_up() -> None:
    """Compile or load every kernel before anything is timed."""
    model = _model(20_000)[0]
    for solution in solved(model, _problems(model)):
        vertex_stress_mpa(model, solution.displacement_mm)


def _model(unknowns: int) -> tuple[Model, float, float]:
    """Corner diagonals, fused, near ``unknowns``; then seconds of meshing and of set-up."""
    block = patterned("corner-diagonal", leg_mm=0.0)
    factor = (unknowns / UNKNOWNS_AT_NORMAL) ** (1 / 3)
    began = time.perf_counter()
    mesh = meshed(block, SETTINGS["normal"].refined(factor))
    made = time.perf_counter()
    model = modelled(mesh, steels_of(block, mesh))
    return model, made - began, time.perf_counter() - made


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


def _measured(size: int) -> dict[str, float]:
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
    row = {
        "unknowns": float(model.space.unknowns),
        "mesh": mesh_s,
        "ours": setup_s + solve_s,
        "setup": setup_s,
        "solve": solve_s,
        "stress": stress_s,
        "rounds": float(max(solution.iterations for solution in solutions)),
        "peak": peak_gb,
        "apart": 0.0,
    }
    grid = reference_mesh(model.mesh)
    for method in ("cholesky", "local", "bddc"):
        if method == "cholesky" and row["unknowns"] > CHOLESKY_LIMIT:
            row[method] = float("nan")
            continue
        began = time.perf_counter()
        moved, row["assembly " + method] = _reference_moved(model, grid, method)
        row[method] = time.perf_counter() - began
        for solution, theirs in zip(solutions, moved, strict=True):
            ours = solution.displacement_mm[model.space.vertex_node]
            apart = float(np.abs(ours - theirs).max() / np.abs(theirs).max())
            row["apart"] = max(row["apart"], apart)
    return row


def _reference_moved(model: Model, grid: object, method: str) -> tuple[list[np.ndarray], float]:
    """Movement of the vertices under the three travels, and seconds of assembly."""
    with ngs.TaskManager():
        reference = Reference(grid, model.steels[0].lame_mpa)
        began = time.perf_counter()
        made = reference.assembled(None if method == "cholesky" else method)
        assembly_s = time.perf_counter() - began
        if method == "cholesky":
            inverse = reference.form.mat.Inverse(
                reference.space.FreeDofs(), inverse="sparsecholesky"
            )
        else:
            inverse = ngs.CGSolver(reference.form.mat, made.mat, tol=GOAL, maxiter=5000)
        moved = [reference.moved(inverse, travel)[0] for travel in TRAVELS_MM]
    return moved, assembly_s


def _table(rows: list[dict[str, float]]) -> str:
    packages = ", ".join(
        f"{name} {version(name)}" for name in ("numpy", "scipy", "numba", "ngsolve")
    )
    head = (
        "| unknowns | mesh s | ours: assembly + set-up s | three loads s | rounds | stress s | "
        "peak GB | NGSolve Cholesky s | local CG s | BDDC s | best of theirs / ours | apart |"
    )
    out = [f"{THREADS} threads; {packages}; seconds of assembly + set-up + three loads.", "", head]
    out.append("|" + "---|" * 12)
    for row in rows:
        best = np.nanmin([row[name] for name in ("cholesky", "local", "bddc")])
        out.append(
            f"| {row['unknowns']:,.0f} | {row['mesh']:.1f} | {row['setup']:.2f} | "
            f"{row['solve']:.2f} | {row['rounds']:.0f} | {row['stress']:.2f} | {row['peak']:.1f} | "
            f"{row['cholesky']:.1f} | {row['local']:.1f} | {row['bddc']:.1f} | "
            f"{best / row['ours']:.1f} | {row['apart']:.0e} |"
        )
    if len(rows) > 1:
        first, last = rows[0], rows[-1]
        growth = np.log(last["ours"] / first["ours"]) / np.log(last["unknowns"] / first["unknowns"])
        out += ["", f"Ours grows as unknowns to the power {growth:.2f}."]
    return "\n".join(out) + "\n"


if __name__ == "__main__":
    sys.exit(main())
