"""The table ``[weld_check]`` of the study file."""

from typing import Annotated

from pydantic import Field

from studies.quantities import Strength, Table
from studies.welding.rules import Method, TubeEnds

Correlation = Annotated[float, Field(ge=0.5, le=1.5, allow_inf_nan=False)]
PartialFactor = Annotated[float, Field(ge=1.0, le=3.0, allow_inf_nan=False)]


class WeldCheckTable(Table):
    """How welds are judged; ``checked_rules`` makes the rules of it."""

    method: Method | None = None
    electrode: Strength | None = None
    correlation: Correlation | None = None
    partial_factor: PartialFactor | None = None
    tube_ends: TubeEnds = "sawn"
