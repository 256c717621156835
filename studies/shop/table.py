"""The tables ``[shop]``, ``[axle]``, ``[ubolt]`` and ``[[shelf]]`` of the study file."""

from typing import Annotated, Literal

from pydantic import Field, StringConstraints

from studies.paper import PaperSize
from studies.quantities import Name, Sizes, Table, quantity
from studies.shop.rates import (
    LengthPrice,
    MassPrice,
    MinutesPerCut,
    MinutesPerMm,
    MoneyPerMinute,
)

Kerf = Annotated[float, quantity("length", "0 mm", "15 mm", '"2 mm"')]
Trim = Annotated[float, quantity("length", "0 mm", "500 mm", '"10 mm"')]
Part = Annotated[float, quantity("length", "0.5 mm", "500 mm")]
Gap = Annotated[float, quantity("length", "0 mm", "500 mm")]
Stock = Annotated[float, quantity("length", "1 mm", "20 m")]
StockSize = Annotated[tuple[Stock, Stock], Field(strict=False)]
Count = Annotated[int, Field(ge=1, le=1000)]
Currency = Annotated[str, StringConstraints(min_length=1, max_length=8, strip_whitespace=True)]


class ShopTable(Table):
    """Saw and torch, paper, and what steel and time cost; what is not given is not costed."""

    kerf: Kerf | None = None
    end_trim: Trim = 0.0
    paper: PaperSize | None = None
    currency: Currency | None = None
    tube_price: LengthPrice | None = None
    bar_price: LengthPrice | None = None
    plate_price: MassPrice | None = None
    saw_time: MinutesPerCut | None = None
    cut_time: MinutesPerMm | None = None
    weld_time: MinutesPerMm | None = None
    labour: MoneyPerMinute | None = None


class AxleTable(Table):
    """What the block is clamped between; a round axle's tube or a beam (width, height)."""

    tube_diameter: Part | None = None
    beam: Sizes | None = None
    spring_seat: Gap = 0.0
    spring_width: Part
    spring_height: Part
    old_block_height: Gap | None = None


class UboltTable(Table):
    """The U-bolts that clamp block, spring and axle."""

    rod: Part
    plates: list[Part] = Field(default_factory=list, max_length=8)
    washer: Gap = 0.0
    nut: Part
    thread_past_nut: Gap
    bend: Literal["round", "square"] | None = None
    bend_radius: Part | None = None


class TubeStock(Table):
    """Tube on the shelf: lengths of one section."""

    kind: Literal["tube"]
    name: Name | None = None
    size: Sizes
    wall: Part
    length: Stock
    quantity: Count
    steel: Name | None = None


class PlateStock(Table):
    """Plates, flats and off-cuts of one size."""

    kind: Literal["plate"]
    name: Name | None = None
    size: StockSize
    thickness: Part
    quantity: Count
    steel: Name | None = None


class BarStock(Table):
    """Round bar for pins."""

    kind: Literal["round bar"]
    name: Name | None = None
    diameter: Part
    length: Stock
    quantity: Count
    steel: Name | None = None


StockTable = Annotated[TubeStock | PlateStock | BarStock, Field(discriminator="kind")]
