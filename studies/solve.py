"""One layout from block to numbers: mesh, assemble once, solve every load, judge each."""

import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import islice
from pathlib import Path

import numpy as np

from fea.bearing import (
    Patch,
    lift_offset_mm,
    platen_crush,
    pressed_load_n,
    scaled_to,
    seat_on,
    seated,
)
from fea.elasticity import vertex_stress_mpa
from fea.mesh import Floats
from fea.model import Model, modelled
from fea.preload import Clamped, load_columns
from fea.solver import Problem, Solution, solved
from fea.yielding import strength
from geometry.amounts import mass_kg, steels_of
from geometry.block import Block, Layout
from geometry.joints import Joints, joints_of
from geometry.mesher import SETTINGS, Setting
from geometry.skin import UNDERSIDE, UPPERSIDE
from geometry.welds import weld_lengths_mm
from studies.clamping.solving import (
    ClampAlone,
    alone_finding,
    clamp_problem,
    clamp_solved,
    clamped_outcome,
    clamped_wrap,
    with_clamp,
)
from studies.fields import write_field
from studies.hand import hand_checks
from studies.loads import ClampCase, CrushCase, LoadCase, PadCase, WrapCase
from studies.mesh_store import stored_mesh
from studies.results import CaseResult, LayoutResult
from studies.stiff_seats import stiff_seats
from studies.study import slug
from studies.walls import wall_result
from studies.yield_point import yield_point

Progress = Callable[[str], None]


@dataclass(frozen=True)
class _Loaded:
    """A load case as the solver takes it, and the offset at which its seat starts to lift.

    A load on the clamped block may need more than one problem solved.
    """

    case: LoadCase
    problems: tuple[Problem, ...]
    lift_offset_mm: float | None = None
    clamped: Clamped | None = None


def layout_result(
    layout: Layout,
    loads: tuple[LoadCase, ...],
    setting: Setting,
    folder: Path | None,
    file_stem: str,
    say: Progress,
    meshes: Path | None = None,
) -> LayoutResult:
    """Compute one layout under all loads and write its fields into ``folder``, if there is one.

    A mesh of the same block is taken from the folder ``meshes``, or kept there for the next time.
    Raises MeshError or SolveError when the block cannot be meshed or a solution fails its checks.
    """
    began = time.perf_counter()
    block = layout.block
    say("meshing")
    mesh = stored_mesh(block, SETTINGS[setting], meshes)
    say("assembling")
    model = modelled(mesh, steels_of(block, mesh))
    joints = joints_of(block, model)
    loaded = tuple(_loaded(model, block, case) for case in loads)
    say("solving")
    every = iter(solved(model, tuple(problem for one in loaded for problem in one.problems)))
    solutions = [tuple(islice(every, len(one.problems))) for one in loaded]
    clamped = tuple(one.clamped for one in loaded)
    alone = clamp_solved(model, loads, clamped, tuple(solutions))
    cases = []
    for one, own in zip(loaded, solutions, strict=True):
        say(f"judging {one.case.name}")
        cases.append(_judged(model, block, joints, one, own, alone, folder, file_stem))
    stiff = stiff_seats(model, block, loads, folder, file_stem, say)
    cases = [replace(case, stiff=run) for case, run in zip(cases, stiff, strict=True)]
    states = (with_clamp(one, own, alone) for one, own in zip(clamped, solutions, strict=True))
    walls = wall_result(model, block, tuple(zip(loads, states, strict=True)), say)
    return LayoutResult(
        name=layout.name,
        slug=file_stem,
        pattern=layout.pattern,
        sentence=layout.sentence,
        baseline=layout.baseline,
        mass_kg=mass_kg(mesh, model.steels),
        weld_length_mm=sum(weld_lengths_mm(block).values()),
        unknowns=model.space.unknowns,
        parts=tuple(part.name for part in mesh.parts),
        cases=tuple(cases),
        walls=walls,
        weld_plan=joints.plan,
        seconds=time.perf_counter() - began,
    )


