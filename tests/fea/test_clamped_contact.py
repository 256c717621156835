"""First yield of a clamped block between stiff seats, read off states by the load's share."""

import pytest

from fea.clamped_contact import multiple_at, share_at, yield_share

CLAMP, LOAD = 100.0, 30.0


def test_shares_and_multiples_are_each_other_turned_round() -> None:
    assert share_at(2.0, CLAMP, LOAD) == pytest.approx(60.0 / 160.0)
    assert multiple_at(share_at(7.0, CLAMP, LOAD), CLAMP, LOAD) == pytest.approx(7.0)


def test_what_carries_as_much_anywhere_yields_at_that_load_in_all() -> None:
    """Clamp and load together reach 400 N when the load is 300 N, ten times 30 N."""
    for known in ({0.0: 400.0, 0.4: 400.0}, {0.0: 400.0, 0.9: 400.0}):
        assert multiple_at(yield_share(known, CLAMP), CLAMP, LOAD) == pytest.approx(10.0)


def test_a_bar_bent_by_its_load_yields_by_the_sum_of_both_stresses() -> None:
    """σ = (N + λ P) / A + 6 λ P e / (A h), and h(s) = A σ / (1 + 6 s e / h): exact where solved."""
    area, yields, arm = 2.0, 300.0, 6.0 * 5.0 / 20.0
    carried = {s: area * yields / (1.0 + arm * s) for s in (0.0, 0.3, 2.0 / 3.0)}
    exact = (area * yields - CLAMP) / (LOAD * (1.0 + arm))
    assert share_at(exact, CLAMP, LOAD) == pytest.approx(2.0 / 3.0)
    assert multiple_at(yield_share(carried, CLAMP), CLAMP, LOAD) == pytest.approx(exact)


def test_a_clamp_that_makes_it_yield_leaves_nothing() -> None:
    assert yield_share({0.0: 90.0, 0.5: 80.0}, CLAMP) == 0.0
