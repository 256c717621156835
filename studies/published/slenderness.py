"""How slender walls are, and may be, as the standards' tables have it."""

from fea.grades import steel_of_grade
from geometry.stock import design_wall_mm
from geometry.walls import aisc_limit, en_limit, flat_mm
from studies.published.check import PublishedCheck, within

_IN_MM = 25.4


def _hss4_slenderness() -> float:
    wall_mm = design_wall_mm("ASTM A500", 0.25 * _IN_MM, None)
    return flat_mm(4.0 * _IN_MM, wall_mm) / wall_mm


# Half of the last digit that each source gives.
CHECKS: tuple[PublishedCheck, ...] = (
    PublishedCheck(
        "American square tube: flat width of its walls over their thickness",
        "AISC Steel Construction Manual, HSS4×4×1/4 (from memory)",
        14.2,
        "",
        within(0.05 / 14.2),
        _hss4_slenderness,
    ),
    PublishedCheck(
        "Tube wall of 50 ksi steel: width over thickness at which it may buckle first",
        "AISC 360 table B4.1a, case 6: 1.40 √(E/Fy); AISC Design Examples, ch. E (from memory)",
        33.7,
        "",
        within(0.05 / 33.7),
        lambda: aisc_limit("tube", "both edges", steel_of_grade("A500 C", 6.0)),
    ),
    PublishedCheck(
        "Part held on both edges, S355, over that of 42 for S235: ε",
        "EN 1993-1-1 table 5.2",
        0.81,
        "",
        within(0.005 / 0.81),
        lambda: en_limit("both edges", steel_of_grade("S355", 6.0)) / 42.0,
    ),
    PublishedCheck(
        "Part with a free edge, S275, over that of 14 for S235: ε",
        "EN 1993-1-1 table 5.2",
        0.92,
        "",
        within(0.005 / 0.92),
        lambda: en_limit("one edge", steel_of_grade("S275", 6.0)) / 14.0,
    ),
)
