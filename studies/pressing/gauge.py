"""What a press's gauge reads at a force, and what force stands behind a reading.

A pressure gauge tells the pressure on the ram: force = pressure × effective ram area. A gauge
marked in tons or kN tells the force itself. Either may show something at no load, its zero error,
which is taken as the same all along the scale. Readings are in the gauge's own unit throughout.
"""

import math
from dataclasses import dataclass
from typing import Literal

from fea.errors import InputError
from studies.units import Kind, size_of, written


@dataclass(frozen=True)
class Accuracy:
    """How far off a gauge may be: shares of its range, in the middle half and in the rest of it."""

    words: str
    middle_share: float
    outer_share: float


ACCURACIES = {
    accuracy.words.split(" (")[0]: accuracy
    for accuracy in (
        *(
            Accuracy(f"class {percent} (EN 837-1)", float(percent) / 100, float(percent) / 100)
            for percent in ("0.1", "0.25", "0.6", "1", "1.6", "2.5", "4")
        ),
        Accuracy("grade 3A (ASME B40.100)", 0.0025, 0.0025),
        Accuracy("grade 2A (ASME B40.100)", 0.005, 0.005),
        Accuracy("grade 1A (ASME B40.100)", 0.01, 0.01),
        Accuracy("grade A (ASME B40.100)", 0.01, 0.02),
        Accuracy("grade B (ASME B40.100)", 0.02, 0.03),
        Accuracy("grade C (ASME B40.100)", 0.03, 0.04),
        Accuracy("grade D (ASME B40.100)", 0.05, 0.05),
    )
}
"""Accuracy classes of EN 837-1 and grades of ASME B40.100, both from memory."""

ASSUMED_ACCURACY = Accuracy("class 2.5, assumed (common practice, no source)", 0.025, 0.025)
"""What is taken when the study file does not say."""


@dataclass(frozen=True)
class Gauge:
    """A press's gauge as its dial shows it.

    full_scale, division (between two marks) and zero (what it shows at no load) are in ``unit``;
    newtons_per_unit is the force on the block for one unit of the scale.
    """

    unit: str
    full_scale: float
    division: float
    zero: float
    accuracy: Accuracy
    newtons_per_unit: float

    def force_n(self, reading: float) -> float:
        """The force behind a reading, the zero error taken off.

        >>> Gauge("bar", 250.0, 5.0, 10.0, ASSUMED_ACCURACY, 785.4).force_n(210.0)
        157080.0
        """
        return (reading - self.zero) * self.newtons_per_unit

    def reading(self, force_n: float) -> float:
        """What the gauge shows at a force, zero error and all."""
        return force_n / self.newtons_per_unit + self.zero

    def tolerance(self, reading: float) -> float:
        """How far off a reading may be: the gauge's accuracy and half a division of the needle."""
        in_the_middle = 0.25 <= reading / self.full_scale <= 0.75
        share = self.accuracy.middle_share if in_the_middle else self.accuracy.outer_share
        return share * self.full_scale + self.division / 2.0

    def tolerance_n(self, reading: float) -> float:
        """The same as a force."""
        return self.tolerance(reading) * self.newtons_per_unit

    def to_division(self, reading: float, careful: bool = False) -> float:
        """The nearest mark on the dial; ``careful``: the mark at or below it.

        >>> Gauge("psi", 10_000.0, 200.0, 0.0, ASSUMED_ACCURACY, 40.0).to_division(4472.0)
        4400.0
        """
        marks = reading / self.division
        # A reading a hair below a mark from rounding is on the mark.
        whole = math.floor(marks + 1e-6) if careful else math.floor(marks + 0.5)
        return whole * self.division

    def show(self, reading: float) -> str:
        """A reading with its unit, as many decimals as the dial's divisions have."""
        return f"{self.plain(reading)} {self.unit}"

    def plain(self, reading: float) -> str:
        """A reading without its unit."""
        decimals = max(0, -math.floor(math.log10(self.division) + 1e-9))
        two_digits = round(self.division * 10**decimals, 6) % 1 != 0.0
        return f"{reading:.{decimals + two_digits}f}"


NoseSize = tuple[float, float] | None
"""Size along x and y of what the ram presses with; None covers the whole top plate."""


@dataclass(frozen=True)
class Press:
    """The shop's press: what it may push, its gauge, and where the shop wants to stop.

    The ram's nose is set in the middle of the top plate.
    """

    capacity_n: float
    gauge: Gauge
    holds_n: tuple[float, ...] = ()
    nose_mm: NoseSize = None

    @property
    def limit_n(self) -> float:
        """The most this press can push with the needle still on the scale."""
        return min(self.capacity_n, self.gauge.force_n(self.gauge.full_scale))

    @property
    def limited_by(self) -> Literal["press", "gauge"]:
        """What gives the limit."""
        return "press" if self.capacity_n <= self.limit_n else "gauge"


def ram_area_mm2(bore_mm: float) -> float:
    """Effective area of a ram that pushes with the whole of its bore.

    >>> round(ram_area_mm2(100.0))
    7854
    """
    return math.pi * bore_mm**2 / 4.0


def scale_kind(unit: str) -> Kind:
    """Whether a gauge's unit is one of pressure or of force."""
    try:
        size_of(unit, "pressure")
    except KeyError:
        return "force"
    return "pressure"


def on_scale(text: object, unit: str) -> float:
    """A quantity such as ``"2500 psi"`` as a number on a scale marked in ``unit``.

    Raises InputError when it is of another kind than the scale is, or is no quantity.
    """
    kind = scale_kind(unit)
    number, own = written(text, kind)
    value = number * size_of(own, kind) / size_of(unit, kind) if own != unit else number
    if not math.isfinite(value):
        raise InputError(f"{text!r} is too large", f"write what the gauge shows, in {unit}")
    return value


def gauge_scale(text: object) -> tuple[float, str]:
    """The end of a gauge's scale and the unit it is marked in, ``US tons`` told as ``US ton``.

    Raises InputError for what is neither a pressure nor a force.
    """
    try:
        number, unit = written(text, "pressure")
    except InputError as not_pressure:
        try:
            number, unit = written(text, "force")
        except InputError as error:
            if "kinds of ton" in error.problem:
                raise
            raise InputError(
                not_pressure.problem.replace("unit of pressure", "unit of pressure or force"),
                'write it as the dial is marked, such as "10000 psi", "250 bar" or "50 US ton"',
            ) from error
    return number, {"US tons": "US ton", "metric tons": "metric ton"}.get(unit, unit)
