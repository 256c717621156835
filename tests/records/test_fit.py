"""The strength fitted to a test, and the scorecard over tests, on a spring whose law is known."""

import math
from dataclasses import replace

import numpy as np
import pytest
from pretend_press import GAUGE, marked, prediction, press_test, spring_n

from studies.pressing.prediction import scaled
from studies.records.fit import NoFit, YieldFit, yield_fit
from studies.records.press_test import Numbered, PressTest, ten_times_rated
from studies.records.score import measured, scorecard

TRAVELS = (0.05, 0.1, 0.2, 0.3, 0.45, 0.6, 0.75, 0.9)


@pytest.mark.parametrize("strength", [0.8, 1.0, 1.3])
def test_the_curve_for_stronger_steel_is_the_stronger_springs(strength: float) -> None:
    stronger = scaled(prediction(), strength, "made up")
    at_mm = np.linspace(0.0, 1.5, 40)
    # The spring's last, faint slope starts at no travel, so it does not grow with strength.
    expected = [spring_n(float(value), strength) for value in at_mm]
    assert stronger.force_at_n(at_mm) == pytest.approx(expected, rel=1e-3)
    assert stronger.threshold("starts").force_n == pytest.approx(500e3 * strength)  # type: ignore[union-attr]
    back = scaled(stronger, 1.0, prediction().yield_words)
    assert back.force_n == pytest.approx(prediction().force_n)


@pytest.mark.parametrize(("strength", "slack_mm"), [(0.8, 0.0), (1.0, 0.1), (1.25, 0.3)])
def test_strength_and_slack_are_found_again(strength: float, slack_mm: float) -> None:
    test = press_test(TRAVELS, strength, slack_mm, predicted=prediction())
    fit = yield_fit(test)
    assert isinstance(fit, YieldFit)
    assert fit.times == pytest.approx(strength, rel=0.005)
    assert fit.slack_mm == pytest.approx(slack_mm, abs=0.005)
    assert fit.points == len(TRAVELS)
    assert abs(fit.times - strength) < fit.plus_minus < 0.2 * strength


def test_scattered_readings_widen_the_doubt_and_stay_within_it() -> None:
    """Readings 15 kN off at random: the truth lies within ± 19 times in 20, so nearly always."""
    chance = np.random.default_rng(3)
    exact = yield_fit(press_test(TRAVELS, 1.2, 0.1, prediction()))
    assert isinstance(exact, YieldFit)
    hits, widths = 0, []
    for _ in range(20):
        off_n = tuple(chance.normal(0.0, 15e3, len(TRAVELS)))
        fit = yield_fit(press_test(TRAVELS, 1.2, 0.1, prediction(), off_n=off_n))
        assert isinstance(fit, YieldFit)
        hits += abs(fit.times - 1.2) <= fit.plus_minus
        widths.append(fit.plus_minus)
    assert hits >= 18
    assert min(widths) > exact.plus_minus


def test_the_strength_does_not_depend_on_what_the_prediction_was_scaled_to() -> None:
    fits = [
        yield_fit(press_test(TRAVELS, 1.2, 0.0, predicted=scaled(prediction(), times, "x")))
        for times in (1.0, 1.4)
    ]
    assert all(isinstance(fit, YieldFit) for fit in fits)
    assert fits[0].times == pytest.approx(fits[1].times, rel=1e-6)  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("test", "reason"),
    [
        (press_test(TRAVELS), "nothing was predicted"),
        (press_test(TRAVELS[:3], predicted=prediction()), "fewer than 4 readings"),
        (press_test((0.05, 0.1, 0.15, 0.2), predicted=prediction()), "past first yield"),
        (press_test(TRAVELS, predicted=prediction(curve=False)), "no press curve"),
        (press_test((*TRAVELS, 4.0, 5.0), predicted=prediction()), "further than the predicted"),
    ],
)
def test_no_strength_where_none_can_be_told(test: PressTest, reason: str) -> None:
    fit = yield_fit(test)
    assert isinstance(fit, NoFit)
    assert reason in fit.reason


