"""Hold points: the gauge readings at which to stop, look, and write down what was seen."""

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from studies.pressing.gauge import Press
from studies.pressing.prediction import RATED_TIMES, Prediction, Threshold
from studies.pressing.words import LOOK, WHERE_TO_LOOK, name_of
from studies.units import OutputUnits

_END_SHARE = 0.95
"""A last stop nearer to the press's limit than this needs no other at the limit itself."""

_HALF_SCALE = 0.25
"""Half of every length makes a quarter of every area, and of every load at the same stress."""


@dataclass(frozen=True)
class Hold:
    """One stop: a mark on the dial, what stands behind it, and what to look for there.

    reading and tolerance are in the gauge's unit; force_n is what the reading means.
    travel_mm is None where nothing was computed; ``asked_n`` is the load that was aimed at.
    """

    reading: float
    tolerance: float
    force_n: float
    asked_n: float
    travel_mm: float | None
    why: tuple[str, ...]
    look: tuple[str, ...]


@dataclass(frozen=True)
class HoldPlan:
    """The stops this press can make, the loads it cannot reach, and what to do about that."""

    holds: tuple[Hold, ...]
    beyond: tuple[tuple[str, float], ...]
    warnings: tuple[str, ...]
    instead: tuple[str, ...]


@dataclass(frozen=True)
class _Wanted:
    force_n: float
    why: str
    look: str
    rounded: Literal["down", "near", "up"] = "down"


def hold_plan(
    prediction: Prediction, press: Press, rated_load_n: float, units: OutputUnits
) -> HoldPlan:
    """All stops in order of load, each on a mark of the dial and none past the press's limit."""
    wanted = sorted(_wanted(prediction, press, rated_load_n), key=lambda one: one.force_n)
    holds: list[Hold] = []
    beyond: list[tuple[str, float]] = []
    for one in wanted:
        hold = _hold(one, prediction, press)
        # A hair past the limit, from a press whose limit was typed as a hold point, is at it.
        if hold.force_n > press.limit_n * (1.0 + 1e-9) or one.force_n > press.limit_n * 1.001:
            beyond.append((one.why, one.force_n))
        elif holds and abs(hold.reading - holds[-1].reading) < 0.5 * press.gauge.division:
            holds[-1] = _joined(holds[-1], hold)
        elif hold.reading > press.gauge.zero:
            holds.append(hold)
    if beyond and holds and holds[-1].force_n < _END_SHARE * press.limit_n:
        words = f"as far as this {press.limited_by} goes"
        end = _Wanted(press.limit_n, words, "unload and measure")
        holds.append(_hold(end, prediction, press))
    short = _shortfalls(prediction, press, rated_load_n)
    warnings = _careful(prediction, units) + short
    return HoldPlan(
        tuple(holds), tuple(beyond), warnings, _instead(prediction, units) if short else ()
    )


def _wanted(prediction: Prediction, press: Press, rated_load_n: float) -> list[_Wanted]:
    wanted = [
        _Wanted(rated_load_n, "rated load", "sits flat, nothing tilts", "near"),
        _Wanted(
            RATED_TIMES * rated_load_n,
            "ten times rated",
            "unload; it passes with its old height",
            "up",
        ),
    ]
    wanted += [_Wanted(load_n, "your own stop", "") for load_n in press.holds_n]
    starts = prediction.threshold("starts")
    if starts is not None:
        below_n = prediction.band_n(starts)[0]
        wanted.append(_Wanted(0.5 * below_n, "half way to first yield", "read the travel", "near"))
        wanted.append(_Wanted(below_n, "just before first yield", "unload; nothing may stay"))
    wanted += [
        _Wanted(one.force_n, name_of(one.key, prediction.still_rising), _look(one))
        for one in prediction.thresholds
    ]
    return wanted


def _look(threshold: Threshold) -> str:
    place = threshold.place if threshold.key in WHERE_TO_LOOK else ""
    return LOOK[threshold.key] + (f" ({place})" if place else "")


