"""The yield measures on problems with a known answer."""

import numpy as np
import pytest
from blocks import bare_block

from fea import searching, yielding
from fea.averaging import averaged_stress, sorted_in_cells
from fea.bearing import platen_crush
from fea.elasticity import vertex_stress_mpa, von_mises_mpa
from fea.model import Model, modelled
from fea.solving import solved
from fea.steel import Steel
from fea.yielding import strength
from geometry.amounts import steels_of
from geometry.mesher import SETTINGS, meshed
from geometry.skin import UNDERSIDE, UPPERSIDE
from studies.published.bodies import brick, near

THICK = 8.0


@pytest.fixture(scope="module")
def plate() -> Model:
    mesh = brick(
        (20, 8, 3), (60.0, 24.0, THICK), thickness_mm=THICK, top=lambda p: near(p, 2, THICK)
    )
    return modelled(mesh, (Steel("S355", 355.0, 490.0),))


def _stress(model: Model, xx) -> np.ndarray:
    """Stress (m, 4, 6) with only σxx, given at points (m, 4, 3)."""
    stress = np.zeros((*model.mesh.tets.shape, 6))
    stress[..., 0] = xx(model.mesh.points_mm[model.mesh.tets])
    return stress


def test_a_bar_in_tension_is_exact(plate: Model) -> None:
    found = strength(plate, _stress(plate, lambda x: 71.0 + 0 * x[..., 0]))
    assert found.starts.utilisation == pytest.approx(71.0 / 355.0, rel=1e-9)
    assert found.shows.utilisation == pytest.approx(71.0 / 355.0, rel=1e-9)
    assert found.starts.length_mm == THICK / 4 or found.starts.length_mm == THICK / 2


def test_a_plate_in_bending_starts_at_its_skin(plate: Model) -> None:
    """σ = M z / I: the disc on the skin sees all of it; it shows at a moment by plastic bending."""
    found = strength(plate, _stress(plate, lambda x: 100.0 * (x[..., 2] / THICK * 2 - 1)))
    assert found.starts.stress_mpa == pytest.approx(100.0, rel=1e-9)
    assert found.starts.length_mm == THICK / 2
    # 0.05 % plastic strain on 355/210000 elastic: an elastic core of 77 % of the depth.
    core = 1.0 / (1.0 + 0.0005 * 210_000.0 / 355.0)
    assert found.shows.stress_mpa == pytest.approx(100.0 / (1.5 - core**2 / 2.0), rel=1e-9)


def test_yielding_never_shows_before_it_starts(plate: Model) -> None:
    rng = np.random.default_rng(7)
    for _ in range(5):
        k = rng.normal(size=3) / 6.0
        found = strength(plate, _stress(plate, lambda x, k=k: 100.0 * np.sin(x @ k)))
        assert found.starts.utilisation >= found.shows.utilisation
        assert found.starts.stress_mpa <= found.raw_peak_mpa * (1 + 1e-12)


def _ridge(x: np.ndarray) -> np.ndarray:
    return np.maximum(100.0 - 10.0 * np.abs(x[..., 0] - 30.0), 0.0)


def test_a_ridge_on_the_skin_is_averaged_over_the_disc(plate: Model) -> None:
    """σ = 100 − 10 |x|: a disc's mean |x| is that of its half disc's centroid, 4r/3π."""
    fading = _stress(plate, lambda x: _ridge(x) * (x[..., 2] / THICK) ** 3)
    found = strength(plate, fading)
    assert found.starts.stress_mpa == pytest.approx(100.0 - 10.0 * 4 * 4 / (3 * np.pi), rel=0.003)
    assert found.starts.point_mm[0] == pytest.approx(30.0, abs=1e-9)


def test_a_ridge_right_through_is_averaged_over_the_ball(plate: Model) -> None:
    """The same through the whole thickness: a ball's mean |x| is 3r/8, and it governs."""
    found = strength(plate, _stress(plate, _ridge))
    assert found.starts.stress_mpa == pytest.approx(100.0 - 10.0 * 3 * 2 / 8, rel=0.003)


