"""Stiff seats that only push, against closed forms, a quadratic programme and another library."""

from dataclasses import replace

import ngsolve as ngs
import numpy as np
import pytest
import scipy.sparse as sp
from numpy.typing import NDArray
from reference import Reference, reference_mesh
from scipy.linalg import cho_factor, cho_solve
from scipy.optimize import nnls
from scipy.sparse.linalg import splu
from shapes import brick, near

from fea.bearing import Opening, Patch
from fea.contact import (
    LOOSE,
    TILTING,
    Bearing,
    Contact,
    ContactSolution,
    bearing_on,
    peak_pressure,
)
from fea.contact_column import column_of
from fea.contact_solver import touched
from fea.errors import SolveError
from fea.model import Model, modelled
from fea.steel import Steel
from geometry.skin import UNDERSIDE, UPPERSIDE
from studies.published.seat import bar, layer, punched, seat_on_fixed

Floats = NDArray[np.float64]
LENGTH, WIDTH, HEIGHT, LOAD = 90.0, 60.0, 18.0, 40_000.0
MIDDLE = np.array([LENGTH / 2, WIDTH / 2])


def slab(divisions: tuple[int, int, int]) -> Model:
    mesh = brick(
        divisions,
        (LENGTH, WIDTH, HEIGHT),
        **{UNDERSIDE: lambda p: near(p, 2, 0.0), UPPERSIDE: lambda p: near(p, 2, HEIGHT)},
    )
    return modelled(mesh, (Steel("S355", 355.0, 490.0),))


@pytest.fixture(scope="module")
def plate() -> Model:
    return slab((12, 8, 3))


def between(
    model: Model,
    offset_mm: tuple[float, float],
    sticking: bool = False,
    patch: Patch | None = None,
    shear_n: tuple[float, float] = (0.0, 0.0),
) -> Contact:
    """A stiff seat that tilts above, a fixed one below."""
    nodes = model.space.nodes_mm
    held = np.zeros(nodes.shape, dtype=bool)
    if not sticking:
        first = int(np.argmin(nodes.sum(axis=1)))
        second = int(np.argmin(nodes[:, 1] + nodes[:, 2] - nodes[:, 0]))
        held[first, :2] = held[second, 1] = True
    above = bearing_on(
        model,
        UPPERSIDE,
        -1.0,
        LOOSE if sticking else TILTING,
        patch,
        (*shear_n, -LOAD),
        MIDDLE + offset_mm,
    )
    below = bearing_on(model, UNDERSIDE, 1.0)
    still = np.zeros_like(nodes)
    return Contact("wrap", (below, above), sticking, held, still, still)


@pytest.mark.parametrize(("offset", "allowed"), [(0.0, 1e-6), (5.0, 0.02), (9.0, 0.02)])
def test_a_bar_is_pressed_as_bending_says(offset: float, allowed: float) -> None:
    """p = P/A (1 + 12 e x / L²) for a rigid seat on a bar that does not bulge.

    An even pressure comes out exactly; one that varies inside a facet to the facet's size.
    """
    solution = seat_on_fixed(bar(), offset)
    (touch,) = solution.touches
    x = bar().space.nodes_mm[touch.bearing.nodes, 0] - 30.0
    exact = 10_000.0 / 2400.0 * (1.0 + 12.0 * offset * x / 60.0**2)
    np.testing.assert_allclose(touch.pressure_mpa, exact, rtol=0.0, atol=allowed * exact.max())
    assert touch.share == 1.0


def test_a_bar_lifts_beyond_a_sixth_of_its_length() -> None:
    """The kern of a rectangle: L/6 = 10 mm."""
    assert seat_on_fixed(bar(), 10.2).touches[0].share < 1.0


