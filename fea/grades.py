"""Published steel grades with their thickness steps."""

import difflib
from dataclasses import dataclass

from fea.errors import InputError
from fea.steel import Steel

_KSI_MPA = 6.894757293168361


@dataclass(frozen=True)
class Grade:
    """A grade: minimum yield up to each thickness, minimum ultimate, where the figures stand."""

    name: str
    steps: tuple[tuple[float, float], ...]
    ultimate_mpa: float
    source: str
    e_mpa: float = 210_000.0


def _ksi(
    name: str, thickness_mm: float, yield_ksi: float, ultimate_ksi: float, source: str
) -> Grade:
    steps = ((thickness_mm, yield_ksi * _KSI_MPA),)
    return Grade(name, steps, ultimate_ksi * _KSI_MPA, source, e_mpa=29_000.0 * _KSI_MPA)


_EN_STEPS_MM = (16.0, 40.0, 63.0, 80.0, 100.0)


def _en(name: str, yields_mpa: tuple[float, ...], ultimate_mpa: float) -> Grade:
    return Grade(
        name,
        tuple(zip(_EN_STEPS_MM, yields_mpa, strict=True)),
        ultimate_mpa,
        "EN 10025-2, table of yield by thickness; ultimate from EN 1993-1-1 table 3.1",
    )


GRADES = {
    grade.name: grade
    for grade in (
        _en("S235", (235.0, 225.0, 215.0, 215.0, 215.0), 360.0),
        _en("S275", (275.0, 265.0, 255.0, 245.0, 235.0), 430.0),
        _en("S355", (355.0, 345.0, 335.0, 325.0, 315.0), 490.0),
        _ksi("A36", 200.0, 36.0, 58.0, "ASTM A36, plates and bars to 8 in"),
        _ksi("A500 B", 16.0, 46.0, 58.0, "ASTM A500 grade B, shaped tube"),
        _ksi("A500 C", 16.0, 50.0, 62.0, "ASTM A500 grade C, shaped tube"),
    )
}
"""S355's ultimate is 510, 490 or 470 MPa by source; 490 (EN 1993-1-1, t ≤ 40 mm) is used here."""


def steel_of_grade(name: str, thickness_mm: float) -> Steel:
    """The steel of a grade at a thickness; raises InputError for an unknown grade or too thick."""
    grade = GRADES.get(name.strip().upper())
    if grade is None:
        near = difflib.get_close_matches(name.strip().upper(), GRADES, n=1, cutoff=0.3)
        raise InputError(
            f"steel {name!r:.40} is not a grade we know",
            (f"did you mean {near[0]!r}? " if near else "")
            + f"known: {', '.join(GRADES)}; or give its yield, ultimate and E",
        )
    for limit_mm, yield_mpa in grade.steps:
        if thickness_mm <= limit_mm:
            return Steel(
                grade.name, yield_mpa, grade.ultimate_mpa, grade.e_mpa, source=grade.source
            )
    raise InputError(
        f"{grade.name} has no published yield at {thickness_mm:.4g} mm",
        f"use at most {grade.steps[-1][0]:g} mm, or give yield, ultimate and E yourself",
    )
