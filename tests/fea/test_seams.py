"""Forces on lines: what evening out keeps, and what it must not do."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fea.seams import evened


@given(st.floats(1.0, 60.0), st.booleans())
def test_what_is_even_stays_even(over: float, closed: bool) -> None:
    np.testing.assert_allclose(evened(np.full((12, 1), 7.0), 4.0, closed, over), 7.0)


@given(st.floats(1.0, 60.0))
def test_what_is_straight_stays_straight_on_an_open_line(over: float) -> None:
    straight = np.linspace(-3.0, 5.0, 12)[:, None]
    np.testing.assert_allclose(evened(straight, 4.0, False, over), straight, atol=1e-10)


@given(st.lists(st.floats(-100.0, 100.0), min_size=5, max_size=9), st.floats(1.0, 5.0))
def test_a_short_line_is_the_handbook_line(values: list[float], spacing: float) -> None:
    """Weld as a line: F/L + 12 M s / L³, F and M integrated here in small steps."""
    count = len(values)
    place = spacing * np.arange(count)
    whole = place[-1]
    steps = 4000
    fine = (np.arange(steps) + 0.5) * whole / steps
    forces = np.interp(fine, place, values) * whole / steps
    force, moment = forces.sum(), forces @ (fine - whole / 2)
    handbook = force / whole + 12 * moment * (place - whole / 2) / whole**3
    for over in (whole, 10 * whole):
        found = evened(np.array(values)[:, None], spacing, False, over)[:, 0]
        np.testing.assert_allclose(found, handbook, atol=1e-3)


@given(st.integers(0, 23), st.floats(4.0, 60.0))
def test_round_a_closed_line_the_sum_is_kept(start: int, over: float) -> None:
    values = np.zeros((24, 2))
    values[start] = [3.0, -1.0]
    found = evened(values, 2.5, True, over)
    np.testing.assert_allclose(found.sum(axis=0), [3.0, -1.0])
    # It does not matter where the line is said to begin.
    again = evened(np.roll(values, 5, axis=0), 2.5, True, over)
    np.testing.assert_allclose(np.roll(found, 5, axis=0), again, atol=1e-12)


def test_a_closed_line_shorter_than_the_length_is_its_mean() -> None:
    np.testing.assert_allclose(evened(np.arange(8.0)[:, None], 2.0, True, 99.0), 3.5)


def test_in_the_middle_of_a_long_line_it_is_the_mean_over_the_length() -> None:
    values = np.zeros((41, 1))
    values[20] = 10.0
    found = evened(values, 1.0, False, 8.0)[:, 0]
    assert found[20] == pytest.approx(10.0 / 8.0)
    assert found[17] == pytest.approx(10.0 / 8.0)
    assert found[10] == 0.0
