"""Kinds of value a study file's keys take, each with the range beyond which it is a slip."""

import math
from typing import Annotated, Any

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    StringConstraints,
)

from fea.errors import InputError
from geometry.taper import STEEPEST_DEG
from studies.bands import accuracy_share
from studies.units import Kind, parsed


def quantity(
    kind: Kind, least: str | None = None, most: str | None = None, example: str | None = None
) -> BeforeValidator:
    """A quantity from ``least`` to ``most``, both written as the user would write them."""
    low = parsed(least, kind) if least else -math.inf
    high = parsed(most, kind) if most else math.inf

    def read(value: Any) -> float:
        try:
            number = parsed(value, kind)
        except InputError as error:
            raise ValueError(error.problem, error.remedy) from error
        if not low <= number <= high:
            remedy = f"give {least} to {most}" + (f", such as {example}" if example else "")
            raise ValueError(f"{value!r} is too {'small' if number < low else 'large'}", remedy)
        return number

    return BeforeValidator(read)


def _printable(value: str) -> str:
    if not value.isprintable():
        raise ValueError(f"{value!r} has a character that cannot be printed", "type the name again")
    return value


# Ranges keep slips of the pen out (judgement, no source); the block's own sizes are judged by
# ``geometry.checks``, which knows the whole block.
Length = Annotated[float, quantity("length")]
Size = Annotated[float, quantity("length", "0.5 mm", "2000 mm")]
Load = Annotated[float, quantity("force", "1 N", "1000000 kN")]
Shear = Annotated[float, quantity("force", "-1000000 kN", "1000000 kN")]
Strength = Annotated[float, quantity("stress", "20 MPa", "5000 MPa", '"355 MPa" or "46 ksi"')]
Modulus = Annotated[float, quantity("stress", "1 GPa", "1000 GPa", '"210 GPa" for steel')]
Moment = Annotated[float, quantity("moment")]
Density = Annotated[
    float, quantity("density", "100 kg/m3", "30000 kg/m3", '"7850 kg/m3" for steel')
]
Angle = Annotated[float, quantity("angle", "-360 deg", "360 deg")]
Taper = Annotated[
    float, quantity("angle", f"-{STEEPEST_DEG:g} deg", f"{STEEPEST_DEG:g} deg", '"3 deg"')
]
Leg = Annotated[float, BeforeValidator(lambda value: _leg(value))]
Name = Annotated[
    str,
    StringConstraints(min_length=1, max_length=60, strip_whitespace=True),
    AfterValidator(_printable),
]
Pair = Annotated[tuple[Length, Length], Field(strict=False)]
Sizes = Annotated[tuple[Size, Size], Field(strict=False)]
Accuracy = Annotated[float, BeforeValidator(lambda value: _accuracy(value))]
Demand = Annotated[float, Field(gt=0.0, le=1000.0, allow_inf_nan=False)]


def _accuracy(value: Any) -> float:
    try:
        return accuracy_share(value)
    except InputError as error:
        raise ValueError(error.problem, error.remedy) from error


def _leg(value: Any) -> float:
    if isinstance(value, str) and value.strip().lower() == "fused":
        return 0.0
    try:
        leg = parsed(value, "length")
    except InputError as error:
        raise ValueError(
            error.problem, 'write "5 mm" or "3/16 in", or "fused" for no fillet'
        ) from error
    if leg <= 0.0:
        raise ValueError(f"{value!r} is no weld leg", 'write "fused" for no fillet')
    return leg


class Table(BaseModel):
    """A table of the study file: no unknown key, no silent change of kind."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)