def _loaded(model: Model, block: Block, case: LoadCase) -> _Loaded:
    if isinstance(case, CrushCase):
        problem = platen_crush(model, case.name, UNDERSIDE, UPPERSIDE, case.friction)
        return _Loaded(case, (problem,))
    if isinstance(case, ClampCase):
        return _Loaded(case, (clamp_problem(model, block, case),))
    if isinstance(case, WrapCase) and case.clamp_n:
        clamped = clamped_wrap(model, block, case)
        return _Loaded(case, load_columns(clamped), clamped=clamped)
    below = seat_on(model, UNDERSIDE)
    middle = np.array(block.top.centre_mm)
    if isinstance(case, PadCase):
        centre = middle + np.array(case.centre_mm)
        pad = seat_on(model, UPPERSIDE, Patch(case.size_mm, (float(centre[0]), float(centre[1]))))
        problem = seated(model, case.name, pad, below, case.load_n, pad.centroid_mm, np.zeros(2))
        return _Loaded(case, (problem,))
    patch = Patch(case.seat_size_mm, block.top.centre_mm) if case.seat_size_mm else None
    above = seat_on(model, UPPERSIDE, patch)
    offset = np.array(case.offset_mm)
    shear = np.array(case.shear_n)
    problem = seated(model, case.name, above, below, case.load_n, middle + offset, shear)
    size_mm = float(np.hypot(*offset))
    lift_mm = lift_offset_mm(above, offset / size_mm) if size_mm > 0.0 else None
    return _Loaded(case, (problem,), lift_mm)


def _judged(
    model: Model,
    block: Block,
    joints: Joints,
    one: _Loaded,
    solutions: tuple[Solution, ...],
    alone: ClampAlone | None,
    folder: Path | None,
    file_stem: str,
) -> CaseResult:
    case, solution = one.case, solutions[0]
    if isinstance(case, CrushCase):
        solution = scaled_to(solution, case.load_n / pressed_load_n(solution, model, UPPERSIDE))
    moved_mm, clamp = solution.displacement_mm, None
    applied_n = solution.problem.force_n + solution.reaction_n
    if isinstance(case, WrapCase) and one.clamped is not None and alone:
        outcome = clamped_outcome(case, one.clamped, solutions, alone)
        found, clamp = outcome.strength, outcome.finding
        # A field is kept for the load solved for and shown at the one demanded.
        moved_mm = outcome.demanded_mm / case.demand_multiple
        whole = one.clamped.problem_at(case.demand_multiple)
        applied_n = whole.force_n / case.demand_multiple
    elif isinstance(case, ClampCase) and alone:
        found, clamp = alone.strength, alone_finding(case, alone)
    stress = vertex_stress_mpa(model, moved_mm)
    if clamp is None:
        found = strength(model, stress)
    field_file = f"{file_stem}--{slug(case.name)}.vtu" if folder else ""
    if folder:
        write_field(folder / field_file, model, moved_mm, stress, case.demanded_n / case.load_n)
    starts = yield_point(block, case, found.starts)
    stiffness = case.load_n / _approach_mm(model, solution.displacement_mm)
    return CaseResult(
        case=case,
        starts=starts,
        shows=yield_point(block, case, found.shows),
        raw_peak_mpa=found.raw_peak_mpa,
        stiffness_n_per_mm=stiffness,
        lift_offset_mm=one.lift_offset_mm,
        residual=solution.residual,
        iterations=solution.iterations,
        field_file=field_file,
        weld_loads=joints.loads(model, stress, case.name, applied_n, case.demanded_n / case.load_n),
        by_hand=hand_checks(block, case, starts.load_n, stiffness),
        clamp=clamp,
    )


def _approach_mm(model: Model, displacement_mm: Floats) -> float:
    """How far the top face comes down on the bottom one, each by its mean over the area."""
    means = []
    for name in (UNDERSIDE, UPPERSIDE):
        facets = model.mesh.facets_of(name)
        area = model.mesh.facet_areas_mm2[facets]
        # On a quadratic triangle the mean is that of the three mid-edge nodes.
        middle = displacement_mm[model.space.skin_nodes[facets][:, 3:], 2].mean(axis=1)
        means.append(float(area @ middle / area.sum()))
    return means[0] - means[1]
