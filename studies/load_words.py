"""A load case in a sentence a welder can check against what he meant."""

import math

from studies.clamping.words import clamp_words
from studies.loads import ClampCase, CrushCase, LoadCase, PadCase, WrapCase
from studies.units import OutputUnits


def load_sentence(load: LoadCase, units: OutputUnits) -> str:
    """What presses, where, and how hard; for example

    ``stiff flat plates press on the whole block; demanded: 300 kN, 10 times 30.0 kN.``
    """
    if isinstance(load, ClampCase):
        return f"{clamp_words(load.bolts, units)}{_hole(load, units)}."
    if isinstance(load, CrushCase):
        what = "stiff flat plates press on the whole block"
        if load.wedge_deg:
            what += f", through a wedge of {load.wedge_deg:.4g}° that fits its taper"
        if load.friction:
            what += ", gripping so that it cannot spread at the faces"
    elif isinstance(load, PadCase):
        lengthwise, crosswise = (units.show_length(side) for side in load.size_mm)
        what = f"even pressure on a patch of the top plate, {lengthwise} by {crosswise}"
        what += _off(load.centre_mm, units, ", its middle ", " off the plate's")
        what += _hole(load, units)
    else:
        what = "a soft seat presses on the top plate"
        if load.seat_size_mm:
            lengthwise, crosswise = (units.show_length(side) for side in load.seat_size_mm)
            what += f", over {lengthwise} by {crosswise} of it"
        what += _off(load.offset_mm, units, ", the load ", " off the middle")
        if any(load.shear_n):
            what += f", and pushes sideways with {units.show_force(math.hypot(*load.shear_n))}"
            what += f" for each {units.show_force(load.load_n)} of load"
        if load.clamp_n:
            what += f", on top of the U-bolts' {units.show_force(load.clamp_n)}"
        what += _hole(load, units)
    demanded = units.show_force(load.demanded_n)
    return (
        f"{what}; demanded: {demanded}, {load.demand_multiple:g} times "
        f"{units.show_force(load.load_n)}."
    )


def _hole(load: PadCase | WrapCase | ClampCase, units: OutputUnits) -> str:
    if not load.pin_hole_mm:
        return ""
    return f"; the seat below has a hole of {units.show_length(load.pin_hole_mm)} for the pin"


def _off(where_mm: tuple[float, float], units: OutputUnits, before: str, after: str) -> str:
    lengthwise, crosswise = where_mm
    said = []
    if lengthwise:
        said.append(
            f"{units.show_length(abs(lengthwise))} to the {'front' if lengthwise > 0 else 'rear'}"
        )
    if crosswise:
        said.append(
            f"{units.show_length(abs(crosswise))} to the {'left' if crosswise > 0 else 'right'}"
        )
    return f"{before}{' and '.join(said)}{after}" if said else ""
