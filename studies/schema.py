"""The study file's keys and the kind of value each takes; see ``template`` for what they mean."""

from typing import Annotated, Any, Literal, Self

from pydantic import Discriminator, Field, Tag, model_validator

from geometry.mesher import Setting
from geometry.stock import TubeStandard
from studies.clamping.table import ClampTable
from studies.pressing.table import PressTable
from studies.quantities import (
    Accuracy,
    Angle,
    Demand,
    Density,
    Leg,
    Length,
    Load,
    Modulus,
    Moment,
    Name,
    Pair,
    Shear,
    Sizes,
    Strength,
    Table,
    Taper,
)
from studies.shop.table import AxleTable, ShopTable, StockTable, UboltTable
from studies.welding.table import WeldCheckTable


class OwnSteel(Table):
    """A steel by its own figures."""

    name: Name = "own steel"
    yield_: Strength = Field(alias="yield")
    ultimate: Strength
    e: Modulus = Field(210_000.0, alias="E")
    nu: float = Field(0.3, gt=0.0, lt=0.49)
    density: Density = 7850.0

    @model_validator(mode="after")
    def _ultimate_above_yield(self) -> Self:
        if self.ultimate < self.yield_:
            raise ValueError(
                f"ultimate, {self.ultimate:.4g} MPa, is below the yield, {self.yield_:.4g} MPa",
                "give the lower figure as yield and the higher one as ultimate",
            )
        return self


SteelChoice = Annotated[
    Annotated[str, Tag("str")] | Annotated[OwnSteel, Tag("OwnSteel")],
    Discriminator(lambda written: "OwnSteel" if isinstance(written, dict | OwnSteel) else "str"),
]


class Steels(Table):
    """Which steel each part is made of; parts not named take ``all``."""

    all: SteelChoice
    tube: SteelChoice | None = None
    bottom_plate: SteelChoice | None = None
    top_plate: SteelChoice | None = None
    ribs: SteelChoice | None = None
    pin: SteelChoice | None = None
    welds: SteelChoice | None = None


class TubeTable(Table):
    """The tube stub."""

    size: Pair
    wall: Length
    height: Length
    standard: TubeStandard | None = None
    corner_radius: Length | None = None
    reduced_wall: bool | None = None


class PlateTable(Table):
    """One plate."""

    size: Pair
    thickness: Length
    position: Pair = (0.0, 0.0)


class TopPlateTable(PlateTable):
    """The top plate; with a taper it is higher at the front, or with a minus at the rear."""

    taper: Taper = 0.0


class PinTable(Table):
    """The locating pin below, and the hole it sits in."""

    diameter: Length
    length: Length
    position: Pair = (0.0, 0.0)
    seat_hole: Length | None = None


class HoleTable(Table):
    """The locating hole above."""

    diameter: Length
    position: Pair = (0.0, 0.0)


class WeldTable(Table):
    """Fillet leg at each joint, or "fused"."""

    tube_bottom: Leg = 0.0
    tube_top: Leg = 0.0
    rib_plate: Leg = 0.0
    rib_tube: Leg = 0.0


class FreeRib(Table):
    """One rib of the pattern ``free``; ``direction`` turns from the front towards the left."""

    name: Name
    start: Pair
    direction: Angle
    length: Length
    thickness: Length
    shape: Literal["full", "triangle"] = "full"
    side: Literal["bottom", "top"] = "top"


class LayoutTable(Table):
    """One gusset arrangement to compare."""

    name: Name
    pattern: Name
    baseline: bool = False
    rib_thickness: Length | None = None
    rib_length: Length | None = None
    rib_steel: SteelChoice | None = None
    ribs: list[FreeRib] = Field(default_factory=list, max_length=24)


class CrushTable(Table):
    """Plain compression between flat platens."""

    kind: Literal["crush"]
    name: Name
    friction: Literal["none", "full"] = "none"
    load: Load | None = None
    demand: Demand | None = None


class PadTable(Table):
    """Pressure on a patch of the top plate."""

    kind: Literal["pad"]
    name: Name
    size: Sizes
    position: Pair = (0.0, 0.0)
    load: Load | None = None
    demand: Demand | None = None


class WrapTable(Table):
    """Offset compression; give the offset, or the axle torque that makes it."""

    kind: Literal["wrap"]
    name: Name
    toward: Literal["front", "rear", "left", "right"]
    offset: Length | None = None
    axle_torque: Moment | None = None
    shear: Shear = 0.0
    seat: Sizes | None = None
    clamped: bool = False
    load: Load | None = None
    demand: Demand | None = None


LoadTable = Annotated[CrushTable | PadTable | WrapTable, Field(discriminator="kind")]


class UnitsTable(Table):
    """The units results are shown in."""

    length: Literal["mm", "in"] = "mm"
    force: Literal["N", "kN", "lbf", "US ton"] = "kN"
    stress: Literal["MPa", "psi", "ksi"] = "MPa"
    mass: Literal["kg", "lb"] = "kg"


class StudyTable(Table):
    """The whole file."""

    title: Name
    rated_load: Load
    demand: Demand
    mesh: Setting = "normal"
    accuracy: Accuracy | None = None
    seats: Literal["soft", "both"] = "soft"
    units: UnitsTable = UnitsTable()
    steel: Steels
    tube: TubeTable
    bottom_plate: PlateTable
    top_plate: TopPlateTable
    pin: PinTable | None = None
    hole: HoleTable | None = None
    welds: WeldTable = WeldTable()
    press: PressTable | None = None
    clamp: ClampTable | None = None
    weld_check: WeldCheckTable = WeldCheckTable()
    shop: ShopTable = ShopTable()
    axle: AxleTable | None = None
    ubolt: UboltTable | None = None
    shelf: list[StockTable] = Field(default_factory=list, max_length=100)
    layouts: list[LayoutTable] = Field(min_length=1, max_length=24)
    loads: list[LoadTable] = Field(min_length=1, max_length=12)
    sweep: dict[str, Any] = Field(default_factory=dict, max_length=24)
