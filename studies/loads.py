"""The load cases a study may ask for. Every load is the vertical one, in newtons."""

from dataclasses import dataclass, replace

from studies.clamping.u_bolts import UBolts


@dataclass(frozen=True)
class CrushCase:
    """Plain compression between two flat rigid platens; ``friction`` says that steel sticks.

    ``stiff_seats`` asks for platens that may part from the block, too. ``wedge_deg`` is the angle
    of the wedge between a tapered block and the upper platen.
    """

    name: str
    load_n: float
    demand_multiple: float
    friction: bool = False
    stiff_seats: bool = False
    wedge_deg: float = 0.0

    @property
    def demanded_n(self) -> float:
        """The load the shop demands before first yield."""
        return self.load_n * self.demand_multiple


@dataclass(frozen=True)
class PadCase:
    """Pressure on a patch of the top plate, answered by a soft seat below.

    ``pin_hole_mm`` is the width of the hole for the pin in that seat; 0: no wider than the pin.
    """

    name: str
    load_n: float
    demand_multiple: float
    size_mm: tuple[float, float]
    centre_mm: tuple[float, float] = (0.0, 0.0)
    pin_hole_mm: float = 0.0

    @property
    def demanded_n(self) -> float:
        """The load the shop demands before first yield."""
        return self.load_n * self.demand_multiple


@dataclass(frozen=True)
class WrapCase:
    """Compression off the middle of the top plate through a soft seat, as the axle winds up.

    ``offset_mm`` is from the top plate's centre; ``shear_n`` acts along with ``load_n`` and grows
    with it. ``seat_size_mm`` narrows the seat round the top plate's centre. ``clamp_n`` is the
    U-bolts' force through the same seat, there before the load and constant. ``stiff_seats`` asks
    for stiff seats, too. ``pin_hole_mm`` as for ``PadCase``.
    """

    name: str
    load_n: float
    demand_multiple: float
    offset_mm: tuple[float, float]
    shear_n: tuple[float, float] = (0.0, 0.0)
    seat_size_mm: tuple[float, float] | None = None
    clamp_n: float = 0.0
    stiff_seats: bool = False
    pin_hole_mm: float = 0.0

    @property
    def demanded_n(self) -> float:
        """The load the shop demands before first yield."""
        return self.load_n * self.demand_multiple


@dataclass(frozen=True)
class ClampCase:
    """U-bolts pressing spring and axle onto the block, and nothing else.

    ``load_n`` is what ``bolts`` press with; ``seat_size_mm``, ``pin_hole_mm`` and ``stiff_seats``
    as for ``WrapCase``.
    """

    name: str
    load_n: float
    demand_multiple: float
    bolts: UBolts
    seat_size_mm: tuple[float, float] | None = None
    pin_hole_mm: float = 0.0
    stiff_seats: bool = False

    @property
    def demanded_n(self) -> float:
        """The clamp force itself."""
        return self.load_n * self.demand_multiple


LoadCase = CrushCase | PadCase | WrapCase | ClampCase


def with_stiff_seats(loads: tuple[LoadCase, ...], asked: bool) -> tuple[LoadCase, ...]:
    """The same loads, on stiff seats too or not; a pad stays what it is."""
    return tuple(
        load if isinstance(load, PadCase) else replace(load, stiff_seats=asked) for load in loads
    )


def in_the_middle(case: ClampCase) -> WrapCase:
    """The U-bolts' force as a load like any other, in the middle of its seat."""
    return WrapCase(
        case.name,
        case.load_n,
        case.demand_multiple,
        (0.0, 0.0),
        seat_size_mm=case.seat_size_mm,
        stiff_seats=case.stiff_seats,
        pin_hole_mm=case.pin_hole_mm,
    )


def with_pin_hole(loads: tuple[LoadCase, ...], hole_mm: float) -> tuple[LoadCase, ...]:
    """The same loads on a seat with such a hole for the pin; plates that crush have none."""
    return tuple(
        load if isinstance(load, CrushCase) else replace(load, pin_hole_mm=hole_mm)
        for load in loads
    )
