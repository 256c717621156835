"""Contact on the part of a mesh that those mirrors repeat which leave the load as it is.

What touches makes contact nonlinear, so a load cannot be split into what a mirror keeps and what it
reverses (as ``fea.folding`` does): only mirrors that keep all of it serve.
"""

from dataclasses import replace

import numpy as np

from fea.contact import Bearing, Contact
from fea.contact_checks import Outcome
from fea.folding import Fold, is_nothing, met, rigid_motions
from fea.mesh import Floats
from fea.model import Model

_IN_PLANE = [0, 1, 5]
"""Of ``rigid_motions``: those that slide a body on level bearings."""

_ON_MIRROR = 1e-9


def even_axes(model: Model, contact: Contact) -> tuple[int, ...]:
    """Axes of those of the mesh's mirrors that leave ``contact`` as it is.

    What is held may be on one side only where all that slides on its bearings is kept from
    drifting; then it carries nothing.
    """
    axes = model.mesh.mirror_axes
    stops_drift = not contact.sticking and not contact.held[:, 2].any()
    if not axes or contact.moved_mm.any() or (contact.held.any() and not stops_drift):
        return ()
    fold, _ = model.kept_along(axes)
    kept = []
    for k, axis in enumerate(axes):
        odd = (fold.gathered(contact.force_n, p) for p in fold.signs if p[k] < 0.0)
        if all(_is_even(model, bearing, axis) for bearing in contact.bearings) and all(
            is_nothing(part, contact.force_n) for part in odd
        ):
            kept.append(axis)
    return tuple(kept)


def part_of(fold: Fold, contact: Contact) -> Contact:
    """``contact`` on the kept part, the mirrors among what holds it."""
    held = fold.still[fold.even].copy()
    if not contact.sticking:
        # One unknown is enough against each shift that no mirror stops.
        corner = int(np.argmax(fold.nodes_mm.sum(axis=1)))
        for axis in {0, 1}.difference(fold.axes):
            held[corner, axis] = True
    return Contact(
        name=contact.name,
        bearings=tuple(_kept(fold, bearing) for bearing in contact.bearings),
        sticking=contact.sticking,
        held=held,
        moved_mm=np.zeros_like(fold.nodes_mm),
        force_n=fold.gathered(contact.force_n, fold.even) / fold.images,
        balanced=False,
    )


def unfolded(fold: Fold, whole: Contact, part: Outcome) -> Outcome:
    """What came of ``whole``, from what came of its ``part_of``."""
    moved_mm = fold.spread(part.displacement_mm, fold.even)
    if whole.held.any():
        # Places go over a mirror as movements do.
        slides = rigid_motions(fold.spread(fold.nodes_mm, fold.even))[_IN_PLANE]
        moved_mm = met(moved_mm, slides, whole.held, whole.moved_mm)
    inner_n = fold.spread_force(part.reaction_n + part.contact.force_n, fold.even)
    normal, sideways, q = [], [], []
    row = first = 0
    for bearing, mine in zip(whole.bearings, part.contact.bearings, strict=True):
        rows = slice(row, row + len(mine.nodes))
        place = np.searchsorted(mine.nodes, fold.node[bearing.nodes])
        normal.append(part.normal[rows][place])
        sideways.append(part.sideways[rows][place])
        went = dict(zip(mine.moves, part.q[first:], strict=False))
        q += [went.get(move, 0.0) for move in bearing.moves]
        row, first = rows.stop, first + len(mine.moves)
    return replace(
        part,
        contact=whole,
        normal=np.concatenate(normal),
        sideways=np.concatenate(sideways),
        q=np.array(q),
        displacement_mm=moved_mm,
        reaction_n=inner_n - whole.force_n,
        even_axes=fold.axes,
    )


def _kept(fold: Fold, bearing: Bearing) -> Bearing:
    """What of a bearing lies on the kept part, with its share of the load."""
    image = fold.node[bearing.nodes]
    nodes = np.unique(image)
    area = np.bincount(image, bearing.area_mm2, len(fold.nodes_mm))[nodes] / fold.images
    likely = np.zeros(len(fold.nodes_mm), dtype=bool)
    likely[image[bearing.likely]] = True
    at_mm = bearing.at_mm.copy()
    at_mm[list(fold.axes)] = 0.0
    odd = {index for axis in fold.axes for index in _odd(axis)}
    return replace(
        bearing,
        nodes=nodes,
        area_mm2=area,
        at_mm=at_mm,
        moves=tuple(move for move in bearing.moves if move not in odd),
        load=bearing.load / fold.images,
        likely=likely[nodes],
    )


def _odd(axis: int) -> tuple[int, ...]:
    """Of shifts 0, 1, 2 and turns 3, 4, 5, those that a mirror across ``axis`` reverses."""
    return (axis, *(3 + other for other in range(3) if other != axis))


def _is_even(model: Model, bearing: Bearing, axis: int) -> bool:
    off_mirror = abs(bearing.at_mm[axis]) > _ON_MIRROR * bearing.arm_mm
    if off_mirror or bearing.load[list(_odd(axis))].any():
        return False
    where = model.space.nodes_mm[bearing.nodes]
    turned = where.copy()
    turned[:, axis] = 0.0 - turned[:, axis]
    mine, theirs = _ordered(where, bearing.area_mm2), _ordered(turned, bearing.area_mm2)
    return np.array_equal(mine[:, :3], theirs[:, :3]) and np.allclose(
        mine[:, 3], theirs[:, 3], rtol=1e-9
    )


def _ordered(where_mm: Floats, area_mm2: Floats) -> Floats:
    order = np.lexsort(where_mm.T)
    return np.column_stack([where_mm, area_mm2])[order]
