"""Quantities as a shop writes them, parsed to mm, N, MPa and shown again in the units asked for."""

import difflib
import math
import re
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from typing import Any, Literal

import pint

from fea.errors import InputError

Kind = Literal["length", "area", "force", "stress", "pressure", "moment", "density", "angle"]

_LONGEST_TEXT = 60
_NUMBER = r"[+-]?(?:\d+[ -]\d+/\d+|\d+/\d+|(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,3})?)"
_QUANTITY = re.compile(rf"({_NUMBER})\s*([^\d\s].*)?", re.ASCII)

# How a shop writes a unit, to the name pint knows it by.
_LENGTHS = {
    "mm": "millimeter",
    "cm": "centimeter",
    "m": "meter",
    "in": "inch",
    "inch": "inch",
    "inches": "inch",
    '"': "inch",
    "ft": "foot",
}
_AREAS = {
    "mm2": "millimeter ** 2",
    "mm²": "millimeter ** 2",
    "cm2": "centimeter ** 2",
    "cm²": "centimeter ** 2",
    "in2": "inch ** 2",
    "in²": "inch ** 2",
    "sq in": "inch ** 2",
}
_FORCES = {
    "N": "newton",
    "kN": "kilonewton",
    "lbf": "force_pound",
    "kip": "kip",
    "kgf": "force_kilogram",
    "US ton": "us_ton_force",
    "US tons": "us_ton_force",
    "metric ton": "force_metric_ton",
    "metric tons": "force_metric_ton",
}
_STRESSES = {
    "MPa": "megapascal",
    "GPa": "gigapascal",
    "N/mm2": "megapascal",
    "psi": "psi",
    "ksi": "ksi",
    "bar": "bar",
}
_PRESSURES = {
    "psi": "psi",
    "bar": "bar",
    "kPa": "kilopascal",
    "MPa": "megapascal",
    "kgf/cm2": "force_kilogram / centimeter ** 2",
}
_MOMENTS = {
    "N m": "newton * meter",
    "Nm": "newton * meter",
    "kN m": "kilonewton * meter",
    "kNm": "kilonewton * meter",
    "lbf ft": "force_pound * foot",
    "ft lbf": "force_pound * foot",
    "lbf in": "force_pound * inch",
}
_DENSITIES = {"kg/m3": "kilogram / meter ** 3", "lb/in3": "pound / inch ** 3"}
_ANGLES = {"deg": "degree", "degrees": "degree", "°": "degree"}

_MEANT = {
    "lb": "lbf",
    "lbs": "lbf",
    "pounds": "lbf",
    "kg": "kgf",
    "tonne": "metric ton",
    "tonnes": "metric tons",
    "short ton": "US ton",
    "lb ft": "lbf ft",
    "ft lb": "lbf ft",
    "ft lbs": "lbf ft",
    "millimeters": "mm",
    "feet": "ft",
}
"""What people write for a unit of ours; proposed, never assumed."""


@dataclass(frozen=True)
class _Sort:
    units: dict[str, str]
    inside: str
    example: str


_SORTS: dict[Kind, _Sort] = {
    "length": _Sort(_LENGTHS, "millimeter", '"60 mm" or "2-3/8 in"'),
    "area": _Sort(_AREAS, "millimeter ** 2", '"78.5 cm2" or "9.0 in2"'),
    "force": _Sort(_FORCES, "newton", '"12 kN", "3000 lbf" or "5 US ton"'),
    "stress": _Sort(_STRESSES, "megapascal", '"355 MPa" or "46 ksi"'),
    "pressure": _Sort(_PRESSURES, "megapascal", '"3000 psi" or "200 bar"'),
    "moment": _Sort(_MOMENTS, "newton * millimeter", '"900 N m" or "650 lbf ft"'),
    "density": _Sort(_DENSITIES, "kilogram / meter ** 3", '"7850 kg/m3"'),
    "angle": _Sort(_ANGLES, "degree", '"30 deg"'),
}


@cache
def _registry() -> Any:
    registry: Any = pint.UnitRegistry()
    registry.define("us_ton_force = 2000 * force_pound")
    return registry


@cache
def _factor(unit: str, inside: str) -> float:
    return float(_registry().Quantity(1.0, unit).to(inside).magnitude)


def parsed(text: object, kind: Kind) -> float:
    """A quantity in mm, mm², N, MPa, N·mm, kg/m³ or degrees.

    Lengths are taken to twelve figures: written in one unit or another, they make the same mesh.

    >>> parsed("1-1/2 in", "length"), parsed("38.1 mm", "length")
    (38.1, 38.1)

    Raises InputError, naming forms that would do, for a bare number, an unknown unit, a number
    that is not finite, or anything that is not text.
    """
    number, unit = written(text, kind)
    value = number * size_of(unit, kind)
    if kind == "length":
        value = float(f"{value:.12g}")
    if not math.isfinite(value):
        raise InputError(f"{text!r} is too large", f"write {_SORTS[kind].example}")
    return value


def size_of(unit: str, kind: Kind) -> float:
    """One ``unit``, by the name ``written`` gives it, in mm, mm², N, MPa, N·mm, kg/m³ or degrees.

    >>> size_of("bar", "pressure")
    0.1
    """
    sort = _SORTS[kind]
    return _factor(sort.units[unit], sort.inside)


