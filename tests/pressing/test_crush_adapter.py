"""From a layout to a crush: which skin counts as seen, which walls are told slender."""

import math
from dataclasses import replace

import numpy as np
import pytest
from blocks import S355
from tiny_study import tiny_study

from fea.crush import crushed
from fea.curve import Crushed
from fea.errors import SolveError
from fea.mesh import Floats, Ints
from fea.model import Model, modelled
from geometry.amounts import steels_of
from geometry.block import Block, Pin
from geometry.mesher import SETTINGS, MeshSizes, meshed
from geometry.skin import UNDERSIDE, UPPERSIDE
from geometry.visible import visible_skin
from studies.loads import CrushCase
from studies.pressing.crush import platens_for, slender_words
from studies.pressing.gauge import NoseSize
from studies.study import read_study


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


@pytest.fixture(scope="module")
def stub(tmp_path_factory: pytest.TempPathFactory) -> tuple[Block, Model]:
    """A small block with a locating pin, on a mesh coarse enough for a test."""
    layout = read_study(tiny_study(tmp_path_factory.mktemp("tiny"))).layouts[0]
    block = replace(layout.block, pin=Pin(10.0, 8.0, S355))
    mesh = meshed(block, MeshSizes(1.2, 1.6))
    return block, modelled(mesh, steels_of(block, mesh))


def _pressed(stub: tuple[Block, Model], friction: bool, nose_mm: NoseSize = None) -> Crushed:
    block, model = stub
    press = platens_for(block, CrushCase("Press", 1e4, 5.0, friction), nose_mm)
    seen = visible_skin(block, model.mesh, press.nose)
    return crushed(model, press, seen, until_shown=True)


def _where_mm(model: Model, face: str) -> tuple[Ints, Floats]:
    """Mid-edge nodes of a face, which is where bearings hold, and where they lie."""
    nodes = np.unique(model.space.skin_nodes[model.mesh.facets_of(face)][:, 3:])
    return nodes, model.space.nodes_mm[nodes]


def test_platens_on_a_block_with_a_pin_stick_or_slide(stub: tuple[Block, Model]) -> None:
    """What sticks stays where it was and carries no less; over the pin's hole nothing is held."""
    _, model = stub
    slides, sticks = (_pressed(stub, friction) for friction in (False, True))
    nodes, where_mm = _where_mm(model, UNDERSIDE)
    within = np.hypot(where_mm[:, 0], where_mm[:, 1]) < 5.5
    for one in (slides, sticks):
        moved_mm = one.states[-1].displacement_mm[nodes]
        assert moved_mm[within, 2].min() < -1e-6 or moved_mm[within, 2].max() > 1e-6
    sideways = [
        np.abs(one.states[-1].displacement_mm[nodes][~within, :2]).max() for one in (slides, sticks)
    ]
    held = np.abs(sticks.states[-1].displacement_mm[nodes]).max(axis=1) == 0.0
    assert held.mean() > 0.2
    assert sideways[0] > 1e-4
    assert sticks.curve.faint is not None
    assert slides.curve.faint is not None
    assert sticks.curve.faint.force_n > 0.98 * slides.curve.faint.force_n
    assert sticks.curve.stiffness_n_per_mm > slides.curve.stiffness_n_per_mm


def test_a_nose_too_small_for_the_mesh_is_refused(stub: tuple[Block, Model]) -> None:
    with pytest.raises(SolveError, match="hardly touches"):
        _pressed(stub, False, (0.2, 0.2))