@pytest.mark.parametrize("offset", [20.0, 35.0, 45.0])
def test_a_thin_layer_touches_like_a_bed_of_springs(offset: float) -> None:
    """3 (L/2 − e) in touch, the edge pressed by 2P / (3 W (L/2 − e)): any textbook of statics."""
    (touch,) = seat_on_fixed(layer(), offset).touches
    length = 3.0 * (50.0 - offset)
    assert touch.share * 100.0 == pytest.approx(length, abs=1.0)
    x = layer().space.nodes_mm[touch.bearing.nodes, 0]
    exact = np.maximum(1.0 - (100.0 - x) / length, 0.0) * 2.0 * 10_000.0 / (2.0 * length)
    # The springs are shear-free; the layer's own shear rounds the last millimetre off.
    assert np.abs(touch.pressure_mpa - exact).max() < 0.06 * exact.max()


def test_a_punch_lifts_beyond_a_third_of_its_radius() -> None:
    """p = P (1 + 3 e x / a²) / (2π a √(a² − r²)) is nowhere negative up to e = a/3."""
    (tilted,) = punched(0.5)
    assert 0.5 < tilted.touches[0].share < 0.9


def pressures(solution: ContactSolution) -> Floats:
    return np.concatenate([touch.pressure_mpa for touch in solution.touches])


def test_the_same_pressures_as_a_quadratic_programme() -> None:
    """SciPy's non-negative least squares on the block condensed to its bearings, by brute force."""
    model = slab((6, 4, 2))
    contact = between(model, (30.0, 4.0))
    (ours,) = touched(model, (contact,))
    K = model.stiffness.to_scipy().toarray()
    size = len(K)
    below, above = contact.bearings
    nodes = np.concatenate([below.nodes, above.nodes])
    normal = 3 * nodes + 2
    motion = np.zeros((len(nodes), 3))
    motion[len(below.nodes) :] = above.motions(model.space.nodes_mm[above.nodes])[:, 2]
    side = np.repeat([1.0, -1.0], [len(below.nodes), len(above.nodes)])
    inner = np.setdiff1d(np.setdiff1d(np.arange(size), normal), np.flatnonzero(contact.held))
    coupled = K[np.ix_(inner, normal)]
    condensed = K[np.ix_(normal, normal)] - coupled.T @ cho_solve(
        cho_factor(K[np.ix_(inner, inner)]), coupled
    )
    # Least work of the pushes among those that are nowhere negative and carry the load.
    value, vector = np.linalg.eigh(condensed)
    stiff = value > 1e-9 * value.max()
    assert (~stiff).sum() == 3
    work = (vector[:, stiff] / np.sqrt(value[stiff])).T * side
    x, y = (model.space.nodes_mm[nodes, :2] / LENGTH).T
    balance = np.vstack([motion.T, np.ones(len(nodes)), x, y]) * side
    right = np.concatenate([above.scaled_load_n, np.zeros(3)])
    weight = 1e5 * np.abs(work).max()
    push, _ = nnls(
        np.vstack([work, weight * balance]), np.concatenate([np.zeros(len(work)), weight * right])
    )
    area = np.concatenate([below.area_mm2, above.area_mm2])
    assert 0.1 < ours.touches[0].share < 0.9
    np.testing.assert_allclose(
        pressures(ours), push / area, rtol=0.0, atol=1e-6 * pressures(ours).max()
    )


@pytest.mark.parametrize("sticking", [False, True])
def test_the_other_library_moves_alike(plate: Model, sticking: bool) -> None:
    """NGSolve's stiffness of the same mesh, its mid-edges tied to the bearings, solved directly."""
    (ours,) = touched(plate, (between(plate, (28.0, 6.0), sticking),), goal=1e-10)
    grid = reference_mesh(plate.mesh)
    reference = Reference(grid, plate.steels[0].lame_mpa)
    reference.assembled()
    theirs = _their_movement(plate, ours, reference)
    mine = ours.displacement_mm[plate.space.vertex_node]
    assert 0.1 < ours.touches[0].share < 0.9
    assert np.abs(mine - theirs).max() < 1e-7 * np.abs(theirs).max()


