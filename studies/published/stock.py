"""Hollow sections as their standards' tables have them."""

from geometry.stock import (
    SectionProperties,
    TubeStandard,
    design_wall_mm,
    inner_corner_radius_mm,
    outer_corner_radius_mm,
    tube_properties,
)
from studies.published.check import PublishedCheck, within

_IN_MM = 25.4


def _square(standard: TubeStandard, side_mm: float, wall_mm: float) -> SectionProperties:
    wall = design_wall_mm(standard, wall_mm, None)
    outer = outer_corner_radius_mm(standard, wall)
    return tube_properties(side_mm, side_mm, wall, outer, inner_corner_radius_mm(standard, wall))


def _hss4() -> SectionProperties:
    return _square("ASTM A500", 4.0 * _IN_MM, 0.25 * _IN_MM)


_AISC = "AISC shapes data v16, HSS4×4×1/4"
_COLD = "EN 10219-2, SHS 100×5 (from memory)"
_HOT = "EN 10210-2, SHS 100×5"

# Half of the last digit that the tables give; AISC's corners are of 2t only nearly.
CHECKS: tuple[PublishedCheck, ...] = (
    PublishedCheck(
        "Cold-formed square tube: steel in its section",
        _COLD,
        18.36,
        "cm²",
        within(0.005 / 18.36),
        lambda: _square("EN 10219", 100.0, 5.0).area_mm2 / 100,
    ),
    PublishedCheck(
        "Cold-formed square tube: second moment",
        _COLD,
        271.0,
        "cm⁴",
        within(0.5 / 271.0),
        lambda: _square("EN 10219", 100.0, 5.0).second_moment_mm4 / 1e4,
    ),
    PublishedCheck(
        "Hot-finished square tube: steel in its section",
        _HOT,
        18.7,
        "cm²",
        within(0.05 / 18.7),
        lambda: _square("EN 10210", 100.0, 5.0).area_mm2 / 100,
    ),
    PublishedCheck(
        "Hot-finished square tube: second moment",
        _HOT,
        279.0,
        "cm⁴",
        within(0.5 / 279.0),
        lambda: _square("EN 10210", 100.0, 5.0).second_moment_mm4 / 1e4,
    ),
    PublishedCheck(
        "American square tube: second moment",
        _AISC,
        7.80,
        "in⁴",
        within(0.01),
        lambda: _hss4().second_moment_mm4 / _IN_MM**4,
    ),
    PublishedCheck(
        "American square tube of 50 ksi steel: load that yields all of it",
        f"{_AISC}: 3.37 in² times 50 ksi",
        168.5,
        "kip",
        within(0.005),
        lambda: _hss4().area_mm2 / _IN_MM**2 * 50.0,
    ),
)
