"""The study file's keys and the kind of value each takes; see ``template`` for what they mean."""

from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, StringConstraints

from fea.errors import InputError
from geometry.mesher import Setting
from geometry.stock import TubeStandard
from studies.units import Kind, parsed


def _reader(kind: Kind) -> BeforeValidator:
    def read(value: Any) -> float:
        try:
            return parsed(value, kind)
        except InputError as error:
            raise ValueError(error.problem, error.remedy) from error

    return BeforeValidator(read)


Length = Annotated[float, _reader("length")]
Force = Annotated[float, _reader("force")]
Stress = Annotated[float, _reader("stress")]
Moment = Annotated[float, _reader("moment")]
Density = Annotated[float, _reader("density")]
Angle = Annotated[float, _reader("angle")]
Leg = Annotated[float, BeforeValidator(lambda value: 0.0 if value == "fused" else _leg(value))]
Name = Annotated[str, StringConstraints(min_length=1, max_length=60, strip_whitespace=True)]
Pair = Annotated[tuple[Length, Length], Field(strict=False)]


def _leg(value: Any) -> float:
    try:
        leg = parsed(value, "length")
    except InputError as error:
        raise ValueError(error.problem, f'{error.remedy}, or "fused" for no fillet') from error
    if leg <= 0.0:
        raise ValueError("a weld leg must be more than nothing", 'write "fused" for no fillet')
    return leg


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)


class OwnSteel(_Table):
    """A steel by its own figures."""

    name: Name = "own steel"
    yield_: Stress = Field(alias="yield")
    ultimate: Stress
    e: Stress = 210_000.0
    nu: float = Field(0.3, gt=0.0, lt=0.49)
    density: Density = 7850.0


SteelChoice = str | OwnSteel


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
    load: Force | None = None
    demand: float | None = Field(None, gt=0.0, le=1000.0)


class PadTable(_Table):
    """Pressure on a patch of the top plate."""

    kind: Literal["pad"]
    name: Name
    size: Pair
    position: Pair = (0.0, 0.0)
    load: Force | None = None
    demand: float | None = Field(None, gt=0.0, le=1000.0)


class WrapTable(_Table):
    """Offset compression; give the offset, or the axle torque that makes it."""

    kind: Literal["wrap"]
    name: Name
    toward: Literal["front", "rear", "left", "right"]
    offset: Length | None = None
    axle_torque: Moment | None = None
    shear: Force = 0.0
    seat: Pair | None = None
    load: Force | None = None
    demand: float | None = Field(None, gt=0.0, le=1000.0)


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
    rated_load: Force
    demand: float = Field(gt=0.0, le=1000.0)
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