def _hold(wanted: _Wanted, prediction: Prediction, press: Press) -> Hold:
    gauge = press.gauge
    exact = gauge.reading(wanted.force_n)
    reading = gauge.to_division(exact, careful=wanted.rounded != "near")
    if wanted.rounded == "up" and reading < exact - 1e-6 * gauge.division:
        reading += gauge.division
    force_n = gauge.force_n(reading)
    return Hold(
        reading,
        gauge.tolerance(reading),
        force_n,
        wanted.force_n,
        travel_at_mm(prediction, force_n),
        (wanted.why,),
        (wanted.look,) if wanted.look else (),
    )


def _joined(first: Hold, second: Hold) -> Hold:
    look = first.look + tuple(one for one in second.look if one not in first.look)
    return replace(first, why=first.why + second.why, look=look)


def travel_at_mm(prediction: Prediction, force_n: float) -> float | None:
    """Ram travel when a force is first reached; None when that was not computed."""
    if not prediction.travel_mm:
        starts = prediction.threshold("starts")
        springy = starts is not None and force_n <= starts.force_n
        return force_n / prediction.stiffness_n_per_mm if springy else None
    forces = np.maximum.accumulate(np.array(prediction.force_n))
    if force_n > forces[-1]:
        return None
    after = int(np.searchsorted(forces, force_n))
    if after == 0:
        return float(prediction.travel_mm[0])
    low_n, high_n = forces[after - 1], forces[after]
    low_mm, high_mm = prediction.travel_mm[after - 1], prediction.travel_mm[after]
    return float(low_mm + (force_n - low_n) / (high_n - low_n) * (high_mm - low_mm))


def _careful(prediction: Prediction, units: OutputUnits) -> tuple[str, ...]:
    """Where what is computed stops holding, if it does."""
    if not prediction.limit_reason:
        return ()
    if not prediction.travel_mm:
        return (f"Careful: {prediction.limit_reason}.",)
    past = units.show_length(prediction.valid_to_mm)
    return (f"Careful past {past} of travel: {prediction.limit_reason}.",)


def _shortfalls(prediction: Prediction, press: Press, rated_load_n: float) -> tuple[str, ...]:
    said = []
    ends = "The press ends" if press.limited_by == "press" else "The gauge ends"
    starts, crush = prediction.threshold("starts"), prediction.threshold("crush")
    if starts is not None:
        low_n, high_n = prediction.band_n(starts)
        if press.limit_n < low_n:
            said.append(
                f"{ends} before the block yields anywhere: this test can show that the block "
                "carries what the press gives, not where it would yield."
            )
        elif press.limit_n < high_n:
            said.append(f"{ends} where first yield is only likely: it may not come.")
    if crush is not None and press.limit_n < prediction.band_n(crush)[1]:
        said.append(f"{ends} before the block is sure to be crushed.")
    least_n = press.limit_n - press.gauge.tolerance_n(press.gauge.reading(press.limit_n))
    if least_n < RATED_TIMES * rated_load_n:
        said.append(f"{ends} before ten times the rated load is shown past doubt.")
    return tuple(said)


def _instead(prediction: Prediction, units: OutputUnits) -> tuple[str, ...]:
    """What a shop can do when its press is too small."""
    starts = prediction.threshold("starts")
    highest = prediction.threshold("crush") or prediction.threshold("shows") or starts
    if starts is None or highest is None:
        return ()
    need_n = prediction.band_n(highest)[1]
    return (
        f"another press, good for at least {units.show_force(need_n)} with its gauge",
        "a nose of smaller bearing area between ram and top plate: it yields sooner, but it is "
        "another test; write its size as nose under [press] and compute that first",
        "a half-scale coupon, every length halved, welds too: it should yield at a quarter, about "
        f"{units.show_force(_HALF_SCALE * starts.force_n)}; welds and mill scale do "
        "not shrink alike, so it shows less",
    )
