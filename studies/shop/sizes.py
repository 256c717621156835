"""Sizes as a shop reads them off a tape: tenths of a millimetre, or fractions of an inch."""

from fractions import Fraction

from studies.units import OutputUnits

_MM_PER_IN = 25.4
_FINEST = 32
NO_BREAK = "\u00a0"
"""Keeps a figure and its unit on one line."""
_ON_THE_MARK_MM = 0.005
"""How near a mark on the tape a size must lie to be told as a fraction."""


def _bare(size_mm: float, unit: str) -> str:
    if unit == "mm":
        return f"{size_mm:.1f}".removesuffix(".0")
    inches = size_mm / _MM_PER_IN
    marks = round(inches * _FINEST)
    if abs(marks / _FINEST - inches) * _MM_PER_IN > _ON_THE_MARK_MM or marks == 0:
        return f"{inches:.3f}"
    whole, part = divmod(Fraction(marks, _FINEST), 1)
    if not part:
        return f"{whole}"
    return f"{whole}-{part}" if whole else f"{part}"


def show_size(sizes_mm: tuple[float, ...], units: OutputUnits) -> str:
    """Sizes in the study's unit of length.

    >>> show_size((120.0, 80.0, 6.0), OutputUnits()).replace(NO_BREAK, " ")
    '120 × 80 × 6 mm'
    >>> show_size((114.3, 6.35), OutputUnits(length="in")).replace(NO_BREAK, " ")
    '4-1/2 × 1/4 in'
    """
    return " × ".join(_bare(size, units.length) for size in sizes_mm) + f"{NO_BREAK}{units.length}"


def both(size_mm: float, units: OutputUnits) -> str:
    """A size in the study's unit with the other one behind it.

    >>> both(44.0, OutputUnits()).replace(NO_BREAK, " ")
    '44 mm (1.732 in)'
    """
    other = OutputUnits(length="in" if units.length == "mm" else "mm")
    return f"{show_size((size_mm,), units)} ({show_size((size_mm,), other)})"


def show_run(length_mm: float, units: OutputUnits) -> str:
    """A long length, in metres or feet.

    >>> show_run(2345.0, OutputUnits()), show_run(3048.0, OutputUnits(length="in"))
    ('2.35 m', '10.0 ft')
    """
    if units.length == "mm":
        return f"{length_mm / 1000.0:.2f} m"
    return f"{length_mm / (12 * _MM_PER_IN):.1f} ft"
