"""Rigid platens on yielding steel: which mid-edge nodes touch, and where they must go next."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fea.bearing import Patch
from fea.contact import Bearing, bearing_on
from fea.errors import SolveError
from fea.folding import Fold
from fea.mesh import Bools, Floats
from fea.model import Model
from fea.newton import Equilibrium, Target


@dataclass(frozen=True)
class Press:
    """What presses: the faces below and above, the ram's nose, the hole that the pin goes through.

    nose          part of the upper face that the ram covers, the whole of it when None
    hole_mm       diameter of the hole in the support below, round the middle of its face; 0: none
    sticking      whether steel that touches never slips; otherwise nothing rubs
    """

    below: str
    above: str
    nose: Patch | None = None
    hole_mm: float = 0.0
    sticking: bool = False


@dataclass(frozen=True, eq=False)
class Platens:
    """Two bearings on a model, which may be the part of a block that its mirrors repeat.

    still (N, 3) are the unknowns held whatever touches: on the mirrors, and where nothing else
    keeps the steel from drifting sideways. images says how many such parts make the block.
    """

    below: Bearing
    above: Bearing
    sticking: bool
    still: Bools
    images: int


Touching = tuple[NDArray[np.bool_], NDArray[np.bool_]]
"""Which nodes of the bearing below and of the one above touch."""


def platens(model: Model, press: Press, fold: Fold | None = None) -> Platens:
    """Put the press on a model, or on the part of a block that ``fold`` tells how to repeat.

    Raises MeshError or SolveError when it misses the block.
    """
    axes = fold.axes if fold else ()
    below = bearing_on(model, press.below, 1.0)
    where = model.space.nodes_mm[below.nodes][:, :2]
    middle = (where.min(axis=0) + where.max(axis=0)) / 2.0
    middle[list(axes)] = 0.0
    outside = np.linalg.norm(where - middle, axis=1) >= press.hole_mm / 2.0
    if outside.sum() < 3:
        raise SolveError(
            f"a hole of {press.hole_mm:.4g} mm leaves nothing to stand on", "make the hole smaller"
        )
    below = replace(below, nodes=below.nodes[outside], area_mm2=below.area_mm2[outside])
    above = bearing_on(model, press.above, -1.0, patch=press.nose)
    still = fold.still[fold.even] if fold else np.zeros(model.space.nodes_mm.shape, dtype=bool)
    if not press.sticking:
        xy = model.space.nodes_mm[below.nodes][:, :2]
        corner, along_x = below.nodes[[np.argmin(xy.sum(axis=1)), np.argmax(xy[:, 0] - xy[:, 1])]]
        for axis in {0, 1}.difference(axes):
            still[corner, axis] = True
        if not axes:
            still[along_x, 1] = True
    return Platens(below, above, press.sticking, still, fold.images if fold else 1)


def mirrored_press(model: Model, press: Press) -> tuple[int, ...]:
    """Axes of those of the mesh's mirrors that leave the press as it is, too."""
    nose = press.nose
    return tuple(
        axis for axis in model.mesh.mirror_axes if nose is None or nose.centre_mm[axis] == 0.0
    )


def all_touching(on: Platens) -> Touching:
    """Every node touches: the first guess."""
    return np.ones(len(on.below.nodes), dtype=bool), np.ones(len(on.above.nodes), dtype=bool)


def target(on: Platens, touching: Touching, travel_mm: float, now_mm: Floats) -> Target:
    """Hold what touches: at the platen's height, and sideways where it is when it sticks."""
    held = on.still.copy()
    moved = now_mm.copy()
    for bearing, touches, z in ((on.below, touching[0], 0.0), (on.above, touching[1], -travel_mm)):
        nodes = bearing.nodes[touches]
        held[nodes, 2] = True
        moved[nodes, 2] = z
        if on.sticking:
            held[nodes, :2] = True
    return Target(held, moved, np.zeros_like(now_mm))


def load_n(on: Platens, found: Equilibrium) -> float:
    """What the upper platen pushes with."""
    return float(-found.reaction_n[on.above.nodes, 2].sum()) * on.images


def touched(
    on: Platens, touching: Touching, found: Equilibrium, travel_mm: float
) -> tuple[Touching, float]:
    """Let go what pulls and take up what has gone through, with the share of load that is wrong.

    The share counts forces that pull, and for nodes gone through their number among those that
    touch.
    """
    load = max(load_n(on, found) / on.images, 1e-9)
    wrong, new = 0.0, []
    through_mm = 1e-3 * travel_mm
    for bearing, touches, z in ((on.below, touching[0], 0.0), (on.above, touching[1], -travel_mm)):
        push = bearing.side * found.reaction_n[bearing.nodes, 2]
        deep = bearing.side * (z - found.displacement_mm[bearing.nodes, 2]) > through_mm
        pulls = touches & (push < 0.0)
        enters = ~touches & deep
        wrong += float(-push[pulls].sum()) / load + float(enters.sum()) / max(touches.sum(), 1)
        new.append((touches & ~pulls) | enters)
    return (new[0], new[1]), wrong
