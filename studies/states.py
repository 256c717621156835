"""All loads of a layout on one mesh: solved together, each judged."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import islice

import numpy as np
from numpy.typing import NDArray

from fea.bearing import (
    lift_offset_mm,
    platen_crush,
    pressed_load_n,
    seat_on,
    seated,
)
from fea.elasticity import vertex_stress_mpa
from fea.mesh import Floats
from fea.model import Model
from fea.preload import Clamped, load_columns
from fea.redistribution import Shown, showing_at, shown
from fea.solver import RESIDUAL_GOAL, Problem, Solution, scaled_to
from fea.solving import solved
from fea.yielding import Strength, strength
from geometry.block import Block
from geometry.skin import UNDERSIDE, UPPERSIDE, unpressed
from geometry.visible import visible_skin
from studies.clamping.solving import (
    ClampAlone,
    alone_finding,
    clamp_problem,
    clamp_solved,
    clamped_outcome,
    clamped_wrap,
    with_clamp,
)
from studies.clamping.u_bolts import ClampFinding
from studies.loads import ClampCase, CrushCase, LoadCase, PadCase, WrapCase
from studies.seating import pin_opening, top_seat

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


@dataclass(frozen=True, eq=False)
class CaseState:
    """A block under one load, at the case's load: movement, stress, and where yield comes first.

    moved_mm (N, 3) and stress_mpa (m, 4, 6) are those to be shown, applied_n (N, 3) what acts on
    the block then. proportional is the solution from which buckling is told. shown says how
    far from where the elastic stress alone expects it yielding shows; None where that stands.
    """

    case: LoadCase
    solution: Solution
    found: Strength
    moved_mm: Floats
    stress_mpa: Floats
    applied_n: Floats
    proportional: Solution
    stiffness_n_per_mm: float
    lift_offset_mm: float | None
    clamp: ClampFinding | None
    shown: Shown | None = None


def states_on(
    model: Model,
    block: Block,
    loads: tuple[LoadCase, ...],
    say: Progress,
    goal: float = RESIDUAL_GOAL,
    shown_before: tuple[Shown | None, ...] | None = None,
) -> tuple[CaseState, ...]:
    """Solve, to the residual ``goal``, and judge all loads on one model.

    shown_before is what another mesh said of when each shows; without it this one is asked.
    Raises SolveError when one fails its checks.
    """
    loaded = tuple(_loaded(model, block, case) for case in loads)
    say("solving")
    problems = tuple(problem for one in loaded for problem in one.problems)
    every = iter(solved(model, problems, goal))
    solutions = [tuple(islice(every, len(one.problems))) for one in loaded]
    clamped = tuple(one.clamped for one in loaded)
    seen = visible_skin(block, model.mesh)
    alone = clamp_solved(model, loads, clamped, tuple(solutions), seen)
    states = []
    for one, own in zip(loaded, solutions, strict=True):
        say(f"judging {one.case.name}")
        states.append(_judged(model, one, own, alone, seen))
    if shown_before is None:
        shown_before = _shown(model, states, seen)
    return tuple(
        replace(state, found=showing_at(model, state.found, one), shown=one) if one else state
        for state, one in zip(states, shown_before, strict=True)
    )


def _shown(
    model: Model, states: list[CaseState], seen: NDArray[np.bool_]
) -> tuple[Shown | None, ...]:
    """Where each load shows; None for those on a clamp, or that show nowhere near the guess."""
    growing = [index for index, state in enumerate(states) if state.clamp is None]
    solutions = [states[index].solution for index in growing]
    expected = [1.0 / states[index].found.shows.utilisation for index in growing]
    found = dict(zip(growing, shown(model, solutions, expected, seen), strict=True))
    return tuple(found.get(index) for index in range(len(states)))


def problems_of(model: Model, block: Block, case: LoadCase) -> tuple[Problem, ...]:
    """What the solver is given for a load case."""
    return _loaded(model, block, case).problems


def _loaded(model: Model, block: Block, case: LoadCase) -> _Loaded:
    if isinstance(case, CrushCase):
        problem = platen_crush(model, case.name, UNDERSIDE, UPPERSIDE, case.friction)
        return _Loaded(case, (problem,))
    if isinstance(case, ClampCase):
        return _Loaded(case, (clamp_problem(model, block, case),))
    if isinstance(case, WrapCase) and case.clamp_n:
        clamped = clamped_wrap(model, block, case)
        return _Loaded(case, load_columns(clamped), clamped=clamped)
    below = seat_on(model, UNDERSIDE, opening=pin_opening(block, case.pin_hole_mm))
    if isinstance(case, PadCase):
        pad = seat_on(model, UPPERSIDE, top_seat(block, case.size_mm, case.centre_mm)[0])
        problem = seated(model, case.name, pad, below, case.load_n, pad.centroid_mm, np.zeros(2))
        return _Loaded(case, (problem,))
    patch, middle = top_seat(block, case.seat_size_mm)
    above = seat_on(model, UPPERSIDE, patch)
    offset = np.array(case.offset_mm)
    shear = np.array(case.shear_n)
    problem = seated(model, case.name, above, below, case.load_n, middle + offset, shear)
    size_mm = float(np.hypot(*offset))
    lift_mm = lift_offset_mm(above, offset / size_mm) if size_mm > 0.0 else None
    return _Loaded(case, (problem,), lift_mm)


def _judged(
    model: Model,
    one: _Loaded,
    solutions: tuple[Solution, ...],
    alone: ClampAlone | None,
    seen: NDArray[np.bool_],
) -> CaseState:
    case, solution = one.case, solutions[0]
    if isinstance(case, CrushCase):
        solution = scaled_to(solution, case.load_n / pressed_load_n(solution, model, UPPERSIDE))
    moved_mm, clamp = solution.displacement_mm, None
    applied_n = solution.problem.force_n + solution.reaction_n
    if isinstance(case, WrapCase) and one.clamped is not None and alone:
        outcome = clamped_outcome(case, one.clamped, solutions, alone, seen)
        found, clamp = outcome.strength, outcome.finding
        # A field is kept for the load solved for and shown at the one demanded.
        moved_mm = outcome.demanded_mm / case.demand_multiple
        whole = one.clamped.problem_at(case.demand_multiple)
        applied_n = whole.force_n / case.demand_multiple
    elif isinstance(case, ClampCase) and alone:
        found, clamp = alone.strength, alone_finding(case, alone)
    stress = vertex_stress_mpa(model, moved_mm)
    if clamp is None:
        even = solution.even_axes
        found = strength(model, stress, unpressed(model.mesh), seen, even_axes=even)
    return CaseState(
        case=case,
        solution=solution,
        found=found,
        moved_mm=moved_mm,
        stress_mpa=stress,
        applied_n=applied_n,
        proportional=with_clamp(one.clamped, solutions, alone),
        stiffness_n_per_mm=case.load_n / _approach_mm(model, case, solution),
        lift_offset_mm=one.lift_offset_mm,
        clamp=clamp,
    )


def _approach_mm(model: Model, case: LoadCase, solution: Solution) -> float:
    """How far the top face comes down on the bottom one, between platens as they move.

    Between soft seats what is pressed on comes down, weighed by pressure: the work done over the
    load. (A load off the middle may lift the rest of a plate by more than it goes down itself.)
    """
    if not isinstance(case, CrushCase):
        forces_n = solution.problem.force_n
        return float(np.vdot(forces_n, solution.displacement_mm)) / case.load_n
    down = []
    for name in (UNDERSIDE, UPPERSIDE):
        nodes = np.unique(model.space.skin_nodes[model.mesh.facets_of(name)])
        down.append(float(solution.displacement_mm[nodes, 2].mean()))
    return down[0] - down[1]
