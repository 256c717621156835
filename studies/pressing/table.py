"""The table ``[press]`` of the study file."""

import math
import re
from typing import Annotated, Any

from pydantic import BeforeValidator, Field

from fea.errors import InputError
from studies.pressing.gauge import (
    ACCURACIES,
    ASSUMED_ACCURACY,
    Accuracy,
    gauge_scale,
)
from studies.quantities import Load, Table, quantity

_LARGEST_SHARE = 0.1
_EXAMPLE = 'write what the dial says: "class 1.6", "grade B" or "2 %"'

Scale = tuple[float, str]


def _scale(value: Any) -> Scale:
    try:
        number, unit = gauge_scale(value)
    except InputError as error:
        raise ValueError(error.problem, error.remedy) from error
    if not (number > 0.0 and math.isfinite(number)):
        raise ValueError(f"{value!r} is no end of a scale", "give the highest mark on the dial")
    return number, unit


def _accuracy(value: Any) -> Accuracy:
    text = re.sub(r"^(cl|kl)\.? ?(?=[\d.])", "class ", " ".join(str(value).lower().split()))
    for name, accuracy in ACCURACIES.items():
        if isinstance(value, str) and text in (name.lower(), name.lower().split()[-1]):
            return accuracy
    percent = re.fullmatch(r"(?:±|\+/-)? ?(\d+\.?\d*|\.\d+) ?%", text, re.ASCII)
    if not isinstance(value, str) or percent is None:
        raise ValueError(f"{value!r:.40} is no accuracy that we know", _EXAMPLE)
    share = float(percent[1]) / 100.0
    if not 0.0 < share <= _LARGEST_SHARE:
        raise ValueError(
            f"{value!r:.40} is {'no accuracy' if share == 0.0 else 'no gauge to go by'}",
            f"give more than nothing and at most {100 * _LARGEST_SHARE:g} %",
        )
    return Accuracy(f"{percent[1]} % of the range", share, share)


def _reading(value: Any) -> str:
    if not isinstance(value, str):
        raise ValueError(f"{value!r:.40} has no unit", 'write it as on the dial, such as "100 psi"')
    return value


Reading = Annotated[str, BeforeValidator(_reading)]
Bore = Annotated[float, quantity("length", "5 mm", "1000 mm", '"4 in" or "100 mm"')]
Area = Annotated[float, quantity("area", "20 mm2", "8000 cm2", '"9.0 in2" or "78.5 cm2"')]
NoseSide = Annotated[float, quantity("length", "5 mm", "1000 mm", '"60 mm" or "2-1/2 in"')]
Capacity = Annotated[float, quantity("force", "100 N", "100000 kN", '"20 US ton" or "500 kN"')]


class PressTable(Table):
    """The shop's own press and its gauge; ``checked_press`` makes the press of it."""

    capacity: Capacity
    bore: Bore | None = None
    area: Area | None = None
    gauge_range: Annotated[Scale, BeforeValidator(_scale), Field(strict=False)]
    gauge_division: Reading | None = None
    gauge_accuracy: Annotated[Accuracy, BeforeValidator(_accuracy)] = ASSUMED_ACCURACY
    gauge_zero: Reading | None = None
    nose: Annotated[tuple[NoseSide, NoseSide] | None, Field(strict=False)] = None
    hold_points: list[Load] = Field(default_factory=list, max_length=12)
