"""One layout from block to numbers: mesh, assemble once, solve every load, judge each."""

import time
from dataclasses import replace
from pathlib import Path

from fea.model import Model
from geometry.amounts import mass_kg
from geometry.block import Block, Layout
from geometry.joints import Joints, joints_of
from geometry.mesher import SETTINGS, Setting
from geometry.welds import weld_lengths_mm
from studies.bands import Bands
from studies.fields import write_field
from studies.hand import hand_checks
from studies.loads import LoadCase
from studies.refining import refined
from studies.results import CaseResult, LayoutResult
from studies.states import CaseState, Progress
from studies.stiff_seats import stiff_on_both
from studies.study import slug
from studies.walls import wall_result
from studies.yield_point import yield_point


def layout_result(
    layout: Layout,
    loads: tuple[LoadCase, ...],
    setting: Setting,
    folder: Path | None,
    file_stem: str,
    say: Progress,
    meshes: Path | None = None,
    accuracy: float | None = None,
) -> LayoutResult:
    """Compute one layout under all loads and write its fields into ``folder``, if there is one.

    A mesh of the same block is taken from the folder ``meshes``, or kept there for the next time.
    The mesh is refined where it matters until every first-yield load is known to within the share
    ``accuracy``, if one is asked for, or until that costs too much.
    Raises MeshError or SolveError when the block cannot be meshed or a solution fails its checks.
    """
    began = time.perf_counter()
    block = layout.block
    run = refined(block, loads, SETTINGS[setting], meshes, accuracy, say)
    model = run.model
    joints = joints_of(block, model)
    cases = []
    for state, bands in zip(run.states, run.bands, strict=True):
        field_file = f"{file_stem}--{slug(state.case.name)}.vtu" if folder else ""
        if folder:
            share = state.case.demanded_n / state.case.load_n
            write_field(folder / field_file, model, state.moved_mm, state.stress_mpa, share)
        cases.append(_case_result(run.model, block, joints, state, bands, field_file))
    stiff = stiff_on_both(model, run.coarser, block, loads, folder, file_stem, say)
    cases = [replace(case, stiff=found) for case, found in zip(cases, stiff, strict=True)]
    by_case = tuple((state.case, state.proportional) for state in run.states)
    coarser = run.coarser, tuple(state.proportional for state in run.coarser_states)
    return LayoutResult(
        name=layout.name,
        slug=file_stem,
        pattern=layout.pattern,
        sentence=layout.sentence,
        baseline=layout.baseline,
        mass_kg=mass_kg(model.mesh, model.steels),
        weld_length_mm=sum(weld_lengths_mm(block).values()),
        unknowns=model.space.unknowns,
        parts=tuple(part.name for part in model.mesh.parts),
        cases=tuple(cases),
        walls=wall_result(model, block, by_case, say, coarser),
        weld_plan=joints.plan,
        seconds=time.perf_counter() - began,
    )


def _case_result(
    model: Model, block: Block, joints: Joints, state: CaseState, bands: Bands, field_file: str
) -> CaseResult:
    case, found = state.case, state.found
    starts = yield_point(block, case, found.starts)
    share = case.demanded_n / case.load_n
    return CaseResult(
        case=case,
        starts=starts,
        shows=yield_point(block, case, found.shows),
        raw_peak_mpa=found.raw_peak_mpa,
        stiffness_n_per_mm=state.stiffness_n_per_mm,
        bands=bands,
        lift_offset_mm=state.lift_offset_mm,
        residual=state.solution.residual,
        iterations=state.solution.iterations,
        field_file=field_file,
        weld_loads=joints.loads(model, state.stress_mpa, case.name, state.applied_n, share),
        by_hand=hand_checks(block, case, starts.load_n, state.stiffness_n_per_mm),
        clamp=state.clamp,
    )
