"""By which standard welds are judged, and with which figures."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from fea.mesh import Floats
from fea.throat import (
    E70_MPA,
    GAMMA_M2,
    OMEGA,
    PHI,
    aisc_counted_leg_mm,
    aisc_least_leg_mm,
    aisc_shortest_mm,
    aisc_used,
    correlation_factor,
    en_directional,
    en_least_leg_mm,
    en_shortest_mm,
    en_simplified,
    throat_share,
)
from geometry.weld_lines import Bead, WeldLine

Method = Literal["EN directional", "EN simplified", "AISC LRFD", "AISC ASD"]
TubeEnds = Literal["sawn", "faced"]

METHODS: dict[Method, str] = {
    "EN directional": "EN 1993-1-8, directional method (4.5.3.2)",
    "EN simplified": "EN 1993-1-8, simplified method (4.5.3.3)",
    "AISC LRFD": "AISC 360, J2.4, LRFD (φ = 0.75)",
    "AISC ASD": "AISC 360, J2.4, ASD (Ω = 2.00)",
}


@dataclass(frozen=True)
class WeldRules:
    """The user's choice.

    electrode_mpa is the filler's strength FEXX, asked for by AISC alone; correlation is βw, None
    for that of the steel; gamma is γM2. With ``tube_ends`` sawn all that crosses a tube's end goes
    through its weld; with them faced, what presses goes through the contact.
    """

    method: Method = "EN directional"
    electrode_mpa: float = E70_MPA
    correlation: float | None = None
    gamma: float = GAMMA_M2
    tube_ends: TubeEnds = "sawn"

    @property
    def european(self) -> bool:
        """Whether EN 1993-1-8 holds; else AISC 360."""
        return self.method.startswith("EN")

    def used(self, line: WeldLine, bead: Bead, force: Floats, leg_mm: float) -> Floats:
        """Share used (n,) of a bead of ``leg_mm`` by forces (n, 3) in N/mm."""
        throat_mm = leg_mm * throat_share(bead.angle_deg)
        if self.european:
            ultimate, correlation = self.weld_strength(line)
            if self.method == "EN simplified":
                return en_simplified(force, throat_mm, ultimate, correlation, self.gamma)
            return en_directional(
                force, throat_mm, ultimate, correlation, bead.angle_deg, self.gamma
            )
        factor = PHI if self.method == "AISC LRFD" else 1.0 / OMEGA
        # No more across than along where a rectangular tube's end is pulled.
        raised = ((force[:, 0] <= 0.0) | (line.kind != "tube end")).astype(np.float64)
        return aisc_used(force, throat_mm, self.electrode_mpa, factor, raised)

    def weld_strength(self, line: WeldLine) -> tuple[float, float]:
        """Ultimate in MPa and βw of the weaker part joined; a weaker filler lowers the ultimate."""
        pairs = [
            (
                part.ultimate_mpa,
                self.correlation or correlation_factor(part.name, part.ultimate_mpa),
            )
            for part in line.parts
        ]
        ultimate, correlation = min(pairs, key=lambda pair: pair[0] / pair[1])
        return min(ultimate, line.weld_ultimate_mpa or ultimate), correlation

    def least_leg_mm(self, line: WeldLine) -> float:
        """The standard's smallest leg for the thicknesses joined."""
        thick = [part.thickness_mm for part in line.parts]
        if self.european:
            return max(en_least_leg_mm(max(thick), bead.angle_deg) for bead in line.beads)
        return aisc_least_leg_mm(min(thick))

    def shortest_mm(self, line: WeldLine) -> float:
        """The shortest fillet that counts; forces are evened over this length too.

        Where there is no fillet, that of the smallest one.
        """
        leg = line.leg_mm or self.least_leg_mm(line)
        if self.european:
            return en_shortest_mm(leg * max(throat_share(bead.angle_deg) for bead in line.beads))
        return aisc_shortest_mm(leg)

    def counted_leg_mm(self, line: WeldLine) -> float:
        """How much of the leg counts on a line as short as this."""
        if self.european:
            return line.leg_mm
        return aisc_counted_leg_mm(line.leg_mm, line.length_mm)

    def largest_leg_mm(self, line: WeldLine) -> float:
        """The largest leg that could count on a line as short as this."""
        if self.european:
            return float("inf")
        return aisc_counted_leg_mm(float("inf"), line.length_mm)


USUAL_RULES = WeldRules()
"""What holds where nothing is chosen."""
