"""How a body follows the motions of the bearings it touches: guesses, bettered as it is solved.

Conjugate gradients with what touches held, and the energy's minimum over these few fields beside
them, tell the same as with all unknowns in one matrix, as far as the fields are right: then they
are orthogonal, in energy, to everything that moves nothing which touches (Toselli & Widlund,
*Domain Decomposition Methods*, 4.3).
"""

import numpy as np

from fea.contact import Bools, Contact
from fea.kernels import column_dots, matvec
from fea.mesh import Floats
from fea.model import Model
from fea.multigrid import Support, cycled
from fea.rows import WIDTH


def first_carry(model: Model, contact: Contact) -> Floats:
    """(N, 3, r) each motion of a bearing, fading linearly with height to what does not move."""
    nodes_mm = model.space.nodes_mm
    still = [bearing for bearing in contact.bearings if not bearing.moves]
    floor_mm = still[0].at_mm[2] if still else nodes_mm[:, 2].min()
    parts = [np.zeros((len(nodes_mm), 3, 0))]
    for bearing in contact.bearings:
        if not bearing.moves:
            continue
        fade = np.clip((nodes_mm[:, 2] - floor_mm) / (bearing.at_mm[2] - floor_mm), 0.0, 1.0)
        part = bearing.motions(nodes_mm) * fade[:, None, None]
        for other in contact.bearings:
            if other is not bearing:
                part[other.nodes] = 0.0
        part[contact.held] = 0.0
        parts.append(part)
    return np.concatenate(parts, axis=2)


def bettered(model: Model, support: Support, free: Bools, carry: Floats) -> tuple[Floats, Floats]:
    """A carry (N, 3, r) of less energy, as it was where not ``free`` (N, 3); its stiffness (r, r).

    One step of steepest descent in each field, preconditioned like the solver.
    """
    better, pull = np.empty_like(carry), np.empty_like(carry)
    for first in range(0, carry.shape[2], WIDTH):
        some = slice(first, min(first + WIDTH, carry.shape[2]))
        count = some.stop - first
        fields = np.zeros((*free.shape, WIDTH))
        fields[:, :, :count] = carry[:, :, some]
        pulls = _times(model, fields)
        step = _relaxed(model, support, free, pulls)
        stiffened = _times(model, step)
        softening = column_dots(step, stiffened)
        length = column_dots(step, pulls) / np.where(softening > 0.0, softening, 1.0)
        better[:, :, some] = (fields - length * step)[:, :, :count]
        pull[:, :, some] = (pulls - length * stiffened)[:, :, :count]
    return better, np.asarray(np.einsum("ndi,ndj->ij", better, pull))


def _relaxed(model: Model, support: Support, free: Bools, pulls: Floats) -> Floats:
    """Nearly K⁻¹ times what pulls on the free unknowns."""
    loose = np.repeat(free[:, :, None], WIDTH, axis=2)
    vertices = np.repeat(~support.held_vertices[:, :, None], WIDTH, axis=2).astype(np.float32)
    rest = pulls * loose
    scale = np.sqrt(column_dots(rest, rest))
    scaled = (rest / np.where(scale > 0.0, scale, 1.0)).astype(np.float32)
    supports = (support,) * WIDTH
    step = cycled(model.hierarchy, supports, scaled, loose.astype(np.float32), vertices)
    return np.asarray(step * scale * loose, dtype=np.float64)


def _times(model: Model, fields: Floats) -> Floats:
    """K times four fields (N, 3, 4)."""
    K = model.stiffness
    product = np.empty_like(fields)
    matvec(K.starts, K.columns, K.blocks, fields, np.ones_like(fields), product)
    return product
