"""Which skin of a block can be looked at while it is pressed."""

import numpy as np
from numpy.typing import NDArray

from fea.bearing import Patch
from fea.mesh import TaggedMesh
from geometry.block import Block
from geometry.skin import UNDERSIDE, UPPERSIDE


def visible_skin(block: Block, mesh: TaggedMesh, nose: Patch | None = None) -> NDArray[np.bool_]:
    """(f,) the skin that can be looked at: not under what presses, not within the tube's outline.

    Beside a ``nose`` the top of the top plate can be seen.
    """
    tube, middle = block.tube, mesh.points_mm[mesh.skin_facets].mean(axis=1)
    seen = (np.abs(middle[:, 0]) > (tube.length_mm - tube.wall_mm) / 2.0) | (
        np.abs(middle[:, 1]) > (tube.width_mm - tube.wall_mm) / 2.0
    )
    upper = mesh.facets_of(UPPERSIDE)
    seen[mesh.facets_of(UNDERSIDE)] = seen[upper] = False
    if nose is not None:
        away = np.abs(middle[upper, :2] - np.array(nose.centre_mm))
        seen[upper] = (away > np.array(nose.size_mm) / 2.0).any(axis=1)
    found: NDArray[np.bool_] = seen
    return found
