"""Steel grades against the published figures."""

import pytest

from fea.errors import InputError
from fea.grades import GRADES, steel_of_grade

KSI = 6.894757293168361


STEPS_MM = (16.0, 40.0, 63.0, 80.0, 100.0)


@pytest.mark.parametrize(
    ("grade", "yields_mpa"),
    [
        ("S235", (235, 225, 215, 215, 215)),
        ("S275", (275, 265, 255, 245, 235)),
        ("S355", (355, 345, 335, 325, 315)),
    ],
)
def test_yield_by_thickness(grade: str, yields_mpa: tuple[float, ...]) -> None:
    """EN 10025-2, minimum yield by thickness, as quoted in public tables."""
    below_mm = 0.0
    for limit_mm, yield_mpa in zip(STEPS_MM, yields_mpa, strict=True):
        assert steel_of_grade(grade, below_mm + 0.1).yield_mpa == yield_mpa
        assert steel_of_grade(grade, limit_mm).yield_mpa == yield_mpa
        below_mm = limit_mm


@pytest.mark.parametrize(("grade", "yield_ksi"), [("A36", 36), ("A500 B", 46), ("A500 C", 50)])
def test_american_yields(grade: str, yield_ksi: float) -> None:
    """ASTM A36, and A500 shaped tube, as quoted in public tables."""
    assert steel_of_grade(grade, 6.0).yield_mpa == pytest.approx(yield_ksi * KSI)


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