def _their_movement(model: Model, ours: ContactSolution, reference: Reference) -> Floats:
    """(n, 3) at vertices: tie their mid-edge movements to the bearings, put the load on these."""
    grid, space = reference.grid, reference.space
    rows, columns, values = reference.form.mat.COO()
    K = sp.csr_matrix((np.array(values), (np.array(rows), np.array(columns))))
    scalar = space.components[0].ndof
    bump = ngs.GridFunction(space.components[0])
    edges = [tuple(sorted(v.nr for v in edge.vertices)) for edge in grid.edges]
    at = {
        ends: space.components[0].GetDofNrs(ngs.NodeId(ngs.EDGE, i))[0]
        for i, ends in enumerate(edges)
    }
    first = edges[0]
    bump.vec[at[first]] = 1.0
    height = bump(grid(*model.mesh.points_mm[list(first)].mean(axis=0)))
    width = sum(len(touch.motion_mm) for touch in ours.touches)
    tie: dict[int, tuple[int, int, Floats]] = {}
    start = 0
    for touch in ours.touches:
        bearing, moves = touch.bearing, len(touch.motion_mm)
        motion = bearing.motions(model.space.nodes_mm[bearing.nodes])
        tied = np.stack([touch.stuck, touch.stuck, touch.touching], axis=1)
        for row in np.flatnonzero(tied.any(axis=1)):
            a, b = (int(v) for v in model.space.node_ends[bearing.nodes[row]])
            for d in np.flatnonzero(tied[row]):
                own = np.zeros(width)
                own[start : start + moves] = motion[row, d]
                edge = at[min(a, b), max(a, b)]
                tie[d * scalar + edge] = (d * scalar + a, d * scalar + b, own)
        start += moves
    drift = {
        d * scalar + int(model.space.node_ends[node, 0])
        for node, d in zip(*np.nonzero(ours.contact.held), strict=True)
    }
    loose = [i for i in range(3 * scalar) if i not in tie and i not in drift]
    place = {dof: column for column, dof in enumerate(loose)}
    T = sp.lil_matrix((3 * scalar, len(loose) + width))
    for dof, column in place.items():
        T[dof, column] = 1.0
    for dof, (a, b, own) in tie.items():
        for end in (a, b):
            if end in place:
                T[dof, place[end]] = -0.5 / height
        T[dof, len(loose) :] = own / height
    T = T.tocsr()
    load = np.zeros(len(loose) + width)
    load[len(loose) :] = np.concatenate([t.bearing.scaled_load_n for t in ours.touches])
    moved = T @ splu((T.T @ K @ T).tocsc()).solve(load)
    return np.column_stack([moved[d * scalar : d * scalar + grid.nv] for d in range(3)])


@pytest.mark.parametrize("sticking", [False, True])
def test_resultants_are_the_load(plate: Model, sticking: bool) -> None:
    offset, shear = (26.0, -5.0), (3000.0, 0.0) if sticking else (0.0, 0.0)
    (solution,) = touched(plate, (between(plate, offset, sticking, shear_n=shear),))
    below, above = (touch.resultant for touch in solution.touches)
    assert solution.imbalance < 1e-6
    np.testing.assert_allclose(above, [*shear, -LOAD, 0.0, 0.0, 0.0], rtol=0.0, atol=1e-6 * LOAD)
    np.testing.assert_allclose(below[:3], -above[:3], rtol=0.0, atol=1e-6 * LOAD)
    # About the middle of the underside: the load's offset, and the shear's arm over the height.
    expected = [LOAD * offset[1] - HEIGHT * -shear[1], -(LOAD * offset[0] + HEIGHT * shear[0])]
    np.testing.assert_allclose(below[3:5], np.array(expected), rtol=0.0, atol=1e-6 * LOAD * LENGTH)


def test_nothing_pulls_and_nothing_passes_through(plate: Model) -> None:
    (solution,) = touched(plate, (between(plate, (28.0, 6.0)),))
    for touch in solution.touches:
        assert touch.pressure_mpa.min() >= -1e-6 * touch.pressure_mpa.max()
        assert touch.gap_mm.min() >= -1e-6 * touch.gap_mm.max()
        assert not np.any(touch.gap_mm[touch.touching])
        assert not np.any(touch.pressure_mpa[~touch.touching])