def test_yielding_shows_where_a_patch_of_skin_yields_right_through(plate: Model) -> None:
    """A band of skin of 100 mm² round the ridge, and of the balls there the one furthest off.

    The ridge runs over four faces of the plate: 2 (24 + 8) mm about. A ball as wide as the plate
    is thick, whole inside the plate, has its middle's stress where the ridge is straight.
    """
    stress = _stress(plate, lambda x: 100.0 - 2.0 * np.abs(x[..., 0] - 30.0))
    found = strength(plate, stress)
    mesh = plate.mesh
    lowest = 100.0 - 2.0 * 100.0 / (2.0 * (24.0 + THICK)) / 2.0
    assert found.shows.stress_mpa == pytest.approx(lowest, rel=0.05)
    assert abs(found.shows.point_mm[0] - 30.0) < 3.0
    dark = np.abs(mesh.points_mm[mesh.skin_facets].mean(axis=1)[:, 0] - 30.0) > 20.0
    away = strength(plate, stress, seen=dark)
    assert away.starts == found.starts
    assert away.shows.stress_mpa < 100.0 - 2.0 * 19.0


def test_other_lengths_are_told(plate: Model) -> None:
    """The ridge once more, summed over what of the smaller and the larger disc lies on the face."""
    fading = _stress(plate, lambda x: _ridge(x) * (x[..., 2] / THICK) ** 3)
    starts = strength(plate, fading).starts
    x, y = np.meshgrid(np.arange(0.05, 60.0, 0.1), np.arange(0.05, 24.0, 0.1))
    away = np.hypot(x - starts.point_mm[0], y - starts.point_mm[1])
    for radius, share in ((THICK / 4, starts.over_half), (THICK, starts.over_double)):
        by_hand = (100.0 - 10.0 * np.abs(x - 30.0))[away < radius].mean()
        assert share * 355.0 == pytest.approx(by_hand, rel=0.005)


def test_a_free_face_is_judged_by_the_strain_along_it(plate: Model) -> None:
    """Push and shear on a face that nothing presses on are an error: a strain gauge sees none."""
    stress = _stress(plate, lambda x: 71.0 + 0 * x[..., 0])
    stress[..., 2] = 30.0
    stress[..., 5] = -20.0
    top = strength(plate, stress, ["top"]).starts
    # The same strain along the face without σzz: ν/(1 − ν) of it goes from σxx and from σyy.
    gone = 30.0 * 0.3 / 0.7
    alike = von_mises_mpa(np.array([71.0 - gone, -gone, 0, 0, 0, 0]))
    rest = von_mises_mpa(np.array([71.0, 0, 30.0, 0, 0, -20.0]))
    assert top.stress_mpa == pytest.approx(max(alike, rest), rel=1e-9)
    everything = plate.mesh.kept_tets(())
    pressed, free = yielding._discs(plate, stress, everything, ["top"], 0.5)
    assert np.allclose(von_mises_mpa(pressed.stress) * 355.0, rest, rtol=1e-9)
    assert np.allclose(von_mises_mpa(free.stress) * 355.0, alike, rtol=1e-9)


@pytest.mark.parametrize("width", [3, 4])
def test_a_simplex_is_cut_into_equal_pieces(width: int) -> None:
    points = searching._inside(width, 4)
    assert len(points) == 4 ** (width - 1)
    assert np.allclose(points.mean(axis=0), 1.0 / width)
    assert np.allclose(points.sum(axis=1), 1.0)
    assert points.min() == pytest.approx(1.0 / (4 * width))
    # An eighth or a quarter of them lies beyond the middle of the edges from each corner.
    assert ((points > 0.5).sum(axis=0) == 2 ** (width - 1)).all()


