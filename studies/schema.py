"""The study file's keys and the kind of value each takes; see ``template`` for what they mean."""

import math
from typing import Annotated, Any, Literal, Self

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Discriminator,
    Field,
    StringConstraints,
    Tag,
    model_validator,
)

from fea.errors import InputError
from geometry.mesher import Setting
from geometry.stock import TubeStandard
from studies.units import Kind, parsed


def _reader(
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
Length = Annotated[float, _reader("length")]
Size = Annotated[float, _reader("length", "0.5 mm", "2000 mm")]
Load = Annotated[float, _reader("force", "1 N", "1000000 kN")]
Shear = Annotated[float, _reader("force", "-1000000 kN", "1000000 kN")]
Strength = Annotated[float, _reader("stress", "20 MPa", "5000 MPa", '"355 MPa" or "46 ksi"')]
Modulus = Annotated[float, _reader("stress", "1 GPa", "1000 GPa", '"210 GPa" for steel')]
Moment = Annotated[float, _reader("moment")]
Density = Annotated[float, _reader("density", "100 kg/m3", "30000 kg/m3", '"7850 kg/m3" for steel')]
Angle = Annotated[float, _reader("angle", "-360 deg", "360 deg")]
Leg = Annotated[float, BeforeValidator(lambda value: _leg(value))]
Name = Annotated[
    str,
    StringConstraints(min_length=1, max_length=60, strip_whitespace=True),
    AfterValidator(_printable),
]
Pair = Annotated[tuple[Length, Length], Field(strict=False)]
Sizes = Annotated[tuple[Size, Size], Field(strict=False)]
Demand = Annotated[float, Field(gt=0.0, le=1000.0, allow_inf_nan=False)]


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


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)


class OwnSteel(_Table):
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


class Steels(_Table):
    """Which steel each part is made of; parts not named take ``all``."""

    all: SteelChoice
    tube: SteelChoice | None = None
    bottom_plate: SteelChoice | None = None
    top_plate: SteelChoice | None = None
    ribs: SteelChoice | None = None
    pin: SteelChoice | None = None
    welds: SteelChoice | None = None


class TubeTable(_Table):
    """The tube stub."""

    size: Pair
    wall: Length
    height: Length
    standard: TubeStandard | None = None
    corner_radius: Length | None = None
    reduced_wall: bool | None = None


class PlateTable(_Table):
    """One plate."""

    size: Pair
    thickness: Length
    position: Pair = (0.0, 0.0)


class PinTable(_Table):
    """The locating pin below."""

    diameter: Length
    length: Length
    position: Pair = (0.0, 0.0)


class HoleTable(_Table):
    """The locating hole above."""

    diameter: Length
    position: Pair = (0.0, 0.0)


class WeldTable(_Table):
    """Fillet leg at each joint, or "fused"."""

    tube_bottom: Leg = 0.0
    tube_top: Leg = 0.0
    rib_plate: Leg = 0.0
    rib_tube: Leg = 0.0


class FreeRib(_Table):
    """One rib of the pattern ``free``; ``direction`` turns from the front towards the left."""

    name: Name
    start: Pair
    direction: Angle
    length: Length
    thickness: Length
    shape: Literal["full", "triangle"] = "full"
    side: Literal["bottom", "top"] = "top"


class LayoutTable(_Table):
    """One gusset arrangement to compare."""

    name: Name
    pattern: Name
    baseline: bool = False
    rib_thickness: Length | None = None
    rib_length: Length | None = None
    rib_steel: SteelChoice | None = None
    ribs: list[FreeRib] = Field(default_factory=list, max_length=24)


class CrushTable(_Table):
    """Plain compression between flat platens."""

    kind: Literal["crush"]
    name: Name
    friction: Literal["none", "full"] = "none"
    load: Load | None = None
    demand: Demand | None = None


class PadTable(_Table):
    """Pressure on a patch of the top plate."""

    kind: Literal["pad"]
    name: Name
    size: Sizes
    position: Pair = (0.0, 0.0)
    load: Load | None = None
    demand: Demand | None = None


class WrapTable(_Table):
    """Offset compression; give the offset, or the axle torque that makes it."""

    kind: Literal["wrap"]
    name: Name
    toward: Literal["front", "rear", "left", "right"]
    offset: Length | None = None
    axle_torque: Moment | None = None
    shear: Shear = 0.0
    seat: Sizes | None = None
    load: Load | None = None
    demand: Demand | None = None


LoadTable = Annotated[CrushTable | PadTable | WrapTable, Field(discriminator="kind")]


class UnitsTable(_Table):
    """The units results are shown in."""

    length: Literal["mm", "in"] = "mm"
    force: Literal["N", "kN", "lbf", "US ton"] = "kN"
    stress: Literal["MPa", "psi", "ksi"] = "MPa"
    mass: Literal["kg", "lb"] = "kg"


class StudyTable(_Table):
    """The whole file."""

    title: Name
    rated_load: Load
    demand: Demand
    mesh: Setting = "normal"
    units: UnitsTable = UnitsTable()
    steel: Steels
    tube: TubeTable
    bottom_plate: PlateTable
    top_plate: PlateTable
    pin: PinTable | None = None
    hole: HoleTable | None = None
    welds: WeldTable = WeldTable()
    layouts: list[LayoutTable] = Field(min_length=1, max_length=24)
    loads: list[LoadTable] = Field(min_length=1, max_length=12)