def written(text: object, kind: Kind) -> tuple[float, str]:
    """The number and the unit a quantity is written with.

    >>> written("2500 PSI", "pressure")
    (2500.0, 'psi')

    Raises InputError as ``parsed`` does.
    """
    sort = _SORTS[kind]
    if isinstance(text, (list, dict)):
        raise InputError(f"{text!r:.40} is not one {kind}", f"write just {sort.example}")
    if not isinstance(text, str):
        raise InputError(f"{text!r:.40} has no unit", f"write {sort.example}, in quotes")
    if len(text) > _LONGEST_TEXT:
        raise InputError(f"{text[:20]!r}… is too long for a {kind}", f"write {sort.example}")
    match = _QUANTITY.fullmatch(text.strip())
    if match is None:
        raise InputError(f"{text!r} is not a {kind}", f"write {sort.example}")
    number, unit = match.groups()
    if unit is None:
        raise InputError(f"{text!r} has no unit", f"write {sort.example}")
    unit = re.sub(r"[\s·*.-]+", " ", unit.replace("”", '"').replace("″", '"')).strip()
    if unit.lower() in ("ton", "tons", "t"):
        raise InputError(f"{text!r} could be two kinds of ton", 'write "US ton" or "metric ton"')
    known = {name.lower(): name for name in sort.units}
    name = unit if unit in sort.units else known.get(unit.lower())
    if name is None:
        raise InputError(
            f"{text!r} has no unit of {kind} that we know", _unit_remedy(number, unit, sort)
        )
    return _number(number, text, sort.example), name


def _unit_remedy(number: str, unit: str, sort: _Sort) -> str:
    if "," in unit:
        return f"write {sort.example}, with a point for decimals and no commas"
    if any(letter.isdigit() for letter in unit):
        return f"write one number and one unit, such as {sort.example}"
    meant = _MEANT.get(unit.lower(), "")
    near = [meant] if meant in sort.units else difflib.get_close_matches(unit, sort.units, n=1)
    return (f"did you mean {number} {near[0]}? " if near else "") + (
        f"use one of: {', '.join(sort.units)}"
    )


def _number(number: str, text: str, example: str) -> float:
    sign = -1.0 if number.startswith("-") else 1.0
    whole, _, fraction = number.lstrip("+-").replace("-", " ").rpartition(" ")
    if "/" not in fraction:
        return sign * float(number.lstrip("+-"))
    try:
        return sign * float(Fraction(whole or "0") + Fraction(fraction))
    except ZeroDivisionError:
        raise InputError(f"{text!r} divides by zero", f"write {example}") from None


@dataclass(frozen=True)
class OutputUnits:
    """The units results are shown in."""

    length: str = "mm"
    force: str = "kN"
    stress: str = "MPa"
    mass: str = "kg"

    def force_in(self, load_n: float) -> float:
        """A force in newtons as a number in the output unit."""
        return load_n / _factor(_FORCES[self.force], "newton")

    def length_in(self, length_mm: float) -> float:
        """A length in millimetres as a number in the output unit."""
        return length_mm / _factor(_LENGTHS[self.length], "millimeter")

    def stress_in(self, stress_mpa: float) -> float:
        """A stress in MPa as a number in the output unit."""
        return stress_mpa / _factor(_STRESSES[self.stress], "megapascal")

    def mass_in(self, mass_kg: float) -> float:
        """A mass in kilograms as a number in the output unit."""
        return mass_kg / _factor({"kg": "kilogram", "lb": "pound"}[self.mass], "kilogram")

    def show_force(self, load_n: float) -> str:
        """For example ``212 kN``."""
        return f"{rounded(self.force_in(load_n))} {self.force}"

    def show_length(self, length_mm: float) -> str:
        """For example ``4.0 mm``."""
        return f"{rounded(self.length_in(length_mm))} {self.length}"

    def show_stress(self, stress_mpa: float) -> str:
        """For example ``355 MPa``."""
        return f"{rounded(self.stress_in(stress_mpa))} {self.stress}"

    def show_moment(self, moment_n_mm: float) -> str:
        """For example ``180 N·m``, or ``133 lbf·ft`` where lengths are in inches."""
        return f"{rounded(self.moment_in(moment_n_mm))} {self.moment}"

    @property
    def moment(self) -> str:
        """The unit of torque that goes with the unit of length."""
        return "lbf·ft" if self.length == "in" else "N·m"

    def moment_in(self, moment_n_mm: float) -> float:
        """A torque in N·mm as a number in the output unit."""
        return moment_n_mm / _factor(_MOMENTS[self.moment.replace("·", " ")], "newton * millimeter")

    def show_mass(self, mass_kg: float) -> str:
        """For example ``2.82 kg``."""
        return f"{rounded(self.mass_in(mass_kg))} {self.mass}"

    def show_stiffness(self, stiffness_n_per_mm: float) -> str:
        """Force per length, for example ``1790 kN/mm``."""
        value = self.force_in(stiffness_n_per_mm) * _factor(_LENGTHS[self.length], "millimeter")
        return f"{rounded(value)} {self.force}/{self.length}"


def rounded(value: float) -> str:
    """Three significant figures, whole numbers above a hundred, no exponent.

    >>> rounded(1234.5), rounded(12.345), rounded(0.012345)
    ('1234', '12.3', '0.0123')
    """
    if value == 0.0 or not math.isfinite(value):
        return f"{value:.0f}"
    return f"{value:.{min(max(2 - math.floor(math.log10(abs(value))), 0), 6)}f}"
