"""Assembly and solver against independent libraries, and checks that fail when they should."""

from dataclasses import replace

import numba
import numpy as np
import pytest
import skfem
from scipy.sparse.linalg import spsolve
from skfem.models.elasticity import linear_elasticity

from fea.errors import MeshError, SolveError
from fea.mesh import TaggedMesh, check_mesh
from fea.model import Model, modelled
from fea.solving import solved
from fea.steel import Steel
from studies.published.bodies import brick, held_where, near, problem, traction_force

STEEL = Steel("S355", 355.0, 490.0)


@pytest.fixture(scope="module")
def column() -> Model:
    mesh = brick(
        (3, 3, 6),
        (20.0, 30.0, 60.0),
        bottom=lambda p: near(p, 2, 0.0),
        top=lambda p: near(p, 2, 60.0),
    )
    return modelled(mesh, (STEEL,))


def _pressed(model: Model, direction: int = 2):
    pull = np.zeros(3)
    pull[direction] = -50.0
    force = traction_force(model, "top", lambda x: np.broadcast_to(pull, x.shape))
    held = held_where(model, near(model.space.nodes_mm, 2, 0.0), (0, 1, 2))
    return problem(model, held, force)


def test_stiffness_is_that_of_a_general_purpose_assembler(column: Model) -> None:
    mesh = column.mesh
    grid = skfem.MeshTet(mesh.points_mm.T, mesh.tets.T)
    basis = skfem.Basis(grid, skfem.ElementVector(skfem.ElementTetP2()), intorder=2)
    theirs = linear_elasticity(*STEEL.lame_mpa).assemble(basis)
    keys = {tuple(np.round(x, 9)): i for i, x in enumerate(column.space.nodes_mm)}
    node = np.array([keys[tuple(np.round(x, 9))] for x in basis.doflocs.T])
    axis = np.empty(len(node), dtype=np.int64)
    axis[basis.nodal_dofs.T] = axis[basis.edge_dofs.T] = np.arange(3)
    order = 3 * node + axis
    ours = column.stiffness.to_scipy().tocsr()[order][:, order]
    assert abs(ours - theirs).max() < 1e-13 * abs(theirs).max()


def test_joined_clusters_change_the_rounds_but_not_the_answer(
    column: Model, monkeypatch: pytest.MonkeyPatch
) -> None:
    (plain,) = solved(column, (_pressed(column),))
    count = column.hierarchy.clusters.prolongation.shape[1]
    monkeypatch.setattr("fea.clusters._MOST_CLUSTERS", 2)
    joined = modelled(column.mesh, column.steels)
    (other,) = solved(joined, (_pressed(joined),))
    assert joined.hierarchy.clusters.prolongation.shape[1] <= 2 * 6 < count
    furthest = np.abs(plain.displacement_mm).max()
    assert np.abs(other.displacement_mm - plain.displacement_mm).max() < 1e-7 * furthest


def test_shifts_and_turns_cost_no_force(column: Model) -> None:
    nodes = column.space.nodes_mm
    stiffness = column.stiffness.to_scipy()
    for motion in (np.ones_like(nodes), np.cross([0.1, -0.2, 0.3], nodes)):
        force = stiffness @ motion.ravel()
        assert np.abs(force).max() < 1e-9 * abs(stiffness.diagonal()).max()


def test_solution_is_that_of_a_direct_solver(column: Model) -> None:
    cases = (_pressed(column, 2), _pressed(column, 0))
    for one, solution in zip(cases, solved(column, cases, goal=1e-11), strict=True):
        free = ~one.held.ravel()
        matrix = column.stiffness.to_scipy().tocsc()[free][:, free]
        theirs = spsolve(matrix, one.force_n.ravel()[free])
        ours = solution.displacement_mm.ravel()[free]
        assert np.abs(ours - theirs).max() < 1e-9 * np.abs(theirs).max()


def test_five_cases_with_two_supports_are_each_solved(column: Model) -> None:
    """More than one batch of four, and different held nodes in one batch."""
    first, second = _pressed(column, 2), _pressed(column, 0)
    top = near(column.space.nodes_mm, 2, 60.0)
    squeezed = problem(
        column,
        first.held | held_where(column, top, (2,)),
        np.zeros_like(first.force_n),
        np.where(top[:, None], [0.0, 0.0, -0.01], 0.0),
    )
    cases = (first, squeezed, second, first, squeezed)
    together = solved(column, cases)
    for one, solution in zip(cases, together, strict=True):
        (alone,) = solved(column, (one,))
        gap = np.abs(alone.displacement_mm - solution.displacement_mm).max()
        assert gap < 1e-7 * np.abs(alone.displacement_mm).max()
        assert solution.residual < 1e-8


