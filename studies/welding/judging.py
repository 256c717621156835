"""Each weld line held against the rules under each load, at the load demanded."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from fea.mesh import Floats
from fea.seams import SeamLoad, evened
from geometry.weld_lines import Bead, WeldLine
from studies.results import LayoutResult
from studies.welding.rules import WeldRules


@dataclass(frozen=True)
class JudgedLine:
    """A weld line under one load.

    used is the share of the fillet's strength that is used at the load demanded, None where there
    is no fillet; half and double are the same with forces evened over half and twice the length.
    force is what crosses the joint there in N/mm: pull, outward, along. ``along_line`` gives the
    share used at every station (for a leg of 1 mm where there is no fillet). needed_leg_mm is the
    smallest leg with used ≤ 1, None when none does. most_pull is the strongest pull anywhere.
    """

    line: WeldLine
    load_name: str
    over_mm: float
    used: float | None
    half: float | None
    double: float | None
    place: str
    point_mm: tuple[float, float, float]
    force: tuple[float, float, float]
    along_line: tuple[float, ...]
    needed_leg_mm: float | None
    least_leg_mm: float
    most_pull: float
    too_short: bool


def judged_line(
    line: WeldLine, load: SeamLoad, rules: WeldRules, load_name: str = ""
) -> JudgedLine:
    """Hold one line against the rules."""
    over = rules.shortest_mm(line)
    leg = rules.counted_leg_mm(line)
    forces = _evened(line, load, rules, over)
    shares = _used(line, forces, rules)
    worst = int(np.argmax(shares))
    # A share goes with one over the leg.
    needed = float(shares[worst])
    pull, outward, along, _ = (float(value) for value in forces[worst])
    half, double = (
        float(_used(line, _evened(line, load, rules, factor * over), rules).max()) / leg
        if leg
        else None
        for factor in (0.5, 2.0)
    )
    return JudgedLine(
        line=line,
        load_name=load_name,
        over_mm=over,
        used=needed / leg if leg else None,
        half=half,
        double=double,
        place=line.places[worst],
        point_mm=line.points_mm[worst],
        force=(pull, outward, along),
        along_line=tuple(float(share) / (leg or 1.0) for share in shares),
        needed_leg_mm=needed if needed <= rules.largest_leg_mm(line) else None,
        least_leg_mm=rules.least_leg_mm(line),
        most_pull=float(forces[:, 0].max()),
        too_short=line.length_mm < over * (1.0 - 1e-9),
    )


def _evened(line: WeldLine, load: SeamLoad, rules: WeldRules, over_mm: float) -> Floats:
    """Pull, outward, along and couple (n, 4) at the stations, as the weld must carry them."""
    values = np.column_stack([load.pull, load.outward, load.along, load.couple])
    forces = evened(values, line.spacing_mm, line.closed, over_mm)
    if rules.tube_ends == "faced" and line.kind == "tube end":
        forces[:, 0] = np.maximum(forces[:, 0], 0.0)
    return forces


def bead_forces(line: WeldLine, forces: Floats) -> list[tuple[Bead, Floats]]:
    """What each bead of a joint carries, (n, 3), of the joint's forces (n, 4).

    Two beads halve the force, and their couple pulls on one and presses on the other at the
    distance of their roots. A single bead takes all of it; it is not asked to resist tilting about
    its own root, as round a hollow section EN 1993-1-8, 4.12 (3) allows (from memory).
    """
    shared = forces[:, :3] / len(line.beads)
    if len(line.beads) == 1:
        (bead,) = line.beads
        sign = -1.0 if bead.arm_mm < 0.0 else 1.0
        return [(bead, shared * [1.0, sign, 1.0])]
    made = []
    for bead, other in zip(line.beads, line.beads[::-1], strict=True):
        pull = (forces[:, 3] - other.arm_mm * forces[:, 0]) / (bead.arm_mm - other.arm_mm)
        outward = shared[:, 1] * np.sign(bead.arm_mm)
        made.append((bead, np.column_stack([pull, outward, shared[:, 2]])))
    return made


def _used(line: WeldLine, forces: Floats, rules: WeldRules) -> Floats:
    """Share used (n,) of beads with a leg of 1 mm, the worse bead at each station."""
    return np.asarray(
        np.max(
            [rules.used(line, bead, force, 1.0) for bead, force in bead_forces(line, forces)],
            axis=0,
        )
    )


def judged_layout(row: LayoutResult, rules: WeldRules) -> tuple[tuple[JudgedLine, ...], ...]:
    """All lines of a layout under each of its loads."""
    return tuple(judged_case(row, index, rules) for index in range(len(row.cases)))


@lru_cache(maxsize=512)
def judged_case(row: LayoutResult, index: int, rules: WeldRules) -> tuple[JudgedLine, ...]:
    """All lines of a layout under one of its loads."""
    case = row.cases[index]
    return tuple(
        judged_line(line, load, rules, case.case.name)
        for line, load in zip(row.weld_plan.lines, case.weld_loads, strict=True)
    )


def governing(lines: tuple[JudgedLine, ...]) -> JudgedLine | None:
    """The line with the largest share used; None where there is no fillet."""
    return max(
        (one for one in lines if one.used is not None),
        key=lambda one: one.used or 0.0,
        default=None,
    )
