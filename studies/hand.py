"""What a shop would reckon by hand, beside what the finite elements found.

A hand sum knows nothing of corners, holes and weld toes, so first yield comes earlier than the
lowest of them; and no part can stay springy past the load that the whole stub can carry at all.
Between those bounds a ratio is believable. Outside, one of the two is wrong, and that is said.
"""

import math
from dataclasses import dataclass, replace
from typing import Literal

from geometry.block import Block
from geometry.section import (
    Piece,
    axial_stiffness_n,
    elastic_load_n,
    moments,
    plastic_load_n,
    stub_pieces,
)
from geometry.welds import wall_height_mm
from studies.hand_plates import (
    load_points,
    overhang_loads_n,
    pressed_plates,
    span,
    under_patch_n,
)
from studies.loads import ClampCase, CrushCase, LoadCase, PadCase, WrapCase, in_the_middle

Figure = Literal["first yield", "first yield, clamp included", "stiffness"]

MESH_MARGIN = 1.02
"""A computed load may lie this far past a true upper bound: the mesh is not endlessly fine."""

CRUSH_LOWEST = 0.4
BENT_LOWEST = 0.25
"""Stress at a weld toe, a sharp corner or a hole is 1.5 to 4 times what a hand sum gives (Peterson,
*Stress Concentration Factors*, charts for fillets and holes, from memory). Evenly squeezed parts
lie at the low end, bent ones reach the high end."""

OVERHANG_HIGHEST = 1.3
"""A wide cantilever cannot narrow, which helps by 1/√(1 − ν + ν²) = 1.13 in von Mises stress;
averaging over a disc of half the thickness, where the moment falls away, gives the rest."""

STIFFNESS_MARGIN = 0.85
"""Spreading at 45° into the plates is a rule of thumb (common practice, no source)."""

_NU = 0.3


@dataclass(frozen=True)
class HandSum:
    """One sum by hand: what is reckoned, and the load in N (or stiffness in N/mm) it gives."""

    what: str
    value: float


@dataclass(frozen=True)
class HandCheck:
    """A computed figure beside the lowest of its hand sums.

    Loads are in N, stiffness in N/mm. ``lowest`` and ``highest`` bound the believable ratio of
    ``computed`` to the lowest sum.
    """

    figure: Figure
    sums: tuple[HandSum, ...]
    computed: float
    lowest: float
    highest: float

    @property
    def governing(self) -> HandSum:
        """The lowest of the sums."""
        return min(self.sums, key=lambda one: one.value)

    @property
    def ratio(self) -> float:
        """Computed over the lowest sum by hand."""
        return self.computed / self.governing.value

    @property
    def believable(self) -> bool:
        """Whether the ratio lies within its bounds; NaN never does."""
        return self.lowest <= self.ratio <= self.highest


def hand_checks(
    block: Block, case: LoadCase, first_yield_n: float, stiffness_n_per_mm: float
) -> tuple[HandCheck, ...]:
    """All hand sums for one load case beside its computed first yield and stiffness.

    Stiffness is checked under flat platens only: under a soft seat the plates dish, which no short
    sum gives.
    """
    pieces = stub_pieces(block)
    if isinstance(case, CrushCase):
        return (
            _squash(block, pieces, first_yield_n),
            _stiffness(block, pieces, stiffness_n_per_mm),
        )
    if isinstance(case, ClampCase):
        return (_bent(block, pieces, in_the_middle(case), first_yield_n),)
    if isinstance(case, WrapCase) and case.clamp_n:
        together = _with_clamp(case, first_yield_n)
        check = _bent(block, pieces, together, together.load_n)
        return (replace(check, figure="first yield, clamp included"),)
    return (_bent(block, pieces, case, first_yield_n),)


def _with_clamp(case: WrapCase, first_yield_n: float) -> WrapCase:
    """Clamp and load at first yield as one load: the clamp draws it towards the middle."""
    total_n = case.clamp_n + first_yield_n
    x, y = (first_yield_n / total_n * side for side in case.offset_mm)
    along, across = (first_yield_n / case.load_n * push for push in case.shear_n)
    return replace(case, load_n=total_n, offset_mm=(x, y), shear_n=(along, across), clamp_n=0.0)