def test_strength_from_the_loads_noted() -> None:
    test = marked(press_test(predicted=prediction()), seen_at=1.2 * 580e3, crushed_at=1.2 * 704e3)
    fit = yield_fit(test)
    assert isinstance(fit, YieldFit)
    assert fit.times == pytest.approx(1.2)
    assert fit.method == "yielding seen and crush load"
    # Never surer than gauge and mesh together.
    gauge = GAUGE.tolerance_n(GAUGE.reading(1.2 * 704e3)) / (1.2 * 704e3)
    assert fit.plus_minus >= 1.2 * math.hypot(gauge, 0.05) * (1.0 - 1e-9)


def test_the_elastic_estimate_of_showing_is_set_against_what_was_seen() -> None:
    test = marked(press_test(predicted=prediction(curve=False)), seen_at=616e3)
    (load,) = measured(test)
    assert load.ratio == pytest.approx(1.1)
    fit = yield_fit(test)
    assert isinstance(fit, YieldFit)
    assert fit.times == pytest.approx(1.1)


def test_a_curve_that_still_rises_predicts_no_highest_load() -> None:
    rising = replace(prediction(), still_rising=True)
    assert measured(marked(press_test(predicted=rising), crushed_at=704e3)) == ()


def test_set_lies_between_the_two_readings_that_caught_it() -> None:
    test = marked(press_test(predicted=prediction()), no_set_at=600e3, set_at=700e3)
    (load,) = measured(test)
    assert load.measured_n == pytest.approx(650e3)
    tolerance_n = GAUGE.tolerance_n(GAUGE.reading(700e3))
    assert load.doubt == pytest.approx(math.hypot(tolerance_n, 50e3) / 650e3)


def _book(*tests: PressTest) -> tuple[Numbered, ...]:
    return tuple(Numbered(number, "", test) for number, test in enumerate(tests, start=1))


def test_one_test_says_nothing_of_scatter() -> None:
    (score,) = scorecard(_book(marked(press_test(predicted=prediction()), crushed_at=774.4e3)))
    assert (score.name, score.count, score.scatter) == ("crush load", 1, None)
    assert score.mean == pytest.approx(1.1)
    assert "one test only" in score.words
    assert "±" not in score.words


def test_mean_and_scatter_over_several_tests() -> None:
    """1.0, 1.1 and 1.2: mean 1.1, standard deviation 0.1."""
    tests = [
        marked(press_test(predicted=prediction()), crushed_at=times * 704e3)
        for times in (1.0, 1.1, 1.2)
    ]
    (score,) = scorecard(_book(*tests))
    assert (score.count, score.mean) == (3, pytest.approx(1.1))
    assert score.scatter == pytest.approx(0.1)
    assert (score.lowest, score.highest) == pytest.approx((1.0, 1.2))
    assert "too few to rely on" in score.words


def test_predictions_made_or_fitted_afterwards_do_not_count() -> None:
    good = marked(press_test(predicted=prediction()), crushed_at=704e3)
    late = replace(good, predicted_before=False)
    fitted = replace(good, prediction=scaled(prediction(), 1.2, "by test 1"))
    assert scorecard(_book(late, fitted, press_test((0.1,)))) == ()
    (score,) = scorecard(_book(late, good, fitted))
    assert score.count == 1


@pytest.mark.parametrize(
    ("loads", "verdict"),
    [
        ({"no_set_at": 330e3}, "passed"),
        ({"no_set_at": 305e3}, "not shown"),
        ({"no_set_at": 200e3, "set_at": 250e3}, "failed"),
        ({"set_at": 310e3}, "not shown"),
        ({"crushed_at": 250e3}, "failed"),
        ({"seen_at": 250e3}, "not shown"),
    ],
)
def test_ten_times_rated_without_permanent_set(loads: dict[str, float], verdict: str) -> None:
    """Common practice, no source. Rated 30 kN; the gauge may be off by some 22 kN."""
    assert ten_times_rated(marked(press_test(), **loads)) == verdict
