"""One load between stiff seats that only push: what is solved, and what came of it."""

from pathlib import Path

import numpy as np

from fea.bearing import Opening, Patch, nodal_force, platen_crush, seat_on
from fea.contact import (
    LEVEL,
    LOOSE,
    TILTING,
    Bools,
    Contact,
    ContactSolution,
    Touch,
    bearing_on,
    peak_pressure,
)
from fea.elasticity import vertex_stress_mpa
from fea.mesh import Floats
from fea.model import Model
from fea.yielding import Strength, strength
from geometry.block import Block
from geometry.skin import UNDERSIDE, UPPERSIDE, unpressed
from geometry.visible import visible_skin
from studies.kept_arrays import packed_arrays
from studies.loads import ClampCase, CrushCase, WrapCase, in_the_middle
from studies.seating import pin_opening, top_seat
from studies.stiff_results import SeatTouch, StiffRun
from studies.store import write_whole
from studies.study import slug
from studies.yield_point import yield_point

SeatedCase = CrushCase | WrapCase | ClampCase

_OUTER_SHARE = 0.75


def contact_between(model: Model, block: Block, case: SeatedCase, sticking: bool) -> Contact:
    """A load as the contact solver takes it: a clamp's is one in the middle.

    Of a load on a clamped block it is the load alone.
    """
    if isinstance(case, ClampCase):
        case = in_the_middle(case)
    still = np.zeros_like(model.space.nodes_mm)
    held: Bools = np.zeros(still.shape, dtype=bool)
    if not sticking:
        # Only so far that the block cannot drift or turn on its seats.
        held = platen_crush(model, case.name, UNDERSIDE, UPPERSIDE, friction=False).held.copy()
        held[:, 2] = False
    if isinstance(case, CrushCase):
        below = bearing_on(model, UNDERSIDE, 1.0)
        above = bearing_on(model, UPPERSIDE, -1.0, LEVEL, force_n=(0.0, 0.0, -case.load_n))
        return Contact(case.name, (below, above), sticking, held, still, still)
    patch, middle_mm = top_seat(block, case.seat_size_mm)
    at_mm = middle_mm + np.array(case.offset_mm)
    shear_n = case.shear_n if sticking else (0.0, 0.0)
    above = bearing_on(
        model,
        UPPERSIDE,
        -1.0,
        LOOSE if sticking else TILTING,
        patch,
        (*shear_n, -case.load_n),
        at_mm,
    )
    answer_mm = at_mm + above.at_mm[2] * np.array(case.shear_n) / case.load_n
    opening = pin_opening(block, case.pin_hole_mm)
    below = bearing_on(model, UNDERSIDE, 1.0, at_mm=answer_mm, opening=opening)
    force_n = still if sticking else _spread_shear(model, patch, opening, np.array(case.shear_n))
    return Contact(case.name, (below, above), sticking, held, still, force_n)


def _spread_shear(
    model: Model, patch: Patch | None, opening: Opening | None, shear_n: Floats
) -> Floats:
    """Where nothing rubs, what holds the block sideways is spread evenly over both seats."""
    force_n = np.zeros_like(model.space.nodes_mm)
    if not shear_n.any():
        return force_n
    above, under = seat_on(model, UPPERSIDE, patch), seat_on(model, UNDERSIDE, opening=opening)
    for seat, sign in ((above, 1.0), (under, -1.0)):
        traction = np.zeros((*seat.weight_mm2.shape, 3))
        traction[..., :2] = sign * shear_n / seat.area_mm2
        force_n += nodal_force(model, seat, traction)
    # The two patches' middles differ a little: a twist over the underside evens that out.
    below = bearing_on(model, UNDERSIDE, 1.0, opening=opening)
    arm_mm = model.space.nodes_mm - below.at_mm
    twist = arm_mm[:, 0] @ force_n[:, 1] - arm_mm[:, 1] @ force_n[:, 0]
    x, y = arm_mm[below.nodes, :2].T
    around = np.stack([-y, x], axis=1) * below.area_mm2[:, None]
    force_n[below.nodes, :2] -= twist * around / (below.area_mm2 @ (x**2 + y**2))
    return force_n


