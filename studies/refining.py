"""A layout solved on two meshes, and on finer ones where its figures are not known well enough.

Elements of the coarser mesh are asked for 1 / COARSER times as large; where walls are little
thicker than that they come out smaller, in all about 1.4 times. Where a band is wider than asked
for, the places that govern get finer elements, and the last two meshes give the band.
"""

import math
from dataclasses import dataclass, replace
from pathlib import Path

from fea.mesh import TaggedMesh
from fea.model import Model, modelled
from fea.redistribution import Shown
from fea.solver import RESIDUAL_GOAL
from fea.solving import made_ready
from geometry.amounts import steels_of
from geometry.block import Block
from geometry.mesher import MeshSizes, Spot
from studies.bands import (
    GUESS_FLOOR,
    SHOWS_FLOOR,
    STARTS_FLOOR,
    STARTS_SPREAD,
    STIFFNESS_FLOOR,
    STIFFNESS_SPREAD,
    Bands,
    band,
)
from studies.loads import LoadCase
from studies.mesh_store import stored_mesh, stored_meshes
from studies.states import CaseState, Progress, states_on

COARSER = 0.6
_COARSER_GOAL = 2e-7
"""Residual on the coarser mesh, whose figures only tell bands of whole per cents: low enough that
what it leaves out of balance stays below what any solution is allowed."""

_MOST_ROUNDS = 3
_MOST_UNKNOWNS = 1_500_000
_SPOT_SHARE = 0.5
_FINER = 1.5
_REACH = 2.0
_CORNER_POWER = 0.545
"""By this power of the element size, errors fall beside a sharp inner corner of 90° (Williams, *J.
Appl. Mech.* 19, 1952): refining by half as much again takes no more than a fifth off them."""


@dataclass(frozen=True, eq=False)
class Run:
    """The finest mesh solved, what was found on it, and how well each figure is known.

    coarser is the first and coarsest mesh, without what was assembled for it, and coarser_states
    what was found there: by these, figures that are computed later tell their own bands. sizes are
    those of the finest mesh, with every place refined at.
    """

    model: Model
    states: tuple[CaseState, ...]
    bands: tuple[Bands, ...]
    coarser: Model
    coarser_states: tuple[CaseState, ...]
    sizes: MeshSizes


def refined(
    block: Block,
    loads: tuple[LoadCase, ...],
    sizes: MeshSizes,
    meshes: Path | None,
    accuracy: float | None,
    say: Progress,
) -> Run:
    """Solve on two meshes and, if ``accuracy`` (a share) is asked for, on finer ones.

    Raises MeshError or SolveError.
    """

    def on(
        mesh: TaggedMesh,
        which: str,
        goal: float = RESIDUAL_GOAL,
        shown: tuple[Shown | None, ...] | None = None,
    ) -> tuple[Model, tuple[CaseState, ...]]:
        say(f"assembling{which}")
        model = modelled(mesh, steels_of(block, mesh))
        made_ready(model)

        def tell(what: str) -> None:
            say(f"{what}{which}")

        return model, states_on(model, block, loads, tell, goal, shown)

    say("meshing")
    coarser, mesh = stored_meshes(block, (sizes.refined(COARSER), sizes), meshes)
    model, states = on(coarser, ", coarser mesh", _COARSER_GOAL)
    coarse, unknowns = _figures(states), model.space.unknowns
    # A copy, which has nothing of what was assembled.
    first = replace(model), states
    # How yielding steel hands load on depends little on the mesh: the coarser one tells it for all.
    shown = tuple(state.shown for state in states)
    model, states = on(mesh, "", shown=shown)
    bands = tuple(
        Bands(
            starts=band(before[0], now[0], STARTS_FLOOR, STARTS_SPREAD),
            shows=band(before[1], now[1], SHOWS_FLOOR if one else GUESS_FLOOR, STARTS_SPREAD),
            stiffness=band(before[2], now[2], STIFFNESS_FLOOR, STIFFNESS_SPREAD),
            unknowns=(unknowns, model.space.unknowns),
        )
        for one, before, now in zip(shown, coarse, _figures(states), strict=True)
    )
    if accuracy is None:
        return Run(model, states, bands, *first, sizes)
    for number in range(1, _MOST_ROUNDS + 1):
        if _widest(bands) <= accuracy or model.space.unknowns > _MOST_UNKNOWNS:
            break
        finer = _FINER**number
        sizes = sizes.finer_at(_spots(states, bands, accuracy, finer))
        coarse, unknowns = _figures(states), model.space.unknowns
        which = f", refinement {number}"
        say(f"meshing{which}")
        model, states = on(stored_mesh(block, sizes, meshes), which, shown=shown)
        reached = [_refined_at(state, sizes.spots) for state in states]
        bands = tuple(
            _narrowed(one, before, now, accuracy, at, finer, (unknowns, model.space.unknowns))
            for one, before, now, at in zip(bands, coarse, _figures(states), reached, strict=True)
        )
        bands = tuple(
            one if known else replace(one, shows=max(one.shows, GUESS_FLOOR))
            for one, known in zip(bands, shown, strict=True)
        )
    met = tuple(replace(one, met=one.starts <= accuracy) for one in bands)
    return Run(model, states, met, *first, sizes)


def _figures(states: tuple[CaseState, ...]) -> list[tuple[float, float, float]]:
    """First-yield load, load at which yielding shows, and stiffness of each case."""
    return [
        (
            state.case.load_n / state.found.starts.utilisation,
            state.case.load_n / state.found.shows.utilisation,
            state.stiffness_n_per_mm,
        )
        for state in states
    ]


def _refined_at(state: CaseState, spots: tuple[Spot, ...]) -> bool:
    """Whether the place where yielding starts lies in finer elements."""
    place_mm = state.found.starts.point_mm
    return any(math.dist(place_mm, spot.point_mm) <= spot.radius_mm for spot in spots)


def _narrowed(
    old: Bands,
    before: tuple[float, float, float],
    now: tuple[float, float, float],
    accuracy: float,
    refined_at: bool,
    finer: float,
    unknowns: tuple[int, int],
) -> Bands:
    """Bands after a refinement; first yield at a place fine enough already keeps its band.

    One whose place moved to where nothing was refined keeps the whole floor. Elsewhere the floor
    falls only as errors do beside a sharp inner corner.
    """
    narrower = STARTS_FLOOR / finer**_CORNER_POWER if refined_at else STARTS_FLOOR
    return Bands(
        starts=band(before[0], now[0], narrower if old.starts > accuracy else old.starts),
        shows=band(before[1], now[1], SHOWS_FLOOR),
        stiffness=band(before[2], now[2], old.stiffness, STIFFNESS_SPREAD),
        unknowns=unknowns,
    )


def _widest(bands: tuple[Bands, ...]) -> float:
    return max(one.starts for one in bands)


def _spots(
    states: tuple[CaseState, ...], bands: tuple[Bands, ...], accuracy: float, finer: float
) -> tuple[Spot, ...]:
    """Finer elements at each place that governs a first yield not known closely enough."""
    spots = []
    for state, one in zip(states, bands, strict=True):
        if one.starts > accuracy:
            found = state.found.starts
            size_mm = _SPOT_SHARE * found.length_mm / finer
            spots.append(Spot(found.point_mm, _REACH * found.length_mm, size_mm))
    return tuple(dict.fromkeys(spots))
