"""The weld formulae: how a force turns in the throat, and where the standards draw their lines."""

import numpy as np
import pytest

from fea.throat import (
    E70_MPA,
    INCH_MM,
    aisc_counted_leg_mm,
    aisc_least_leg_mm,
    aisc_shortest_mm,
    aisc_strength_mpa,
    aisc_used,
    correlation_factor,
    en_directional,
    en_least_leg_mm,
    en_shortest_mm,
    en_simplified,
    throat_share,
    throat_stress,
)

# Forces of unit size: apart, outward, along.
PULL, OUTWARD, ALONG = np.eye(3)


@pytest.mark.parametrize("angle", [60.0, 90.0, 104.5, 120.0])
def test_the_throat_carries_the_whole_force(angle: float) -> None:
    """Equilibrium: σ⊥² + τ⊥² + τ∥² = |F|² / a² for a plane of any slope."""
    force = np.array([[3.0, -5.0, 2.0], [-1.0, 4.0, 7.0]])
    stress = throat_stress(force, 2.0, angle)
    size = stress.square**2 + stress.across**2 + stress.along**2
    np.testing.assert_allclose(size, (force**2).sum(axis=1) / 4.0)


def test_a_square_fillet_splits_a_pull_evenly() -> None:
    """EN 1993-1-8, figure 4.5: σ⊥ = τ⊥ = F / (a √2) at 45°."""
    pulled, pushed_out = throat_stress(PULL, 1.0), throat_stress(OUTWARD, 1.0)
    assert float(pulled.square) == pytest.approx(0.5**0.5)
    assert float(pulled.across) == pytest.approx(0.5**0.5)
    # What stands pushes outward along the plate: it leans on the throat and squeezes it.
    assert float(pushed_out.square) == pytest.approx(-(0.5**0.5))
    assert float(pushed_out.across) == pytest.approx(0.5**0.5)


def test_a_force_in_the_throat_plane_is_all_shear_and_one_square_to_it_none() -> None:
    in_plane, square = throat_stress(PULL + OUTWARD, 1.0), throat_stress(PULL - OUTWARD, 1.0)
    assert float(in_plane.square) == pytest.approx(0.0, abs=1e-12)
    assert float(in_plane.across) == pytest.approx(2.0**0.5)
    assert float(square.across) == pytest.approx(0.0, abs=1e-12)
    assert float(square.square) == pytest.approx(2.0**0.5)
    # Square to the throat the second condition decides; the simplified method sees no direction.
    args = (4.0, 490.0, 0.9)
    ratio = en_directional(PULL + OUTWARD, *args) / en_directional(PULL - OUTWARD, *args)
    assert float(ratio) == pytest.approx(3.0**0.5 * 0.9 * 0.9)
    assert float(en_simplified(PULL + OUTWARD, *args)) == pytest.approx(
        float(en_simplified(PULL - OUTWARD, *args))
    )


def test_the_second_condition_decides_where_the_factor_is_small() -> None:
    """σ⊥ ≤ 0.9 fu / γM2: with βw below 0.9 a force square to the throat meets it first."""
    used = en_directional(PULL - OUTWARD, 1.0, 100.0, 0.8, gamma=1.0)
    assert float(used) == pytest.approx(2.0**0.5 / 90.0)


def test_the_wider_the_corner_the_thinner_the_throat() -> None:
    assert throat_share(90.0) == pytest.approx(0.5**0.5)
    assert throat_share(120.0) == pytest.approx(0.5)
    assert throat_share(60.0) == pytest.approx(0.75**0.5)


def test_aisc_gives_half_more_across_than_along() -> None:
    """AISC 360, equation J2-5: 1 + 0.50 sin^1.5 θ is 1 along and 1.5 across."""
    strength = aisc_strength_mpa(np.array([ALONG, PULL, OUTWARD]), E70_MPA)
    np.testing.assert_allclose(strength, 0.60 * E70_MPA * np.array([1.0, 1.5, 1.5]))
    plain = aisc_strength_mpa(np.array([ALONG, PULL]), E70_MPA, np.array([False, False]))
    np.testing.assert_allclose(plain, 0.60 * E70_MPA)
    assert float(aisc_strength_mpa(np.zeros(3), E70_MPA)) == pytest.approx(0.60 * E70_MPA)
    assert float(aisc_used(PULL, 2.0, E70_MPA, 0.75)) == pytest.approx(
        1.0 / (2.0 * 0.75 * 0.9 * E70_MPA)
    )


@pytest.mark.parametrize(
    ("name", "ultimate", "factor"),
    [
        ("S235", 360.0, 0.8),
        ("S275", 430.0, 0.85),
        ("S355", 510.0, 0.9),
        ("A36", 400.0, 0.85),
        ("mill cert", 350.0, 0.8),
        ("mill cert", 511.0, 1.0),
    ],
)
def test_correlation_factors(name: str, ultimate: float, factor: float) -> None:
    """EN 1993-1-8, table 4.1; steels outside it by the next stronger grade (our judgement)."""
    assert correlation_factor(name, ultimate) == factor


@pytest.mark.parametrize(
    ("thick_in", "leg_in"),
    [(0.1, 1 / 8), (1 / 4, 1 / 8), (0.2501, 3 / 16), (0.51, 1 / 4), (0.76, 5 / 16), (3.0, 5 / 16)],
)
def test_least_legs_by_aisc(thick_in: float, leg_in: float) -> None:
    """AISC 360, table J2.4, at and past its steps."""
    assert aisc_least_leg_mm(thick_in * INCH_MM) == pytest.approx(leg_in * INCH_MM)


def test_least_and_shortest_fillets() -> None:
    """EN 1993-1-8, 4.5.1 and 4.5.2; its German annex above 12.25 mm; AISC 360, J2.2b."""
    assert en_least_leg_mm(8.0) == pytest.approx(3.0 * 2.0**0.5)
    assert en_least_leg_mm(25.0) == pytest.approx(4.5 * 2.0**0.5)
    assert en_least_leg_mm(8.0, 120.0) == pytest.approx(6.0)
    assert (en_shortest_mm(3.5), en_shortest_mm(6.0)) == (30.0, 36.0)
    assert aisc_shortest_mm(5.0) == 20.0
    assert (aisc_counted_leg_mm(5.0, 12.0), aisc_counted_leg_mm(5.0, 44.0)) == (3.0, 5.0)