def stiff_run(
    model: Model,
    block: Block,
    case: SeatedCase,
    solution: ContactSolution,
    folder: Path | None,
    file_stem: str,
) -> StiffRun:
    """Judge a load by what the contact solver found, and write its pressures into ``folder``."""
    found = strength_of(model, block, solution)
    below, above = solution.touches
    sticking = solution.contact.sticking
    touch_file = ""
    if folder:
        touch_file = f"{file_stem}--{slug(case.name)}--{'stick' if sticking else 'slide'}.npz"
        write_whole(folder / touch_file, _drawable(model, block, case, below, above))
    return StiffRun(
        sticking=sticking,
        starts=yield_point(block, case, found.starts),
        shows=yield_point(block, case, found.shows),
        above=_seat_touch(model, above, block.top.thickness_mm / 2.0),
        below=_seat_touch(model, below, block.bottom.thickness_mm / 2.0),
        lifted=isinstance(case, WrapCase) and far_share(model, block, case, above) <= 0.0,
        residual=solution.residual,
        imbalance=solution.imbalance,
        iterations=solution.iterations,
        rounds=solution.rounds,
        touch_file=touch_file,
    )


def strength_of(model: Model, block: Block, solution: ContactSolution) -> Strength:
    """The yield measures of a load between stiff seats."""
    stress = vertex_stress_mpa(model, solution.displacement_mm)
    seen, even = visible_skin(block, model.mesh), solution.even_axes
    return strength(model, stress, unpressed(model.mesh), seen, even_axes=even)


def _seat_touch(model: Model, touch: Touch, radius_mm: float) -> SeatTouch:
    peak = peak_pressure(model.space.nodes_mm, touch, radius_mm)
    return SeatTouch(
        share=touch.share,
        peak_mpa=peak.pressure_mpa,
        peak_mm=peak.at_mm,
        averaging_mm=radius_mm,
        gap_mm=float(touch.gap_mm.max()),
    )


def far_share(model: Model, block: Block, case: WrapCase, above: Touch) -> float:
    """Share of the load that the seat above puts on the side away from it.

    That is over the tube's wall there and beyond, or the outer quarter of a seat that ends before.
    """
    offset = np.array(case.offset_mm)
    if not offset.any():
        return 1.0
    tube = block.tube
    along = int(np.argmax(np.abs(offset)))
    inside_mm = (tube.length_mm, tube.width_mm)[along] / 2.0 - tube.wall_mm
    away_mm = -np.sign(offset[along]) * model.space.nodes_mm[above.bearing.nodes][:, along]
    push_n = above.pressure_mpa * above.bearing.area_mm2
    far = above.touching & (away_mm >= min(inside_mm, _OUTER_SHARE * float(away_mm.max())))
    return float(push_n[far].sum() / push_n.sum())


def _drawable(model: Model, block: Block, case: SeatedCase, below: Touch, above: Touch) -> bytes:
    """Facets and their mean pressures seen from above, packed for the picture."""
    arrays: dict[str, Floats] = {}
    for name, touch in (("below", below), ("above", above)):
        facets = model.mesh.facets_of(touch.bearing.face)
        pressure = np.full(len(model.space.nodes_mm), np.nan)
        pressure[touch.bearing.nodes] = np.where(touch.touching, touch.pressure_mpa, 0.0)
        middles = pressure[model.space.skin_nodes[facets][:, 3:]]
        arrays[f"{name}_mpa"] = np.nanmean(
            np.where(np.isnan(middles).all(axis=1, keepdims=True), 0.0, middles), axis=1
        ).astype(np.float32)
        corners = model.mesh.points_mm[model.mesh.skin_facets[facets]][:, :, :2]
        arrays[f"{name}_mm"] = corners.astype(np.float32)
    offset = case.offset_mm if isinstance(case, WrapCase) else (0.0, 0.0)
    arrays["load_mm"] = top_seat(block, None)[1] + np.array(offset)
    arrays["tube_mm"] = np.array([block.tube.length_mm, block.tube.width_mm, block.tube.wall_mm])
    return packed_arrays(arrays)
