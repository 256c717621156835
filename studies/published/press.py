"""Force behind a gauge reading, as published, and what a shop sees on its press."""

from studies.pressing.gauge import ACCURACIES, ASSUMED_ACCURACY, Gauge, ram_area_mm2
from studies.published.check import PublishedCheck, within
from studies.units import parsed, size_of

_TABLES = "hydraulic cylinder tables, force = pressure × bore area; from memory"
_TRADE = "common practice, no source"
_FOUR_DIGITS = within(0.0005)


def _gauge(unit: str, full_scale: float, area_mm2: float, zero: float = 0.0) -> Gauge:
    per_unit = area_mm2 * size_of(unit, "pressure")
    return Gauge(unit, full_scale, full_scale / 100, zero, ASSUMED_ACCURACY, per_unit)


def _four_inch(unit: str) -> float:
    gauge = _gauge("psi", 10_000.0, ram_area_mm2(parsed("4 in", "length")))
    return gauge.force_n(3000.0) / size_of(unit, "force")


def _hundred_mm_kn() -> float:
    return _gauge("bar", 250.0, ram_area_mm2(100.0)).force_n(200.0) / 1000.0


def _shop_area_mm2() -> float:
    return parsed("20 US ton", "force") / (4472.0 * size_of("psi", "pressure"))


def _shop_us_tons(zero_psi: float) -> float:
    """What stands at 10,000 psi above no load on the press on which 20 US tons are 4472 psi."""
    gauge = _gauge("psi", 15_000.0, _shop_area_mm2(), zero_psi)
    return gauge.force_n(10_000.0 + zero_psi) / size_of("US ton", "force")


def _class_bar() -> float:
    """What a class 1.6 gauge to 250 bar may be off, the needle's half division apart."""
    gauge = Gauge("bar", 250.0, 5.0, 0.0, ACCURACIES["class 1.6"], 1.0)
    return gauge.tolerance(100.0) - 2.5


def _grade_psi(reading_psi: float) -> float:
    gauge = Gauge("psi", 10_000.0, 100.0, 0.0, ACCURACIES["grade B"], 1.0)
    return gauge.tolerance(reading_psi) - 50.0


CHECKS: tuple[PublishedCheck, ...] = (
    PublishedCheck(
        "4 in bore at 3000 psi", _TABLES, 37.70, "kip", _FOUR_DIGITS, lambda: _four_inch("kip")
    ),
    PublishedCheck(
        "4 in bore at 3000 psi, in US tons",
        _TABLES,
        18.85,
        "US ton",
        _FOUR_DIGITS,
        lambda: _four_inch("US ton"),
    ),
    PublishedCheck(
        "4 in bore at 3000 psi, in kN",
        _TABLES,
        167.7,
        "kN",
        _FOUR_DIGITS,
        lambda: _four_inch("kN"),
    ),
    PublishedCheck("100 mm bore at 200 bar", _TABLES, 157.1, "kN", _FOUR_DIGITS, _hundred_mm_kn),
    PublishedCheck(
        "a shop press on which 20 US tons stand at 4472 psi, taken to 10,000 psi",
        _TRADE,
        45.0,
        "US ton",
        within(0.01),
        lambda: _shop_us_tons(0.0),
    ),
    PublishedCheck(
        "the same press when its gauge reads 1000 psi at no load",
        _TRADE,
        45.0,
        "US ton",
        within(0.01),
        lambda: _shop_us_tons(1000.0),
    ),
    PublishedCheck(
        "class 1.6 gauge to 250 bar: how far off it may be",
        "EN 837-1, accuracy classes as a share of the range; from memory",
        4.0,
        "bar",
        within(1e-9),
        _class_bar,
    ),
    PublishedCheck(
        "grade B gauge to 10,000 psi, in the middle half of its scale",
        "ASME B40.100, grade B 3-2-3 %; from memory",
        200.0,
        "psi",
        within(1e-9),
        lambda: _grade_psi(5000.0),
    ),
    PublishedCheck(
        "grade B gauge to 10,000 psi, in the upper quarter",
        "ASME B40.100, grade B 3-2-3 %; from memory",
        300.0,
        "psi",
        within(1e-9),
        lambda: _grade_psi(9000.0),
    ),
)
"""The 4 in and 100 mm rams also follow by hand: π/4 · 4² · 3000 = 37,699 lbf, π/4 · 100² · 20 N."""
