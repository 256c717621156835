"""The press a study file describes, checked as a whole."""

from fea.errors import InputError
from studies.pressing.gauge import Gauge, Press, on_scale, ram_area_mm2, scale_kind
from studies.pressing.table import PressTable
from studies.reader import Reader
from studies.units import OutputUnits, size_of

_FEWEST_MARKS = 5
_USUAL_MARKS = 100


def checked_press(reader: Reader, table: PressTable, units: OutputUnits) -> Press:
    """The press of ``[press]``.

    Raises InputError, naming the key, when it has neither bore nor area, when the needle has
    nowhere to go, or when a hold point lies past what the press can show.
    """
    full_scale, unit = table.gauge_range
    per_unit = _newtons_per_unit(reader, table, unit)
    division = _on_scale(reader, "gauge_division", table.gauge_division, unit)
    zero = _on_scale(reader, "gauge_zero", table.gauge_zero, unit) or 0.0
    if division is None:
        division = full_scale / _USUAL_MARKS
    if not 0.0 < division <= full_scale / _FEWEST_MARKS:
        reader.refuse(
            "press.gauge_division",
            f"{table.gauge_division!r} is no step between two marks of a gauge to "
            f"{full_scale:g} {unit}",
            f"give more than 0 and at most {full_scale / _FEWEST_MARKS:g} {unit}",
        )
    gauge = Gauge(unit, full_scale, division, zero, table.gauge_accuracy, per_unit)
    if zero < 0.0:
        reader.refuse(
            "press.gauge_zero",
            f"{table.gauge_zero!r} is below nothing",
            "write what the needle shows with the ram off the block, at least 0",
        )
    if zero >= full_scale:
        reader.refuse(
            "press.gauge_range",
            f"ends at {full_scale:g} {unit}, no higher than the {zero:g} {unit} that gauge_zero "
            "says it shows at no load",
            "check both, or put another gauge on",
        )
    press = Press(table.capacity, gauge, tuple(sorted(table.hold_points)), table.nose)
    for hold_n in press.holds_n:
        if hold_n > press.limit_n * 1.001:
            reader.refuse(
                "press.hold_points",
                f"{units.show_force(hold_n)} is past the {units.show_force(press.limit_n)} at "
                f"which the {press.limited_by} ends",
                f"stop at {units.show_force(press.limit_n)} or below",
            )
    return press


def _on_scale(reader: Reader, key: str, text: str | None, unit: str) -> float | None:
    if text is None:
        return None
    try:
        return on_scale(text, unit)
    except InputError as error:
        reader.refuse(f"press.{key}", error.problem, error.remedy)


def _newtons_per_unit(reader: Reader, table: PressTable, unit: str) -> float:
    if scale_kind(unit) == "force":
        if table.bore is not None or table.area is not None:
            reader.refuse(
                "press.bore" if table.bore is not None else "press.area",
                f"stands beside a gauge marked in {unit}, which tells the force itself",
                "leave it out, or give gauge_range in psi or bar",
            )
        return size_of(unit, "force")
    if table.bore is None and table.area is None:
        reader.refuse(
            "press.bore",
            "is missing, and so is area, and a pressure alone tells no force",
            'add the ram\'s bore, such as bore = "4 in", or its effective area',
        )
    if table.bore is not None and table.area is not None:
        reader.refuse("press.area", "stands beside a bore", "keep the one you are surer of")
    area_mm2 = table.area if table.area is not None else ram_area_mm2(table.bore or 0.0)
    return area_mm2 * size_of(unit, "pressure")
