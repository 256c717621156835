"""The strength of the steel that fits a press test best, and how sure one can be of it.

Given readings past first yield with their travels, the whole predicted curve is laid over them by
least squares; without them the loads noted (yielding seen, set, crush) are set against those
predicted. Either way the answer is how many times as strong the steel was as the prediction took
it to be at its weakest.
"""

import math
from dataclasses import dataclass

import numpy as np
from scipy.optimize import least_squares
from scipy.stats import t as student

from fea.mesh import Floats
from studies.pressing.prediction import MESH_SHARE, Prediction, scaled
from studies.records.press_test import PressTest
from studies.records.score import measured

_FEWEST_READINGS = 4
_FEWEST_PAST_YIELD = 2
_STARTS = (0.9, 1.25, 1.7)
_LEAST_TIMES, _MOST_TIMES = 0.3, 4.0
_CONFIDENCE = 0.95
_LOOSEST = 0.5
"""A strength known no better than to half of itself is not worth a number."""


@dataclass(frozen=True)
class YieldFit:
    """The steel was ``times`` as strong as predicted at its weakest, ± ``plus_minus``.

    plus_minus holds 19 times in 20, as far as residuals, the gauge and the mesh tell. slack_mm is
    ram travel that pressed nothing, ``method`` what was fitted, in words; points how many readings
    or loads went in.
    """

    times: float
    plus_minus: float
    slack_mm: float
    method: str
    points: int


@dataclass(frozen=True)
class NoFit:
    """Why no strength can be given, in a few words."""

    reason: str


def yield_fit(test: PressTest) -> YieldFit | NoFit:
    """Fit one test; the prediction kept with it is the one that is fitted."""
    if test.prediction is None:
        return NoFit("nothing was predicted for it")
    weakest = scaled(test.prediction, 1.0, "")
    by_curve = _by_curve(test, weakest)
    if isinstance(by_curve, YieldFit):
        return by_curve
    by_loads = _by_loads(test, test.prediction)
    return by_loads if isinstance(by_loads, YieldFit) else by_curve


def _by_curve(test: PressTest, weakest: Prediction) -> YieldFit | NoFit:
    if not weakest.travel_mm:
        return NoFit("no press curve was predicted for it")
    gauge = test.gauge
    pairs = [
        (gauge.force_n(one.gauge), one.travel_mm, gauge.tolerance_n(one.gauge))
        for one in test.readings
        if one.travel_mm is not None
    ]
    if len(pairs) < _FEWEST_READINGS:
        return NoFit(f"fewer than {_FEWEST_READINGS} readings have their travel")
    force_n, travel_mm, tolerance_n = np.array(pairs).T
    curve_mm, curve_n = np.array(weakest.travel_mm), np.array(weakest.force_n)
    unit_n = float(curve_n.max())

    def model_n(times: float, slack_mm: float) -> Floats:
        # See ``scaled``: forces and travels of stronger steel grow alike.
        found: Floats = times * np.interp((travel_mm - slack_mm) / times, curve_mm, curve_n)
        return found

    most_mm = max(float(travel_mm.max()), 1e-6)

    def slack_of(asked: Floats) -> float:
        # Sought as 1 + its share of the furthest travel: trial steps are shares of what they
        # change, and of slack there is often none.
        return (float(asked[1]) - 1.0) * most_mm

    def off(asked: Floats) -> Floats:
        differences: Floats = (model_n(float(asked[0]), slack_of(asked)) - force_n) / unit_n
        return differences

    tries = [
        least_squares(
            off,
            (start, 1.0),
            bounds=((_LEAST_TIMES, 0.8), (_MOST_TIMES, 2.0)),
            diff_step=1e-4,
        )
        for start in _STARTS
    ]
    found = min(tries, key=lambda one: float(one.cost))
    times, slack_mm = float(found.x[0]), slack_of(found.x)
    starts = weakest.threshold("starts")
    past = force_n > times * (starts.force_n if starts else 0.0)
    if past.sum() < _FEWEST_PAST_YIELD:
        return NoFit(f"fewer than {_FEWEST_PAST_YIELD} readings are past first yield")
    if (travel_mm - slack_mm).max() / times > curve_mm[-1] * (1.0 + 1e-9):
        return NoFit("readings go further than the predicted curve")
    free = len(pairs) - 2
    normal = found.jac.T @ found.jac
    if np.linalg.cond(normal) > 1e12:
        return NoFit("the readings do not tell strength from slack")
    spread = math.sqrt(2.0 * found.cost / free * np.linalg.inv(normal)[0, 0])
    at_random = float(student.ppf(0.5 + _CONFIDENCE / 2.0, free)) * spread
    by_gauge = float((tolerance_n[past] / force_n[past]).mean())
    plus_minus = math.hypot(at_random, times * by_gauge, times * MESH_SHARE)
    if not plus_minus < _LOOSEST * times:
        return NoFit("the readings stop too early to tell the strength")
    return YieldFit(times, plus_minus, slack_mm, "the whole curve through the readings", len(pairs))


def _by_loads(test: PressTest, prediction: Prediction) -> YieldFit | NoFit:
    """From the loads noted, each weighed by how well it is known."""
    found = measured(test)
    if not found:
        return NoFit("no load was noted that was predicted")
    base = prediction.yield_times
    times = np.array([base * one.ratio for one in found])
    doubt = np.array([base * one.ratio * math.hypot(one.doubt, MESH_SHARE) for one in found])
    weight = doubt**-2.0
    best = float(weight @ times / weight.sum())
    # Gauge and mesh pull all loads the same way, so that more loads do not make them surer.
    spread = 0.0
    if len(found) > 1:
        each = math.sqrt(float(weight @ (times - best) ** 2 / weight.sum()) / (len(found) - 1))
        spread = float(student.ppf(0.5 + _CONFIDENCE / 2.0, len(found) - 1)) * each
    plus_minus = math.hypot(float(doubt.min()), spread)
    if not plus_minus < _LOOSEST * best:
        return NoFit("the loads noted disagree too much to tell the strength")
    names = " and ".join(one.name for one in found)
    return YieldFit(best, plus_minus, 0.0, names, len(found))
