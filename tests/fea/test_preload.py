"""Loads on a clamped block, against statics and against solving everything at once."""

import numpy as np
import pytest
from shapes import brick, near

from fea.bearing import Patch, Seat, seat_on, seated
from fea.clamped_yield import clamped_strength
from fea.elasticity import vertex_stress_mpa
from fea.model import Model, modelled
from fea.preload import Clamped, ClampedPath, clamp_alone, load_columns, opening_moment_n_mm
from fea.solving import solved
from fea.steel import Steel
from fea.yielding import strength

LENGTH, WIDTH, HEIGHT = 120.0, 80.0, 30.0
MIDDLE = np.array([LENGTH / 2, WIDTH / 2])
CLAMP, LOAD = 20_000.0, 5_000.0
STILL = np.zeros(2)


@pytest.fixture(scope="module")
def slab() -> Model:
    """A block between a wide seat above and a narrow strip below, so that it bends."""
    mesh = brick(
        (12, 8, 3),
        (LENGTH, WIDTH, HEIGHT),
        thickness_mm=HEIGHT / 2,
        **{
            "bottom plate underside": lambda p: near(p, 2, 0.0),
            "top": lambda p: near(p, 2, HEIGHT),
        },
    )
    return modelled(mesh, (Steel("S355", 355.0, 490.0),))


def _clamped(
    model: Model,
    offset: float,
    shear: tuple[float, float] = (0.0, 0.0),
    clamp_n: float = CLAMP,
    bottom: Seat | None = None,
) -> Clamped:
    return Clamped(
        model=model,
        name="wrap",
        top=seat_on(model, "top"),
        bottom=bottom or seat_on(model, "bottom plate underside"),
        clamp_n=clamp_n,
        middle_mm=MIDDLE,
        load_n=LOAD,
        at_mm=MIDDLE + [offset, 0.0],
        shear_n=np.array(shear),
    )


def _path(clamped: Clamped) -> tuple[ClampedPath, np.ndarray]:
    """The path, and the stress under the clamp alone."""
    c = clamped
    alone = clamp_alone(c.model, "clamp", c.top, c.bottom, c.clamp_n, c.middle_mm)
    first, *rest = solved(c.model, (alone, *load_columns(c)), goal=1e-11)
    path = ClampedPath(c, first, tuple(rest))
    return path, vertex_stress_mpa(c.model, first.displacement_mm)


@pytest.mark.parametrize("offset", [12.0, 30.0, -45.0])
def test_the_seat_opens_where_statics_says(slab: Model, offset: float) -> None:
    """Kern of a rectangle, L/6: λ P e = (N + λ P) L/6 as the load grows."""
    clamped = _clamped(slab, offset)
    kern = LENGTH / 6
    exact = CLAMP * kern / (LOAD * (abs(offset) - kern)) if abs(offset) > kern else np.inf
    assert clamped.opens_at == pytest.approx(exact, rel=1e-9)
    # Sampled inside elements, pressure is last found a little before the very edge.
    assert clamped.closed_up_to == pytest.approx(exact, rel=0.03)
    assert clamped.closed_up_to >= clamped.opens_at


def test_the_moment_that_opens_a_seat_is_force_times_a_sixth(slab: Model) -> None:
    """Kern of a rectangle, L/6 and W/6; off the middle towards the edge, less by P e."""
    seat = seat_on(slab, "top")
    for direction, size in (([1.0, 0.0], LENGTH), ([0.0, -1.0], WIDTH)):
        found = opening_moment_n_mm(slab, seat, LOAD, MIDDLE, np.array(direction))
        assert found == pytest.approx(LOAD * size / 6, rel=1e-9)
    moved = opening_moment_n_mm(slab, seat, LOAD, MIDDLE + [5.0, 0.0], np.array([1.0, 0.0]))
    assert moved == pytest.approx(LOAD * (LENGTH / 6 - 5.0), rel=1e-9)
    beyond = opening_moment_n_mm(slab, seat, LOAD, MIDDLE + [25.0, 0.0], np.array([1.0, 0.0]))
    assert beyond == 0.0


def test_shear_opens_the_lower_seat_first(slab: Model) -> None:
    """Below, the moment is larger by shear times height: λ (P e + V h) = (N + λ P) L/6."""
    clamped = _clamped(slab, 30.0, (1_000.0, 0.0))
    kern = LENGTH / 6
    exact = CLAMP * kern / (LOAD * (30.0 - kern) + 1_000.0 * HEIGHT)
    assert clamped.opens_at == pytest.approx(exact, rel=1e-9)


@pytest.mark.parametrize("shear", [(0.0, 0.0), (900.0, 400.0)])
@pytest.mark.parametrize("share", [0.2, 0.95])
def test_while_closed_the_parts_add_up_to_the_whole(
    slab: Model, shear: tuple[float, float], share: float
) -> None:
    clamped = _clamped(slab, 30.0, shear)
    path, _ = _path(clamped)
    multiple = share * clamped.closed_up_to
    (whole,) = solved(slab, (clamped.problem_at(multiple),), goal=1e-11)
    off = np.abs(path.displacement_mm(multiple) - whole.displacement_mm).max()
    assert off < 1e-8 * np.abs(whole.displacement_mm).max()
    assert path.further_solves == 0


