"""The study file's table ``[clamp]``: the U-bolts that hold the block between spring and axle."""

from typing import Annotated, Literal

from pydantic import Field

from studies.quantities import Name, Sizes, Table, quantity

_Torque = Annotated[float, quantity("moment", "1 N m", "5000 N m", '"180 N m" or "130 lbf ft"')]


class ClampTable(Table):
    """U-bolts by size and grade; give the torque at each nut, or the share of proof it should be.

    ``threads`` or ``nut_factor`` says how much of the torque friction takes.
    """

    bolt: Name
    grade: Name
    torque: _Torque | None = None
    proof_share: float | None = Field(None, gt=0.0, le=1.0, allow_inf_nan=False)
    u_bolts: int = Field(2, gt=0, le=8)
    threads: Literal["dry", "oiled"] | None = None
    nut_factor: float | None = Field(None, gt=0.05, le=0.5, allow_inf_nan=False)
    seat: Sizes | None = None