def _squash(block: Block, pieces: tuple[Piece, ...], first_yield_n: float) -> HandCheck:
    """A·fy; under a wedge the short side, shortened as much as the long one, gives first.

    The stub at mid-length is squeezed as by A·fy while its short side, less high by some share, is
    squeezed by as much more: Hooke's law for bars side by side.
    """
    load_n = sum(moments(piece.outline).area_mm2 * piece.yield_mpa for piece in pieces)
    squashed = HandSum("stub squashed: A · fy", load_n)
    if not block.taper_deg:
        return HandCheck("first yield", (squashed,), first_yield_n, CRUSH_LOWEST, MESH_MARGIN)
    share = min(block.tube_sides_mm) / wall_height_mm(block, 0.0)
    short = HandSum("short side squashed first: A · fy · short side / mean", share * load_n)
    sums = (squashed, short)
    return HandCheck("first yield", sums, first_yield_n, CRUSH_LOWEST, MESH_MARGIN / share)


def _stiffness(block: Block, pieces: tuple[Piece, ...], computed: float) -> HandCheck:
    """E·A/h; believable from what the plates under the walls give, to rigid fillets and ends.

    Under a wall t thick, a plate T thick squeezed over a strip that widens at 45° both ways gives
    (t/2h) ln(1 + 2T/t) of what the wall does. A wall that cannot widen is 1/(1 − ν²) stiffer.
    """
    height = wall_height_mm(block, 0.0)
    wall = block.tube.wall_mm
    by_hand = axial_stiffness_n(pieces) / height
    plates = sum(
        wall / (2.0 * height) * math.log(1.0 + 2.0 * plate.thickness_mm / wall)
        for plate in (block.bottom, block.top)
    )
    legs = block.welds.tube_bottom_mm + block.welds.tube_top_mm
    # Triangles and fillets are not in A: rigid over their height, they leave the rest to give.
    triangles = sum(
        block.rib_steel.e_mpa * rib.length_mm * rib.thickness_mm
        for rib in block.ribs
        if rib.shape == "triangle"
    )
    more_steel = 1.0 + triangles / axial_stiffness_n(pieces)
    highest = more_steel / (1.0 - _NU**2) * height / max(height - legs, 0.1 * height)
    sums = (HandSum("stub as a short bar: E · A / h", by_hand),)
    return HandCheck("stiffness", sums, computed, STIFFNESS_MARGIN / (1.0 + plates), highest)


def _bent(
    block: Block, pieces: tuple[Piece, ...], case: PadCase | WrapCase, first_yield_n: float
) -> HandCheck:
    head, foot = load_points(block, case)
    height_mm = block.top_at_mm(float(head[0]))
    down = head + (foot - head) * (height_mm - block.tube_foot_mm) / height_mm
    up = head + (foot - head) * block.top.thickness_mm / height_mm
    ends = [(float(x), float(y)) for x, y in (up, down)]
    sums = [
        HandSum(
            "stub squeezed and bent: N/A + M · c/I",
            min(elastic_load_n(pieces, end) for end in ends),
        )
    ]
    under_n = under_patch_n(pieces, case, block.top)
    if under_n is not None:
        sums.append(HandSum("stub under the patch pressed on, squashed: A · fy", under_n))
    upper_n = [MESH_MARGIN * min(plastic_load_n(pieces, end) for end in ends)]
    for pressed in pressed_plates(block, case):
        for side, load_n in overhang_loads_n(block, pressed):
            what = f"{pressed.name}'s {side} overhang as a cantilever: 6 M/(b · t²)"
            sums.append(HandSum(what, load_n))
            upper_n.append(OVERHANG_HIGHEST * load_n)
        bore = span(block, pressed)
        if bore is not None:
            what = f"{pressed.name} over the tube's opening: β · p · (b/t)²"
            sums.append(HandSum(what, bore.yields_n))
            upper_n.append(MESH_MARGIN * bore.gives_way_n)
    lowest_n = min(one.value for one in sums)
    return HandCheck(
        "first yield", tuple(sums), first_yield_n, BENT_LOWEST, min(upper_n) / lowest_n
    )
