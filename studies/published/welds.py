"""Fillet welds: published strengths and sizes, and lines of force that a handbook gives."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from fea.elasticity import vertex_stress_mpa
from fea.mesh import Floats, Part, TaggedMesh
from fea.model import modelled
from fea.seams import Seam, bodies_of, evened, seam_loads
from fea.solving import solved
from fea.steel import Steel
from fea.throat import (
    E70_MPA,
    INCH_MM,
    KSI_MPA,
    OMEGA,
    PHI,
    aisc_least_leg_mm,
    aisc_strength_mpa,
    correlation_factor,
    en_directional,
    en_shear_strength_mpa,
    en_simplified,
    throat_share,
)
from studies.published.bodies import brick, held_where, near, problem, traction_force
from studies.published.check import PublishedCheck, within

_EN = "EN 1993-1-8, 4.5.3.3 with γM2 = 1.25; quoted second-hand"
_AISC = "AISC 360, J2.4, as the AISC manual's 1.392 and 0.928 kip/in; quoted second-hand"
_BLUE = "SCI P363, fillet welds of 6 mm leg (throat 4.2 mm); from memory"
_TABLE = "AISC 360, table J2.4; quoted second-hand"
_BLODGETT = "Blodgett, Design of Welded Structures, 1966, section 7.4: weld as a line; from memory"
_PRINTED = within(0.005)
_EXACT = within(1e-5)
"""Forces on lines are kept to four decimals of N/mm."""

_PULL, _ALONG = np.array([1.0, 0.0, 0.0]), np.array([0.0, 0.0, 1.0])
_WIDTH_MM, _THICK_MM, _ARM_MM, _LOAD_N = 60.0, 6.0, 20.0, 900.0


def _en_mpa(grade: str, ultimate_mpa: float) -> float:
    return en_shear_strength_mpa(ultimate_mpa, correlation_factor(grade, ultimate_mpa))


def _kn_per_mm(force: Floats, grade: str, ultimate_mpa: float) -> float:
    """What a throat of 4.2 mm carries by the directional method."""
    used = en_directional(force, 4.2, ultimate_mpa, correlation_factor(grade, ultimate_mpa))
    return float(1.0 / used) / 1000.0


def _kip_per_inch(sixteenths: int, factor: float, angle_deg: float) -> float:
    """What a fillet of so many sixteenths of an inch carries under a force at an angle to it."""
    turn = np.radians(angle_deg)
    force = np.array([0.0, np.sin(turn), np.cos(turn)])
    strength_mpa = float(aisc_strength_mpa(force, E70_MPA))
    return factor * strength_mpa / KSI_MPA * throat_share() * sixteenths / 16.0


def _directional_over_simplified() -> float:
    args = (4.0, 430.0, 0.85)
    return float(en_simplified(_PULL, *args) / en_directional(_PULL, *args))


def _bar_on_bar() -> TaggedMesh:
    """A flat bar 60 × 6 mm on its like, the upper one 20 mm high."""
    mesh = brick(
        (12, 2, 8),
        (_WIDTH_MM, _THICK_MM, 2 * _ARM_MM),
        top=lambda p: near(p, 2, 2 * _ARM_MM),
    )
    upper = mesh.points_mm[mesh.tets, 2].mean(axis=1) > _ARM_MM
    volume = _WIDTH_MM * _THICK_MM * _ARM_MM
    parts = (Part("body", _THICK_MM, volume), Part("upper", _THICK_MM, volume))
    return replace(mesh, part_of_tet=upper.astype(np.int64), parts=parts)


def line_force(towards: Floats, at: Callable[[Floats], Floats]) -> float:
    """Force for each mm, from the seam between two bars, under 900 N on the upper one's top.

    towards (3,) is the load's direction; ``at`` picks the figure from the evened values (n, 4) at
    the stations: pull, outward, along, couple.
    """
    steel = Steel("steel", 1.0, 1.0)
    model = modelled(_bar_on_bar(), (steel, steel))
    nodes_mm = model.space.nodes_mm
    held = held_where(model, near(nodes_mm, 2, 0.0), (0, 1, 2))
    pressure = _LOAD_N / (_WIDTH_MM * _THICK_MM) * towards
    force = traction_force(model, "top", lambda x: np.broadcast_to(pressure, x.shape))
    (solution,) = solved(model, (problem(model, held, force),))
    bodies = bodies_of(model, np.array([0, 1]))
    nodes = np.flatnonzero(bodies.has_node.all(axis=0))
    spacing = _WIDTH_MM / 10
    points = np.zeros((11, 3)) + [0.0, _THICK_MM / 2, _ARM_MM]
    points[:, 0] = spacing * np.arange(11)
    axes = np.broadcast_to(np.array([(0, 0, 1), (0, 1, 0), (1, 0, 0)], dtype=float), (11, 3, 3))
    seam = Seam(1, 0, nodes, nodes_mm[nodes, 0], spacing, points, axes, closed=False)
    stress = vertex_stress_mpa(model, solution.displacement_mm)
    applied_n = force + solution.reaction_n
    (load,) = seam_loads(model, bodies, (seam,), (0,), stress, "bars", applied_n)
    values = np.column_stack([load.pull, load.outward, load.along, load.couple])
    return float(at(evened(values, spacing, False, _WIDTH_MM)))


CHECKS: tuple[PublishedCheck, ...] = (
    *(
        PublishedCheck(
            f"design shear strength of a weld on {grade}",
            _EN,
            published,
            "MPa",
            _PRINTED,
            lambda grade=grade, ultimate=ultimate: _en_mpa(grade, ultimate),  # type: ignore[misc]
        )
        for grade, ultimate, published in (
            ("S235", 360.0, 207.8),
            ("S275", 430.0, 233.7),
            ("S355", 490.0, 251.5),
        )
    ),
    PublishedCheck(
        "pulled fillet: directional method over simplified",
        "EN 1993-1-8, 4.5.3: √1.5 by its formulas",
        1.5**0.5,
        "",
        _EXACT,
        _directional_over_simplified,
    ),
    PublishedCheck(
        "6 mm fillet on S275 (fu = 410 MPa) along its length",
        _BLUE,
        0.936,
        "kN/mm",
        _PRINTED,
        lambda: _kn_per_mm(_ALONG, "S275", 410.0),
    ),
    PublishedCheck(
        "6 mm fillet on S275 (fu = 410 MPa) across its length",
        _BLUE,
        1.15,
        "kN/mm",
        _PRINTED,
        lambda: _kn_per_mm(_PULL, "S275", 410.0),
    ),
    PublishedCheck(
        "6 mm fillet on S355 (fu = 470 MPa) along its length",
        _BLUE,
        1.01,
        "kN/mm",
        _PRINTED,
        lambda: _kn_per_mm(_ALONG, "S355", 470.0),
    ),
    PublishedCheck(
        "6 mm fillet on S355 (fu = 470 MPa) across its length",
        _BLUE,
        1.24,
        "kN/mm",
        _PRINTED,
        lambda: _kn_per_mm(_PULL, "S355", 470.0),
    ),
    PublishedCheck(
        "E70 fillet for each 1/16 in of leg, LRFD",
        _AISC,
        1.392,
        "kip/in",
        _PRINTED,
        lambda: _kip_per_inch(1, PHI, 0.0),
    ),
    PublishedCheck(
        "E70 fillet for each 1/16 in of leg, ASD",
        _AISC,
        0.928,
        "kip/in",
        _PRINTED,
        lambda: _kip_per_inch(1, 1 / OMEGA, 0.0),
    ),
    PublishedCheck(
        "two 5/16 in fillets under a force at 60° to them, LRFD",
        "AISC Design Examples, example J.1 (fillet weld loaded at an angle); from memory",
        19.5,
        "kip/in",
        _PRINTED,
        lambda: 2.0 * _kip_per_inch(5, PHI, 60.0),
    ),
    *(
        PublishedCheck(
            f"smallest fillet where the thinner part is {thick} in",
            _TABLE,
            leg,
            "in",
            _EXACT,
            lambda thick=thick: aisc_least_leg_mm(thick * INCH_MM) / INCH_MM,  # type: ignore[misc]
        )
        for thick, leg in ((0.25, 1 / 8), (0.5, 3 / 16), (0.75, 1 / 4), (1.0, 5 / 16))
    ),
    PublishedCheck(
        "bar pressed on a bar: F/L everywhere on the line",
        _BLODGETT,
        _LOAD_N / _WIDTH_MM,
        "N/mm",
        _EXACT,
        lambda: line_force(np.array([0.0, 0.0, -1.0]), lambda v: -v[:, 0].max()),
    ),
    PublishedCheck(
        "bar pushed along: 6 M/L² at the line's end",
        _BLODGETT,
        6.0 * _LOAD_N * _ARM_MM / _WIDTH_MM**2,
        "N/mm",
        _EXACT,
        lambda: line_force(np.array([1.0, 0.0, 0.0]), lambda v: v[0, 0]),
    ),
    PublishedCheck(
        "bar pushed aside: M/(t L) in each of the two beads",
        _BLODGETT,
        _LOAD_N * _ARM_MM / (_THICK_MM * _WIDTH_MM),
        "N/mm",
        _EXACT,
        lambda: line_force(np.array([0.0, -1.0, 0.0]), lambda v: v[5, 3] / _THICK_MM),
    ),
)