def test_twice_the_load_moves_twice_and_touches_alike(plate: Model) -> None:
    """Contact without a gap at rest is homogeneous of degree one."""
    once = between(plate, (28.0, 6.0))
    below, above = once.bearings
    twice = Contact(
        "twice",
        (below, Bearing(**{**vars(above), "load": 2.0 * above.load})),
        once.sticking,
        once.held,
        once.moved_mm,
        once.force_n,
    )
    one, two = touched(plate, (once, twice))
    np.testing.assert_allclose(
        two.displacement_mm,
        2.0 * one.displacement_mm,
        rtol=0.0,
        atol=1e-6 * np.abs(two.displacement_mm).max(),
    )
    for a, b in zip(one.touches, two.touches, strict=True):
        assert np.array_equal(a.touching, b.touching)


def test_a_small_seat_presses_only_under_itself(plate: Model) -> None:
    patch = Patch((40.0, 30.0), (float(MIDDLE[0]), float(MIDDLE[1])))
    (solution,) = touched(plate, (between(plate, (0.0, 0.0), patch=patch),))
    above = solution.touches[1].bearing
    away = np.abs(plate.space.nodes_mm[above.nodes, :2] - MIDDLE)
    assert (away <= [20.0, 15.0]).all()
    peak = peak_pressure(plate.space.nodes_mm, solution.touches[1], 6.0)
    assert LOAD / (40.0 * 30.0) < peak.pressure_mpa < solution.touches[1].pressure_mpa.max()


def test_nothing_touches_over_a_hole(plate: Model) -> None:
    """The whole load goes through what is left round it, its moment too."""
    below = bearing_on(plate, UNDERSIDE, 1.0, opening=Opening(30.0, (45.0, 30.0)))
    away = np.linalg.norm(plate.space.nodes_mm[below.nodes, :2] - MIDDLE, axis=1)
    assert away.min() >= 15.0
    plain = between(plate, (8.0, 0.0))
    (solution,) = touched(plate, (replace(plain, bearings=(below, plain.bearings[1])),))
    pushed = solution.touches[0].resultant
    np.testing.assert_allclose(pushed[:3], [0.0, 0.0, LOAD], rtol=0.0, atol=1e-6 * LOAD)
    arm = plain.bearings[1].at_mm[0] - below.at_mm[0]
    assert pushed[4] == pytest.approx(-LOAD * arm, rel=1e-5)
    with pytest.raises(SolveError, match="leaves nothing to bear on"):
        bearing_on(plate, UNDERSIDE, 1.0, opening=Opening(300.0, (45.0, 30.0)))


def test_a_carry_nears_what_the_body_does(plate: Model) -> None:
    """Of all fields that follow a bearing, the body takes that of least energy: SciPy solves it."""
    column = column_of(plate, between(plate, (28.0, 6.0)), 1.0)
    K = plate.stiffness.to_scipy().tocsc()
    free = column.free.ravel()
    inner = splu(K[free][:, free])
    energies = []
    for _ in range(4):
        column.better_carry(plate)
        follows = column.carry.reshape(len(free), -1) * ~free[:, None]
        energies.append(np.diag(column.carry_stiffness))
    assert np.all(np.diff(energies, axis=0) < 0.0)
    pulled = K @ follows
    least = follows.T @ pulled - pulled[free].T @ inner.solve(pulled[free])
    np.testing.assert_allclose(column.carry_stiffness, least, rtol=0.0, atol=0.05 * least.max())
    assert np.all(energies[-1] > 0.999 * np.diag(least))


def test_a_load_off_its_seat_tips_it_over(plate: Model) -> None:
    with pytest.raises(SolveError, match="falls off its seat; use a smaller offset"):
        touched(plate, (between(plate, (50.0, 0.0)),))