def test_taking_traction_away_leaves_the_strain_along_any_face() -> None:
    rng = np.random.default_rng(11)
    stress, normals = rng.normal(size=(20, 3, 6)), rng.normal(size=(20, 3))
    normals /= np.linalg.norm(normals, axis=1)[:, None]
    lame = np.array(Steel("any", 1.0, 1.0, 70_000.0, 0.2).lame_mpa)
    freed = yielding._without_traction(stress, normals, np.broadcast_to(lame, (20, 2)))
    before, after = (one[..., [[0, 3, 5], [3, 1, 4], [5, 4, 2]]] for one in (stress, freed))
    assert np.abs(np.einsum("fvij,fj->fvi", after, normals)).max() < 1e-12
    change = after - before
    swell = np.trace(change, axis1=-2, axis2=-1) * lame[0] / (3 * lame[0] + 2 * lame[1])
    strain = (change - swell[..., None, None] * np.eye(3)) / (2.0 * lame[1])
    along = np.eye(3) - normals[:, :, None] * normals[:, None, :]
    assert np.abs(np.einsum("fij,fvjk,fkl->fvil", along, strain, along)).max() < 1e-15


def test_the_weaker_part_is_found(plate: Model) -> None:
    soft = modelled(plate.mesh, (Steel("soft", 100.0, 200.0),))
    stress = _stress(plate, lambda x: 71.0 + 0 * x[..., 0])
    assert strength(soft, stress).starts.utilisation == pytest.approx(0.71, rel=1e-9)


def test_cells_hold_their_neighbours_at_any_position() -> None:
    """A flat triangle far from the origin, where the cubes' corner is subject to rounding."""
    rng = np.random.default_rng(5)
    samples = np.full((1, 3), 1.0 / 3.0)
    for shift in rng.uniform(-500.0, 500.0, (300, 3)):
        corners = np.array([[[0.0, 0, 0], [1, 0, 0], [0, 1, 0]]]) + shift
        cells = sorted_in_cells(corners, np.array([0.5]), rng.uniform(0.2, 5.0))
        assert len(cells.starts) == cells.counts.prod() + 1
        inside = (corners[0] - cells.low_mm) / cells.side_mm
        assert (inside >= 1.0).all()
        assert (inside.astype(int) + 1 < cells.counts).all()
        mean = averaged_stress(cells, np.ones((1, 3, 6)), corners[0] * 0.5 + shift * 0.5, samples)
        assert np.isin(np.round(mean, 12), (0.0, 1.0)).all()


def test_von_mises_of_pure_shear() -> None:
    """√3 τ (von Mises 1913)."""
    assert von_mises_mpa(np.array([0, 0, 0, 50.0, 0, 0])) == pytest.approx(50.0 * 3**0.5)


def test_a_glance_misses_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    """On a whole block the search in two looks finds what looking closely everywhere finds."""
    block = bare_block()
    mesh = meshed(block, SETTINGS["quick"])
    model = modelled(mesh, steels_of(block, mesh))
    crush = platen_crush(model, "crush", UNDERSIDE, UPPERSIDE, friction=False)
    (solution,) = solved(model, (crush,))
    stress = vertex_stress_mpa(model, solution.displacement_mm)
    rng = np.random.default_rng(3)
    for rough in (0.0, 0.3):
        loaded = stress * (1.0 + rough * rng.standard_normal((*stress.shape[:2], 1)))
        quick = strength(model, loaded)
        with monkeypatch.context() as patch:
            patch.setattr(searching, "_GLANCE_ERROR", 0.6)
            patch.setattr(searching, "_WARM", 0.0)
            patch.setattr(searching, "_LOOK_ERROR", 0.8)
            full = strength(model, loaded)
        assert quick.starts.utilisation == pytest.approx(full.starts.utilisation, rel=0.01)
        assert quick.shows.utilisation == pytest.approx(full.shows.utilisation, rel=0.01)
