"""Press curves that runs have left of a study, as the page draws them: places and words."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np

from geometry.block import Layout
from studies.page.example import PRESS, packed_json
from studies.pressing.cautions import press_cautions
from studies.pressing.choice import prediction_file
from studies.pressing.gauge import Press
from studies.pressing.prediction import (
    Prediction,
    band_along,
    block_key,
    kept_prediction,
    line_of,
    prediction_from,
)
from studies.pressing.sheet import travel_words
from studies.pressing.words import name_of
from studies.study import Study
from studies.units import OutputUnits

_STEPS = 160
_ELASTIC = "Only springy steel was computed: the line ends where yielding starts."


def press_curves(study: Study, out: Path) -> dict[str, Any] | None:
    """Every layout's prediction for just these blocks; None without any.

    It is what runs left below ``out``, or what comes with the example.

    Forces and travels are in the study's units; ``per_force`` and ``zero`` make a gauge reading
    of a force. Whatever is said of a point is said in words beside it.
    """
    kept = [
        (layout, found)
        for layout in study.layouts
        if (found := _found(layout, prediction_file(out, study, layout)))
    ]
    if not kept:
        return None
    units, press = study.units, study.press
    taper_deg = max(one.wedge_deg for _, one in kept)
    return {
        "travel_unit": units.length,
        "force_unit": units.force,
        "gauge": _gauge(press, units) if press else None,
        "cautions": press_cautions(_limit_words(press, units), taper_deg),
        "curves": [_curve(layout, one, press, units) for layout, one in kept],
        "absent": [one.name for one in study.layouts if one not in [layout for layout, _ in kept]],
    }


def _found(layout: Layout, path: Path) -> Prediction | None:
    kept = kept_prediction(path, layout.block)
    if kept is not None:
        return kept
    key = block_key(layout.block)
    packed = (prediction_from(json.dumps(said)) for said in packed_json(PRESS) or ())
    return next((one for one in packed if one is not None and one.block_key == key), None)


def _gauge(press: Press, units: OutputUnits) -> dict[str, Any]:
    gauge = press.gauge
    return {
        "unit": gauge.unit,
        "zero": gauge.zero,
        "per_force": 1.0 / (units.force_in(1.0) * gauge.newtons_per_unit),
        "limit": units.force_in(press.limit_n),
        "limit_words": f"Red line: the {press.limited_by} ends here, {_limit_words(press, units)}.",
    }


def _limit_words(press: Press | None, units: OutputUnits) -> str:
    if press is None:
        return "what press and gauge are made for"
    limit = press.gauge.to_division(press.gauge.reading(press.limit_n), careful=True)
    return f"{press.gauge.show(limit)}, {units.show_force(press.limit_n)}"


def _curve(
    layout: Layout, one: Prediction, press: Press | None, units: OutputUnits
) -> dict[str, Any]:
    notes = [f"Steel: {one.yield_words} ({one.steel_words}). Mesh setting: {one.setting}."]
    if not one.travel_mm:
        notes.append(_ELASTIC)
    elif one.limit_reason and one.valid_to_mm < one.travel_mm[-1]:
        notes.append(f"Dashed: {one.limit_reason}.")
    elif one.limit_reason:
        notes.append(f"{one.limit_reason[0].upper()}{one.limit_reason[1:]}.")
    return {
        "layout": layout.name,
        "baseline": layout.baseline,
        "points": list(_points(one, press, units)),
        "marks": list(_marks(one, press, units)),
        "notes": notes,
    }


def _points(one: Prediction, press: Press | None, units: OutputUnits) -> Iterator[dict[str, Any]]:
    """The curve in even steps of travel, its bends between them, each with its band and words."""
    travel_mm, force_n = line_of(one)
    valid_mm = one.valid_to_mm if one.travel_mm else travel_mm[-1]
    marks_mm = [mark.travel_mm for mark in one.thresholds if mark.travel_mm is not None]
    ends_mm = [at for at in (valid_mm, *marks_mm) if at <= travel_mm[-1]]
    grid_mm = np.union1d(np.linspace(0.0, travel_mm[-1], _STEPS), ends_mm)
    low_n, high_n = band_along(one, grid_mm)
    for at, force, low, high in zip(
        grid_mm, np.interp(grid_mm, travel_mm, force_n), low_n, high_n, strict=True
    ):
        said = [
            f"{travel_words(float(at), units)} {units.length} of travel",
            f"{units.show_force(float(force))} on the block",
            f"at this travel it may be {units.show_force(float(low))} to "
            f"{units.show_force(float(high))}",
            *_reading(float(force), press),
        ]
        if at > valid_mm:
            said.append("past what this way of computing holds for")
        yield {
            "travel": units.length_in(float(at)),
            "force": units.force_in(float(force)),
            "low": units.force_in(float(low)),
            "high": units.force_in(float(high)),
            "sure": bool(at <= valid_mm),
            "said": said,
        }


def _marks(one: Prediction, press: Press | None, units: OutputUnits) -> Iterator[dict[str, Any]]:
    """The loads at which something first happens, in the order of the paper's numbers."""
    for mark in one.thresholds:
        travel_mm = mark.travel_mm
        if travel_mm is None:
            travel_mm = mark.force_n / one.stiffness_n_per_mm
        low_n, high_n = one.band_n(mark)
        yield {
            "name": name_of(mark.key, one.still_rising),
            "travel": units.length_in(travel_mm),
            "force": units.force_in(mark.force_n),
            "low": units.force_in(low_n),
            "high": units.force_in(high_n),
            "words": [
                units.show_force(mark.force_n),
                f"{units.show_force(low_n)} to {units.show_force(high_n)}",
                ", ".join(_reading(mark.force_n, press)) or "no press described",
                f"{travel_words(travel_mm, units)} {units.length}",
                mark.place or "–",
            ],
        }


def _reading(force_n: float, press: Press | None) -> list[str]:
    """What the gauge shows at a force, or that this press does not get there."""
    if press is None:
        return []
    if force_n > press.limit_n:
        return [f"out of this press's reach: never past {_reach(press)}"]
    gauge = press.gauge
    return [f"gauge {gauge.show(gauge.to_division(gauge.reading(force_n)))}"]


def _reach(press: Press) -> str:
    limit = press.gauge.reading(press.limit_n)
    return press.gauge.show(press.gauge.to_division(limit, careful=True))
