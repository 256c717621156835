"""The weld rules a study file describes, checked as a whole."""

from studies.reader import Reader
from studies.units import OutputUnits
from studies.welding.rules import Method, WeldRules
from studies.welding.table import WeldCheckTable

_USUAL: dict[str, Method] = {"mm": "EN directional", "in": "AISC LRFD"}


def checked_rules(reader: Reader, table: WeldCheckTable, units: OutputUnits) -> WeldRules:
    """The rules of ``[weld_check]``; without a method, that of the country whose units are used.

    Raises InputError for a key that the method chosen has no use for.
    """
    method = table.method or _USUAL[units.length]
    rules = WeldRules(method=method, tube_ends=table.tube_ends)
    strangers = (
        {"electrode": "AISC"}
        if rules.european
        else dict.fromkeys(("correlation", "partial_factor"), "EN")
    )
    for key, family in strangers.items():
        if getattr(table, key) is not None:
            reader.refuse(
                f"weld_check.{key}",
                f"belongs to the {family} methods, and welds are judged by {method!r}",
                f'leave it out, or write method = "{_of(family)}"',
            )
    return WeldRules(
        method=method,
        electrode_mpa=table.electrode or rules.electrode_mpa,
        correlation=table.correlation,
        gamma=table.partial_factor or rules.gamma,
        tube_ends=table.tube_ends,
    )


def _of(family: str) -> Method:
    return "AISC LRFD" if family == "AISC" else "EN directional"
