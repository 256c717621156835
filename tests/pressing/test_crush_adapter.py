"""From a layout to a crush: which skin counts as seen, which walls are told slender."""

import math
from dataclasses import replace

import numpy as np
import pytest

from geometry.block import Block
from geometry.mesher import SETTINGS, meshed
from geometry.skin import UNDERSIDE, UPPERSIDE
from geometry.visible import visible_skin
from studies.pressing.crush import slender_words


def test_the_tubes_outside_is_seen_and_its_inside_is_not(bare_tube_block: Block) -> None:
    """A 120 × 80 tube with corners of 12, 44 mm high: its flats exactly, its corners as chords."""
    mesh = meshed(bare_tube_block, SETTINGS["quick"])
    seen = visible_skin(bare_tube_block, mesh)
    on_tube = mesh.part_of_tet[mesh.skin_tet] == mesh.part_index("tube")
    flat = np.abs(mesh.facet_normals).max(axis=1) > 1.0 - 1e-9
    areas_mm2 = mesh.facet_areas_mm2
    flats_mm2 = float(areas_mm2[seen & on_tube & flat].sum())
    assert flats_mm2 == pytest.approx(2.0 * (96.0 + 56.0) * 44.0)
    corners_mm2 = float(areas_mm2[seen & on_tube & ~flat].sum())
    # One chord to a quarter turn would be the coarsest.
    assert 0.9 < corners_mm2 / (2.0 * math.pi * 12.0 * 44.0) < 1.0
    for seat in (UNDERSIDE, UPPERSIDE):
        assert not seen[mesh.facets_of(seat)].any()
    middle = mesh.points_mm[mesh.skin_facets].mean(axis=1)
    within = (np.abs(middle[:, 0]) < 56.0) & (np.abs(middle[:, 1]) < 36.0)
    assert not seen[within].any()
    # The overhangs of both plates, above and below them, and all their edges.
    overhang = seen & ~on_tube
    assert mesh.facet_areas_mm2[overhang].sum() > 2 * (150.0 * 110.0 - 120.0 * 80.0)


def test_thin_walls_are_named(bare_tube_block: Block) -> None:
    assert slender_words(bare_tube_block) == ""
    tube = bare_tube_block.tube
    thin = replace(tube, wall_mm=1.0, corner_radius_mm=2.0, bore_radius_mm=1.0)
    words = slender_words(replace(bare_tube_block, tube=thin))
    assert "times as wide as thick" in words
    assert "may buckle" in words
