"""Yielding steel against its own definitions: slopes, energy, unloading, steps, hardening."""

import numpy as np
import pytest

from fea.errors import InputError, SolveError
from fea.hardening import Hardening, bilinear, perfect, quad_linear
from fea.mesh import Floats
from fea.model import Model
from fea.plasticity import material, responded, virgin, yield_stress_mpa
from fea.steel import Steel
from fea.stepping import Followed, Loading, followed
from fea.tangent import Frame, framed
from fea.tangent_cycle import tangent_of, times_tangent
from studies.published.plastic_bodies import at, box_model, held, moved, pressed

STEEL = Steel("S355", 355.0, 490.0)


def _bar() -> Model:
    ticks = np.linspace(0.0, 1.0, 4)
    return box_model(STEEL, (4.0 * np.linspace(0.0, 1.0, 6), ticks, ticks))


def _bent(model: Model, by_mm: float) -> Loading:
    """Built in at one end, the other moved sideways."""
    root, end = at(model, 0, 0.0), at(model, 0, 4.0)
    fixed = held(model, (root, 0), (root, 1), (root, 2), (end, 2))
    return Loading(fixed, moved(model, end, 2, by_mm), np.zeros_like(model.space.nodes_mm))


def _push_n(run: Followed, model: Model) -> Floats:
    end = at(model, 0, 4.0)
    return np.array([point.reaction_n[end, 2].sum() for point in run.points])


@pytest.fixture(scope="module")
def frame() -> Frame:
    return framed(material(_bar(), bilinear))


def test_tangent_is_the_slope_of_the_forces(frame: Frame) -> None:
    """Newton's method converges fast only if it is: compared with central differences."""
    model = frame.steel.model
    x = model.space.nodes_mm
    u = 0.02 * np.column_stack([x[:, 0] * x[:, 1], x[:, 1] ** 2, -x[:, 2] * x[:, 0]])
    once = responded(frame.steel, virgin(model), 0.7 * u).plastic
    now = responded(frame.steel, once, u)
    assert now.yielding.mean() > 0.5
    change = np.random.default_rng(1).standard_normal(u.shape)
    ahead, back = (responded(frame.steel, once, u + s * 1e-7 * change).force_n for s in (1, -1))
    tangent = tangent_of(frame, now, np.zeros(u.shape, dtype=bool))
    slope = (ahead - back) / 2e-7
    gap = np.abs(times_tangent(tangent, change) - slope).max()
    assert gap < 1e-3 * np.abs(slope).max()


def test_work_done_is_stored_or_lost_as_heat(frame: Frame) -> None:
    """First law: work of the push = elastic energy + ∫ σ : dε_p, by the trapezium rule on both."""
    model = frame.steel.model
    factors = tuple(np.linspace(0.0, 1.0, 31)[1:])
    run = followed(frame, _bent(model, 0.3), factors, 1e-5)
    push = np.concatenate([[0.0], _push_n(run, model)])
    work = float(np.trapezoid(push, 0.3 * np.concatenate([[0.0], factors])))
    volume = model.mesh.tet_volumes_mm3[:, None] / 4.0
    double = np.array([1.0, 1.0, 1.0, 2.0, 2.0, 2.0])
    heat, before, stress = 0.0, virgin(model).strain, np.zeros_like(virgin(model).strain)
    for point in run.points:
        response = point.response
        mean = (response.stress_mpa + stress) / 2.0
        heat += float((volume * ((mean * (response.plastic.strain - before)) @ double)).sum())
        before, stress = response.plastic.strain, response.stress_mpa
    mean = stress[..., :3].mean(axis=-1)
    deviator = stress.copy()
    deviator[..., :3] -= mean[..., None]
    lam, mu = STEEL.lame_mpa
    stored = (deviator**2 @ double) / (4.0 * mu) + mean**2 / (2.0 * (lam + 2.0 * mu / 3.0))
    assert heat > 0.5 * work
    assert heat + float((volume * stored).sum()) == pytest.approx(work, rel=2e-3)


