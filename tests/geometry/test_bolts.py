"""Bolt threads and grades by the names people write; their figures are published checks."""

import pytest

from fea.errors import InputError
from geometry.bolts import BOLT_GRADES, THREADS, bolt_grade, thread
from studies.published.check import found
from studies.published.clamp import CHECKS


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.case)
def test_published_bolts(check) -> None:
    assert found(check).passed


@pytest.mark.parametrize(
    ("written", "name"),
    [
        ("M16", "M16"), ("m16", "M16"), ("M16x2", "M16"), ("M16 × 1.5", "M16x1.5"),
        ('1/2"-13 UNC', "1/2-13"), ("5/8 in-18", "5/8-18"), ("1-1/8-7", "1-1/8-7"),
        ("1 1/8-7", "1-1/8-7"), ("1-8", "1-8"),
    ],
)  # fmt: skip
def test_threads_as_people_write_them(written: str, name: str) -> None:
    assert thread(written).name == name


@pytest.mark.parametrize(
    ("written", "remedy"), [("5/8", "5/8-11 or 5/8-18"), ("M15", "M1"), ("x", "M16"), ("", "M16")]
)
def test_unknown_threads_are_refused_with_near_ones(written: str, remedy: str) -> None:
    with pytest.raises(InputError) as caught:
        thread(written)
    assert remedy in caught.value.remedy


def test_grades_as_people_write_them() -> None:
    for written in ("8.8", "class 8.8", "ISO 8.8"):
        assert bolt_grade(written, THREADS["M16"]).name == "8.8"
    for written in ("5", "grade 5", "SAE J429 grade 5", "Gr. 5"):
        assert bolt_grade(written, THREADS["1/2-13"]).name == "grade 5"


@pytest.mark.parametrize(
    ("written", "size", "said"),
    [
        ("8.8", "1/2-13", "no grade of inch bolts"),
        ("grade 8", "M16", "no grade of metric bolts"),
        ("9000", "M16", "no bolt grade we know"),
    ],
)
def test_grades_that_do_not_fit_are_refused(written: str, size: str, said: str) -> None:
    with pytest.raises(InputError, match=said):
        bolt_grade(written, THREADS[size])


def test_every_thread_has_its_strength_in_every_grade_of_its_system() -> None:
    for size in THREADS.values():
        assert 0.5 < size.stress_area_mm2 / (0.785398 * size.diameter_mm**2) < 0.95
        for grade in BOLT_GRADES.values():
            if grade.system == size.system:
                assert 0.0 < grade.proof_mpa(size) < grade.tensile_mpa(size)
