"""A layout between stiff seats that only push: first yield, what touches, and how hard.

Wrap loads are carried twice, once with seats on which steel slides and once with seats it sticks
to; a crush load once, as its own friction says.
"""

from collections.abc import Callable
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
from fea.contact_solver import touched
from fea.elasticity import vertex_stress_mpa
from fea.errors import SolveError
from fea.mesh import Floats
from fea.model import Model
from fea.yielding import strength
from geometry.block import Block
from geometry.skin import UNDERSIDE, UPPERSIDE, unpressed
from geometry.visible import visible_skin
from studies.kept_arrays import packed_arrays
from studies.loads import CrushCase, LoadCase, WrapCase
from studies.seating import pin_opening, top_seat
from studies.stiff_results import SeatTouch, StiffRun, StiffSeats
from studies.store import write_whole
from studies.study import slug
from studies.yield_point import yield_point


def stiff_seats(
    model: Model,
    block: Block,
    loads: tuple[LoadCase, ...],
    folder: Path | None,
    file_stem: str,
    say: Callable[[str], None],
) -> tuple[StiffSeats | None, ...]:
    """What each of ``loads`` does between stiff seats; None where the study does not ask.

    Pressures to draw are written into ``folder``, if there is one.

    A run that finds no steady contact or fails its checks is left out and says why; the others,
    and the soft seats' figures, stand.
    """
    asked = [case for case in loads if isinstance(case, CrushCase | WrapCase) and case.stiff_seats]
    if not asked:
        return (None,) * len(loads)
    say("stiff seats")
    wanted = [(case, sticking) for case in asked for sticking in _frictions(case)]
    # Cases alike in friction need alike many rounds: keep them in one block.
    wanted.sort(key=lambda one: one[1])
    contacts = tuple(_contact(model, block, case, sticking) for case, sticking in wanted)
    runs: dict[str, list[StiffRun]] = {case.name: [] for case in asked}
    trouble = dict.fromkeys(runs, "")
    for (case, _), solution in zip(wanted, _each_touched(model, contacts), strict=True):
        if isinstance(solution, SolveError):
            trouble[case.name] = str(solution)
        else:
            runs[case.name].append(_run(model, block, case, solution, folder, file_stem))
    return tuple(
        StiffSeats(tuple(runs[case.name]), trouble[case.name]) if case in asked else None
        for case in loads
    )


def _each_touched(
    model: Model, contacts: tuple[Contact, ...]
) -> tuple[ContactSolution | SolveError, ...]:
    """All at once; when one fails, each alone, so that the others still come out."""
    try:
        return touched(model, contacts)
    except SolveError:
        return tuple(_touched_alone(model, contact) for contact in contacts)


def _touched_alone(model: Model, contact: Contact) -> ContactSolution | SolveError:
    try:
        return touched(model, (contact,))[0]
    except SolveError as error:
        return error


def _frictions(case: CrushCase | WrapCase) -> tuple[bool, ...]:
    return (case.friction,) if isinstance(case, CrushCase) else (False, True)


def _contact(model: Model, block: Block, case: CrushCase | WrapCase, sticking: bool) -> Contact:
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


def _run(
    model: Model,
    block: Block,
    case: CrushCase | WrapCase,
    solution: ContactSolution,
    folder: Path | None,
    file_stem: str,
) -> StiffRun:
    stress = vertex_stress_mpa(model, solution.displacement_mm)
    found = strength(model, stress, unpressed(model.mesh), visible_skin(block, model.mesh))
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
        lifted=isinstance(case, WrapCase) and _lifted(model, block, case, above),
        residual=solution.residual,
        imbalance=solution.imbalance,
        iterations=solution.iterations,
        rounds=solution.rounds,
        touch_file=touch_file,
    )


def _seat_touch(model: Model, touch: Touch, radius_mm: float) -> SeatTouch:
    peak = peak_pressure(model.space.nodes_mm, touch, radius_mm)
    return SeatTouch(
        share=touch.share,
        peak_mpa=peak.pressure_mpa,
        peak_mm=peak.at_mm,
        averaging_mm=radius_mm,
        gap_mm=float(touch.gap_mm.max()),
    )


def _lifted(model: Model, block: Block, case: WrapCase, above: Touch) -> bool:
    """Whether nothing touches over the tube's wall on the side away from the load."""
    offset = np.array(case.offset_mm)
    size_mm = float(np.hypot(*offset))
    if size_mm == 0.0:
        return False
    tube = block.tube
    along = int(np.argmax(np.abs(offset)))
    inside_mm = (tube.length_mm, tube.width_mm)[along] / 2.0 - tube.wall_mm
    where = model.space.nodes_mm[above.bearing.nodes[above.touching]]
    away = -np.sign(offset[along]) * where[:, along]
    return bool(away.max() < inside_mm)


def _drawable(
    model: Model, block: Block, case: CrushCase | WrapCase, below: Touch, above: Touch
) -> bytes:
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