def test_one_thread_and_two_give_the_same_numbers(column: Model) -> None:
    before, found = numba.get_num_threads(), []
    try:
        for threads in (1, numba.config.NUMBA_NUM_THREADS):
            numba.set_num_threads(threads)
            found += solved(modelled(column.mesh, column.steels), (_pressed(column),))
    finally:
        numba.set_num_threads(before)
    np.testing.assert_array_equal(found[0].displacement_mm, found[1].displacement_mm)


def test_displacements_obey_reciprocity(column: Model) -> None:
    """Maxwell–Betti: the work of one load on the other's movement is the same both ways."""
    first, second = _pressed(column, 2), _pressed(column, 0)
    a, b = solved(column, (first, second), goal=1e-11)
    there = (first.force_n * b.displacement_mm).sum()
    back = (second.force_n * a.displacement_mm).sum()
    scale = (first.force_n * a.displacement_mm).sum()
    assert abs(there - back) < 1e-9 * abs(scale)


def test_a_block_nothing_holds_is_refused(column: Model) -> None:
    loose = replace(_pressed(column), held=np.zeros_like(_pressed(column).held))
    with pytest.raises(SolveError):
        solved(column, (loose,))


def test_a_load_of_nothing_is_refused(column: Model) -> None:
    nothing = replace(_pressed(column), force_n=np.zeros_like(_pressed(column).force_n))
    with pytest.raises(SolveError, match="pushes with 0 N"):
        solved(column, (nothing,))


def test_an_absurd_load_is_refused(column: Model) -> None:
    absurd = replace(_pressed(column), force_n=1e6 * _pressed(column).force_n)
    with pytest.raises(SolveError, match="moves the block by"):
        solved(column, (absurd,))


def test_a_load_said_to_balance_must(column: Model) -> None:
    with pytest.raises(SolveError, match="out of balance"):
        solved(column, (replace(_pressed(column), balanced=True),))


def test_one_steel_a_part(column: Model) -> None:
    with pytest.raises(MeshError, match="1 parts but 2 steels"):
        modelled(column.mesh, (STEEL, STEEL))


def _spoilt(mesh: TaggedMesh, what: str) -> TaggedMesh:
    tets = mesh.tets
    if what == "inside out":
        turned = tets.copy()
        turned[0] = turned[0, [0, 2, 1, 3]]
        return replace(mesh, tets=turned)
    if what == "two pieces":
        far = mesh.points_mm + [500.0, 0.0, 0.0]
        count = len(mesh.points_mm)
        return replace(
            mesh,
            points_mm=np.vstack([mesh.points_mm, far]),
            tets=np.vstack([tets, tets + count]),
            part_of_tet=np.concatenate([mesh.part_of_tet] * 2),
            skin_facets=np.vstack([mesh.skin_facets, mesh.skin_facets + count]),
            skin_tet=np.concatenate([mesh.skin_tet, mesh.skin_tet + len(tets)]),
            face_of_skin=np.concatenate([mesh.face_of_skin] * 2),
        )
    if what == "skin is not closed":
        return replace(
            mesh,
            skin_facets=mesh.skin_facets[1:],
            skin_tet=mesh.skin_tet[1:],
            face_of_skin=mesh.face_of_skin[1:],
        )
    if what == "its volume":
        (part,) = mesh.parts
        return replace(mesh, parts=(replace(part, volume_mm3=2 * part.volume_mm3),))
    if what == "no tetrahedra":
        return replace(mesh, parts=(*mesh.parts, replace(mesh.parts[0], name="ghost")))
    return replace(mesh, points_mm=np.vstack([mesh.points_mm, [[0.0, 0.0, 0.0]]]))


@pytest.mark.parametrize(
    ("what", "said"),
    [
        ("inside out", "inside out"),
        ("two pieces", "falls into 2 pieces"),
        ("skin is not closed", "skin is not closed"),
        ("its volume", "its volume"),
        ("no tetrahedra", "no tetrahedra"),
        ("stray point", "belong to no tetrahedron"),
    ],
)
def test_a_spoilt_mesh_is_refused(column: Model, what: str, said: str) -> None:
    check_mesh(column.mesh)
    with pytest.raises(MeshError, match=said):
        check_mesh(_spoilt(column.mesh, what))


def test_an_unknown_face_is_named_with_those_there_are(column: Model) -> None:
    with pytest.raises(MeshError, match="no face called 'lid'; use one of: rest, bottom, top"):
        column.mesh.facets_of("lid")
