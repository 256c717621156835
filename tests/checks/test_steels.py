"""Steel grades against the published figures."""

import pytest

from fea.errors import InputError
from fea.grades import GRADES, steel_of_grade

KSI = 6.894757293168361


@pytest.mark.parametrize(
    ("grade", "thickness_mm", "yield_mpa"),
    [
        ("S235", 16.0, 235), ("S235", 16.1, 225), ("S235", 100.0, 215),
        ("S275", 10.0, 275), ("S275", 40.0, 265), ("S275", 63.0, 255), ("S275", 80.0, 245),
        ("S355", 8.0, 355), ("S355", 20.0, 345), ("S355", 50.0, 335), ("S355", 90.0, 315),
        ("A36", 10.0, 36 * KSI), ("A500 B", 6.0, 46 * KSI), ("A500 C", 6.0, 50 * KSI),
        ("s355", 8.0, 355),
    ],
)  # fmt: skip
def test_yield_by_thickness(grade: str, thickness_mm: float, yield_mpa: float) -> None:
    """EN 10025-2, table of minimum yield by thickness; ASTM A36, A500."""
    assert steel_of_grade(grade, thickness_mm).yield_mpa == pytest.approx(yield_mpa)


def test_grades_that_do_not_exist_are_refused() -> None:
    with pytest.raises(InputError, match="did you mean 'S355'"):
        steel_of_grade("S356", 8.0)
    with pytest.raises(InputError, match="no published yield at 120 mm"):
        steel_of_grade("S355", 120.0)


@pytest.mark.parametrize(
    ("grade", "ultimate_mpa"),
    [
        ("S235", 360.0), ("S275", 430.0), ("S355", 490.0),
        ("A36", 58 * KSI), ("A500 B", 58 * KSI), ("A500 C", 62 * KSI),
    ],
)  # fmt: skip
def test_ultimates(grade: str, ultimate_mpa: float) -> None:
    """EN 1993-1-1 table 3.1, t ≤ 40 mm (S235 and S275 from memory; S355 is 470 or 510 elsewhere).

    ASTM A36 and A500 as quoted in public tables.
    """
    assert steel_of_grade(grade, 10.0).ultimate_mpa == pytest.approx(ultimate_mpa)


@pytest.mark.parametrize("name", GRADES)
def test_every_grade_is_a_steel(name: str) -> None:
    """E: 210 GPa in EN 1993-1-1 3.2.6, 29,000 ksi in AISC 360; thicker is never stronger."""
    grade = GRADES[name]
    limits, yields = zip(*grade.steps, strict=True)
    assert list(limits) == sorted(set(limits))
    assert list(yields) == sorted(yields, reverse=True)
    assert yields[0] < grade.ultimate_mpa
    european = name.startswith("S")
    assert grade.e_mpa == pytest.approx(210_000.0 if european else 29_000.0 * KSI)
    assert steel_of_grade(f" {name.lower()} ", limits[0]).yield_mpa == yields[0]
    assert steel_of_grade(name, limits[0]).source == grade.source
    with pytest.raises(InputError, match="no published yield"):
        steel_of_grade(name, limits[-1] * 1.01)
