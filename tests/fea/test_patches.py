"""Patches of skin that grow from the hottest facet on."""

import numpy as np
import pytest

from fea.patches import covering, neighbours, patches
from studies.published.bodies import brick


@pytest.mark.parametrize("seed", range(4))
def test_a_patch_is_covered_at_the_highest_level_of_all(seed: int) -> None:
    """Against every level tried in turn; values in tenths, so that many are alike."""
    near = neighbours(brick((5, 4, 2), (50.0, 40.0, 20.0)))
    count = len(near.mesh.skin_facets)
    random = np.random.default_rng(seed)
    value, seen = np.round(random.random(count), 1), random.random(count) < 0.8
    wanted_mm2 = float(random.uniform(60.0, 400.0))
    reached = [
        level
        for level in np.unique(value)
        if patches(near, seen & (value >= level))[1].max() >= wanted_mm2
    ]
    level, facet = covering(near, value, seen, wanted_mm2)
    assert level == max(reached)
    assert seen[facet]
    assert value[facet] >= level