def test_past_lift_off_states_between_solved_ones_are_close(slab: Model) -> None:
    """The cubic through four solutions against a solution of its own."""
    clamped = _clamped(slab, 40.0)
    path, _ = _path(clamped)
    reached = 3.0 * clamped.closed_up_to
    path.displacement_mm(reached)
    solved_before = path.further_solves
    for multiple in (0.85 * reached, 1.08 * reached, 1.3 * reached):
        (whole,) = solved(slab, (clamped.problem_at(multiple),))
        off = np.abs(path.displacement_mm(multiple) - whole.displacement_mm).max()
        assert off < 2e-3 * np.abs(whole.displacement_mm).max()
    assert path.further_solves == solved_before
    # And it is not what superposition would say.
    (whole,) = solved(slab, (clamped.problem_at(reached),))
    wrong = np.abs(path.closed_displacement_mm(reached) - whole.displacement_mm).max()
    assert wrong > 0.05 * np.abs(whole.displacement_mm).max()


@pytest.mark.parametrize("offset", [15.0, 40.0])
def test_without_a_clamp_first_yield_is_that_of_the_load_alone(slab: Model, offset: float) -> None:
    """A clamp of a thousandth of a newton, inside the kern and beyond it."""
    clamped = _clamped(slab, offset, clamp_n=1e-3)
    path, alone = _path(clamped)
    found = clamped_strength(slab, path, strength(slab, alone))
    c = clamped
    (plain,) = solved(slab, (seated(slab, "wrap", c.top, c.bottom, LOAD, c.at_mm, STILL),))
    expected = strength(slab, vertex_stress_mpa(slab, plain.displacement_mm))
    for measure in ("starts", "shows"):
        ours, theirs = getattr(found, measure), getattr(expected, measure)
        assert ours.utilisation == pytest.approx(theirs.utilisation, rel=1e-4)
        assert ours.part == theirs.part
    assert found.raw_peak_mpa == pytest.approx(expected.raw_peak_mpa, rel=1e-4)


@pytest.mark.parametrize(
    ("clamp_share", "offset", "opens"),
    [(0.1, 40.0, True), (0.25, 45.0, True), (0.5, 40.0, False), (0.8, 22.0, False)],
)
def test_at_first_yield_the_whole_solution_just_reaches_yield(
    slab: Model, clamp_share: float, offset: float, opens: bool
) -> None:
    """Clamps that use a tenth to four fifths of yield, with the seats opening or not."""
    strip = seat_on(slab, "bottom plate underside", Patch((100.0, WIDTH), (60.0, 40.0)))
    unit = _clamped(slab, offset, bottom=strip)
    _, stress = _path(unit)
    clamp_n = CLAMP * clamp_share / strength(slab, stress).starts.utilisation
    clamped = _clamped(slab, offset, clamp_n=clamp_n, bottom=strip)
    path, stress = _path(clamped)
    alone = strength(slab, stress)
    assert alone.starts.utilisation == pytest.approx(clamp_share, rel=1e-6)
    found = clamped_strength(slab, path, alone)
    for measure, slack in (("starts", 0.005), ("shows", 0.02)):
        multiple = 1.0 / getattr(found, measure).utilisation
        (whole,) = solved(slab, (clamped.problem_at(multiple),))
        judged = strength(slab, vertex_stress_mpa(slab, whole.displacement_mm))
        assert getattr(judged, measure).utilisation == pytest.approx(1.0, abs=slack)
        if measure == "starts":
            assert (multiple > clamped.opens_at) == opens
    assert found.shows.utilisation <= found.starts.utilisation


def test_growing_ends_where_the_load_falls_off_its_seat(slab: Model) -> None:
    """A strip 60 mm wide below: N and λ P together act at its edge when λ P (e − 30) = 30 N."""
    strip = seat_on(slab, "bottom plate underside", Patch((60.0, WIDTH), (60.0, 40.0)))
    clamped = _clamped(slab, 40.0, bottom=strip)
    exact = 30.0 * CLAMP / (LOAD * (40.0 - 30.0))
    assert 0.8 * exact < clamped.falls_at < exact
    path, stress = _path(clamped)
    found = clamped_strength(slab, path, strength(slab, stress))
    assert found.starts.utilisation == found.shows.utilisation
    assert 1.0 / found.starts.utilisation == pytest.approx(clamped.falls_at, rel=1e-12)


def test_a_clamp_past_yield_leaves_no_load(slab: Model) -> None:
    clamped = _clamped(slab, 10.0)
    path, stress = _path(clamped)
    crushing = clamped_strength(slab, path, strength(slab, stress * 1000.0))
    assert crushing.starts.utilisation == np.inf
    assert LOAD / crushing.starts.utilisation == 0.0