def test_unloading_goes_back_along_the_elastic_line(frame: Frame) -> None:
    model = frame.steel.model
    run = followed(frame, _bent(model, 0.2), (0.01, 0.3, 0.6, 1.0, 0.95, 0.9), 1e-6)
    push = _push_n(run, model)
    elastic = push[0] / 0.01
    assert push[3] < 0.7 * elastic
    assert (push[3] - push[5]) / 0.1 == pytest.approx(elastic, rel=1e-3)
    # Only at the built-in edge, where the stress has no limit, may a point flow back.
    assert run.points[5].response.yielding.mean() < 0.01


def test_half_the_steps_give_the_same_curve(frame: Frame) -> None:
    model = frame.steel.model
    loading = _bent(model, 0.3)
    many = followed(frame, loading, tuple(np.linspace(0.0, 1.0, 17)[1:]))
    few = followed(frame, loading, tuple(np.linspace(0.0, 1.0, 9)[1:]))
    np.testing.assert_allclose(_push_n(few, model), _push_n(many, model)[1::2], rtol=5e-3)


def test_stress_never_leaves_the_yield_surface(frame: Frame) -> None:
    model = frame.steel.model
    x = model.space.nodes_mm
    now = responded(frame.steel, virgin(model), 0.03 * x * x[:, [1, 2, 0]])
    stress = now.stress_mpa.copy()
    stress[..., :3] -= stress[..., :3].mean(axis=-1, keepdims=True)
    size = np.sqrt(1.5 * (stress**2 @ np.array([1.0, 1.0, 1.0, 2.0, 2.0, 2.0])))
    limit = yield_stress_mpa(frame.steel, now.plastic.amount)
    flowing = now.plastic.amount > 0.0
    assert flowing.any()
    np.testing.assert_allclose(size[flowing], limit[flowing], rtol=1e-9)
    assert (size[~flowing] <= limit[~flowing] * (1.0 + 1e-12)).all()


def test_load_past_the_limit_is_refused_in_one_line() -> None:
    """A bar without hardening, pulled by 5 % more than area times yield."""
    model = _bar()
    root, end = at(model, 0, 0.0), at(model, 0, 4.0)
    fixed = held(model, (root, 0), (at(model, 1, 0.0), 1), (at(model, 2, 0.0), 2))
    loading = Loading(fixed, np.zeros_like(model.space.nodes_mm), pressed(model, end, -355.0))
    frame = framed(material(model, perfect))
    assert len(followed(frame, loading, (0.5, 0.99)).points) == 2
    with pytest.raises(SolveError, match=r"past (0\.99|1)"):
        followed(frame, loading, (0.5, 0.99, 1.05))


def test_plateau_and_rise_of_hot_rolled_steel() -> None:
    """Yun & Gardner 2017 by hand for S355 with fu = 490: ε_sh 1.745 %, ε_u 16.53 %."""
    law = quad_linear(STEEL)
    total = np.array(law.strain) + np.array(law.stress_mpa) / STEEL.e_mpa
    assert law.stress_mpa[0] == 355.0
    assert law.stress_mpa[-1] == pytest.approx(490.0)
    assert total[1] == pytest.approx(0.1 * 355 / 490 - 0.055, abs=1e-6)
    assert total[-1] == pytest.approx(0.6 * (1 - 355 / 490), abs=1e-6)
    at_quarter = 355.0 + 0.25 / 0.4 * (490.0 - 355.0)
    assert law.stress_mpa[2] == pytest.approx(at_quarter, rel=1e-6)


def test_laws_that_make_no_sense_are_refused() -> None:
    for strain, stress in (((0.1,), (355.0,)), ((0.0, 0.1), (355.0, 300.0)), ((0.0,), (-1.0,))):
        with pytest.raises(InputError):
            Hardening(strain, stress, "nonsense")
