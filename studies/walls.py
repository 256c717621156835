"""Whether thin walls of a layout buckle before they yield."""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fea.bearing import pressed_load_n
from fea.buckling import Buckling, buckled
from fea.elasticity import vertex_stress_mpa
from fea.errors import SolveError
from fea.model import Model
from fea.solver import Solution
from geometry.block import Block
from geometry.places import place_in_words
from geometry.skin import UNDERSIDE, UPPERSIDE
from geometry.walls import Wall, walls_of
from studies.bands import BUCKLING_FLOOR, BUCKLING_SPREAD, band
from studies.loads import CrushCase, LoadCase, WrapCase


@dataclass(frozen=True)
class WallBuckling:
    """The load of one case at which perfectly flat walls would buckle, and what moves most then.

    ``error`` is how far, relatively, the load may be from the exact one on this mesh; ``band`` the
    half width of its error band from the mesh, as a share, None where no second mesh
    told one.
    """

    case: str
    load_n: float
    part: str
    place: str
    error: float
    band: float | None = None


@dataclass(frozen=True)
class WallResult:
    """How slender a layout's walls are; buckling loads, a case each, once one is too slender."""

    walls: tuple[Wall, ...]
    buckling: tuple[WallBuckling, ...]

    @property
    def slender(self) -> tuple[Wall, ...]:
        """The walls that may buckle before they yield."""
        return tuple(wall for wall in self.walls if wall.slender)

    def buckling_of(self, case: str) -> WallBuckling | None:
        """The buckling load under the load case of that name, where one was computed."""
        return next((one for one in self.buckling if one.case == case), None)


def wall_result(
    model: Model,
    block: Block,
    solved_cases: tuple[tuple[LoadCase, Solution], ...],
    say: Callable[[str], None],
    coarser: tuple[Model, tuple[Solution, ...]] | None = None,
) -> WallResult:
    """Slenderness of every wall; where one is past its limit, the buckling load of each case.

    ``coarser`` is another mesh and what was solved there of the same cases, for the bands. Raises
    SolveError when a buckling load does not settle; on the coarser mesh that costs its band alone.
    """
    walls = walls_of(block)
    if not any(wall.slender for wall in walls):
        return WallResult(walls, ())
    found = []
    for index, (case, solution) in enumerate(solved_cases):
        what = f"buckling under {case.name}"
        say(what)
        one = _buckling(model, block, case, solution)
        if coarser:
            say(f"{what}, coarser mesh")
            one = _with_band(one, coarser[0], block, case, coarser[1][index])
        found.append(one)
    return WallResult(walls, tuple(found))


def _with_band(
    fine: WallBuckling, coarser: Model, block: Block, case: LoadCase, solution: Solution
) -> WallBuckling:
    try:
        coarse = _buckling(coarser, block, case, solution)
    except SolveError:
        return fine
    return replace(fine, band=buckling_band(coarse.load_n, fine.load_n))


def buckling_band(coarse_n: float, fine_n: float) -> float | None:
    """Half width of a buckling load's band, as a share; None where there is no load to speak of."""
    if not (0.0 < fine_n < math.inf and math.isfinite(coarse_n)):
        return None
    return band(coarse_n, fine_n, BUCKLING_FLOOR, BUCKLING_SPREAD)


def _buckling(model: Model, block: Block, case: LoadCase, solution: Solution) -> WallBuckling:
    load_n = case.load_n
    if isinstance(case, CrushCase):
        load_n = pressed_load_n(solution, model, UPPERSIDE)
    stress = vertex_stress_mpa(model, solution.displacement_mm)
    found = buckled(model, stress, still_while_buckling(model, case, solution))
    part, point_mm = _moves_most(model, found)
    return WallBuckling(
        case=case.name,
        load_n=on_top_of_clamp_n(case, load_n, found.factor),
        part=part,
        place=place_in_words(block, part, np.array(point_mm)),
        error=found.error,
    )


def on_top_of_clamp_n(case: LoadCase, load_n: float, factor: float) -> float:
    """The load at buckling, a clamp that stays as it is being taken off.

    The factor grows clamp and load together. Off the middle the load does more harm a newton than
    the clamp, so the lower of the two readings is on the careful side.
    """
    clamp_n = case.clamp_n if isinstance(case, WrapCase) else 0.0
    return max(min(load_n * factor, (clamp_n + load_n) * factor - clamp_n), 0.0)


def still_while_buckling(model: Model, case: LoadCase, solution: Solution) -> NDArray[np.bool_]:
    """(N, 3) what keeps still while walls buckle.

    Platens hold both faces. Under a seat, the underside stays on what it rests on, and the seat
    above is not counted as steadying the top plate: the careful side.
    """
    if isinstance(case, CrushCase):
        return solution.problem.held
    still = np.zeros_like(solution.problem.held)
    still[model.space.skin_nodes[model.mesh.facets_of(UNDERSIDE)]] = True
    return still


def _moves_most(model: Model, found: Buckling) -> tuple[str, tuple[float, float, float]]:
    node = int(np.argmax(np.linalg.norm(found.shape_mm, axis=1)))
    tet = int(np.argmax((model.space.tet_nodes == node).any(axis=1)))
    x, y, z = (float(c) for c in model.space.nodes_mm[node])
    return model.mesh.parts[model.mesh.part_of_tet[tet]].name, (x, y, z)
