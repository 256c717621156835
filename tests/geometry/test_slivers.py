"""Flat tetrahedra are made fuller without moving a face, and the solver is spared rounds."""

from dataclasses import replace

import numpy as np
import pytest
from blocks import patterned

from fea.mesh import TaggedMesh, check_mesh
from fea.model import modelled
from fea.solving import solved
from geometry import mesher
from geometry.amounts import steels_of
from geometry.mesher import SETTINGS, MeshSizes, meshed
from geometry.skin import UNDERSIDE, UPPERSIDE
from geometry.slivers import FULL_ENOUGH, fullness, without_slivers
from studies.published.bodies import brick, held_where, near, problem

# Of the sizes between quick and normal, one at which the mesher leaves two flat tetrahedra.
SIZES = MeshSizes(0.38, 0.48).refined(0.4521139777434727)


@pytest.fixture(scope="module")
def raw() -> TaggedMesh:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(mesher, "without_slivers", lambda mesh: mesh)
        (mesh,) = mesher.meshed_along(patterned("corner-diagonal", leg_mm=0.0), (SIZES,), ())
        return mesh


def test_fullness_by_hand() -> None:
    """Regular: 1. The corner of a cube: 12 (3/6)^⅔ / 9 = 0.8399; turned inside out, below 0."""
    cube = np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1], [1, 1, 0], [1, 0, 1], [0, 1, 1]])
    tets = np.array([[0, 4, 5, 6], [0, 1, 2, 3], [0, 2, 1, 3], [0, 1, 2, 4]])
    regular, corner, turned, flat = fullness(cube, tets)
    assert abs(regular) == pytest.approx(1.0)
    assert corner == pytest.approx(12.0 * 0.5 ** (2.0 / 3.0) / 9.0)
    assert turned == pytest.approx(-corner)
    assert flat == 0.0


def test_no_flat_tetrahedron_is_left_and_every_face_stays(raw: TaggedMesh) -> None:
    new = without_slivers(raw)
    check_mesh(new)
    before, after = (fullness(mesh.points_mm, mesh.tets) for mesh in (raw, new))
    assert (before < FULL_ENOUGH).sum() == 2
    assert after.min() > 2.0 * FULL_ENOUGH
    moved = np.flatnonzero((new.points_mm != raw.points_mm).any(axis=1))
    assert 0 < len(moved) < 20
    for index in range(len(raw.faces)):
        area = [mesh.facet_areas_mm2[mesh.face_of_skin == index].sum() for mesh in (raw, new)]
        assert area[1] == pytest.approx(area[0], rel=1e-9)
    for part in raw.parts:
        volume = [mesh.part_volume_mm3(part.name) for mesh in (raw, new)]
        assert volume[1] == pytest.approx(volume[0], rel=1e-9)
    again = without_slivers(raw)
    np.testing.assert_array_equal(again.points_mm, new.points_mm)


def test_two_flat_tetrahedra_cost_no_rounds(raw: TaggedMesh) -> None:
    rounds = [_rounds(mesh) for mesh in (raw, without_slivers(raw))]
    assert rounds[1] < 30
    assert rounds[1] < 0.6 * rounds[0]


def _rounds(mesh: TaggedMesh) -> int:
    model = modelled(mesh, steels_of(patterned("corner-diagonal", leg_mm=0.0), mesh))
    below, above = (
        np.isin(np.arange(len(model.space.nodes_mm)), model.space.skin_nodes[mesh.facets_of(name)])
        for name in (UNDERSIDE, UPPERSIDE)
    )
    held = held_where(model, below | above, (0, 1, 2))
    nothing = np.zeros_like(model.space.nodes_mm)
    moved = np.where(above[:, None], [0.01, 0.0, 0.0], 0.0)
    (solution,) = solved(model, (problem(model, held, nothing, moved),))
    return solution.iterations


@pytest.mark.parametrize(
    ("pattern", "leg_mm"), [("plain", 5.0), ("corner-diagonal", 5.0), ("mid-wall", 0.0)]
)
def test_meshes_have_no_slivers(pattern: str, leg_mm: float) -> None:
    """Where no corner can move some stay flatter; at 0.05 they cost no rounds, at 0.02 forty."""
    mesh = meshed(patterned(pattern, leg_mm=leg_mm), SETTINGS["quick"].refined(0.6))
    assert fullness(mesh.points_mm, mesh.tets).min() > 0.04


def test_corners_stay_in_their_faces() -> None:
    """A brick whose inner corner was pushed almost into a face: it goes back, the skin stays."""
    mesh = brick((2, 2, 2), (20.0, 20.0, 20.0), bottom=lambda p: near(p, 2, 0.0))
    middle = int(np.flatnonzero((mesh.points_mm == 10.0).all(axis=1))[0])
    points = mesh.points_mm.copy()
    points[middle] = [10.0, 10.0, 19.99]
    spoilt = replace(mesh, points_mm=points)
    assert fullness(points, mesh.tets).min() < 0.1 * FULL_ENOUGH
    new = without_slivers(spoilt)
    assert fullness(new.points_mm, new.tets).min() > FULL_ENOUGH
    assert new.points_mm.min() == 0.0
    assert new.points_mm.max() == 20.0
    np.testing.assert_allclose(new.facet_areas_mm2.sum(), 6 * 400.0, rtol=1e-12)
