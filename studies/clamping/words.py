"""U-bolts in sentences: what they press with, and what is worth knowing of it."""

from studies.clamping.u_bolts import SCATTER, USUAL_PROOF_SHARE, UBolts
from studies.units import OutputUnits


def clamp_words(bolts: UBolts, units: OutputUnits) -> str:
    """For example ``two U-bolts, M16 of 8.8, tightened to 180 N·m at each nut, press with …``."""
    number = {1: "one U-bolt", 2: "two U-bolts"}.get(bolts.count, f"{bolts.count} U-bolts")
    press = "presses" if bolts.count == 1 else "press"
    return (
        f"{number}, {bolts.thread_name} of {bolts.grade_name}, tightened to "
        f"{units.show_moment(bolts.torque_n_mm)} at each nut, {press} with "
        f"{units.show_force(bolts.clamp_n)} in all, spring above and axle below"
    )


def bolt_remarks(bolts: UBolts, units: OutputUnits) -> list[str]:
    """Pull in a leg and how far to trust it, and a warning where the bolt's proof load is near."""
    least, most = bolts.spread
    share = bolts.proof_share
    low, high = bolts.nut_factor * (1.0 - SCATTER), bolts.nut_factor * (1.0 + SCATTER)
    said = [
        f"{units.show_moment(bolts.torque_n_mm)} pulls each leg with about "
        f"{units.show_force(bolts.leg_n)}, {100 * share:.0f} % of its proof load of "
        f"{units.show_force(bolts.proof_n)}, at a nut factor of {bolts.nut_factor:.3g}. A nut "
        f"factor differs from bolt to bolt: from {low:.2g} to {high:.2g} the pull is "
        f"{units.show_force(least * bolts.leg_n)} to {units.show_force(most * bolts.leg_n)}."
    ]
    if share > 1.0:
        said.append(
            "Past the proof load: these bolts stretch for good and may break. Use less torque, or "
            "larger or stronger bolts."
        )
    elif share > USUAL_PROOF_SHARE * 1.001:
        said.append(
            f"More than the {100 * USUAL_PROOF_SHARE:.0f} % of proof load that bolts meant to be "
            "undone are commonly tightened to."
        )
    if share <= 1.0 < share * most:
        said.append("With slippery threads the same torque would go past the proof load.")
    return said
