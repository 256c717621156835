"""Plates and a column that buckle at loads known in closed form."""

import math

import numpy as np

from fea.buckling import buckled
from fea.elasticity import vertex_stress_mpa
from fea.mesh import Floats
from fea.model import Model, modelled
from fea.solving import solved
from fea.steel import Steel
from studies.published.bodies import brick, held_where, near, problem, traction_force
from studies.published.check import PublishedCheck, within

_E_MPA = 210_000.0
_NU = 0.3
_WIDTH_MM, _SQUARE_THICK_MM = 100.0, 2.5
_FLANGE_LONG_MM, _FLANGE_WIDE_MM, _FLANGE_THICK_MM = 100.0, 50.0, 2.0
_FLANGE_K, _FLANGE_NU = 0.698, 0.25
_COLUMN_MM = (300.0, 20.0, 10.0)


def plate_mpa(k: float, width_mm: float, thickness_mm: float, nu: float = _NU) -> float:
    """Elastic buckling stress k π² E / (12 (1 − ν²)) (t/b)²: k = 4, b/t = 100 gives 75.92 MPa."""
    return k * math.pi**2 * _E_MPA / (12.0 * (1.0 - nu**2)) * (thickness_mm / width_mm) ** 2


def _squeezed(
    divisions: tuple[int, int, int], size: tuple[float, float, float], nu: float = _NU
) -> tuple[Model, Floats]:
    """A bar or plate squeezed along x by 1 MPa, held only so far that it cannot drift."""
    mesh = brick(divisions, size, end=lambda p: near(p, 0, size[0]))
    model = modelled(mesh, (Steel("steel", 355.0, 490.0, _E_MPA, nu),))
    nodes = model.space.nodes_mm
    root, side, under = (near(nodes, axis, 0.0) for axis in range(3))
    held = held_where(model, root, (0,)) | held_where(model, root & side & under, (1, 2))
    held |= held_where(model, root & under & near(nodes, 1, size[1]), (2,))
    force = traction_force(model, "end", lambda x: np.broadcast_to([-1.0, 0.0, 0.0], x.shape))
    (solution,) = solved(model, (problem(model, held, force),))
    return model, vertex_stress_mpa(model, solution.displacement_mm)


def _square_plate_mpa() -> float:
    """All four edges rest on knife edges at mid-thickness and do not slide along them."""
    model, stress = _squeezed((16, 16, 2), (_WIDTH_MM, _WIDTH_MM, _SQUARE_THICK_MM))
    nodes = model.space.nodes_mm
    ends = near(nodes, 0, 0.0) | near(nodes, 0, _WIDTH_MM)
    sides = near(nodes, 1, 0.0) | near(nodes, 1, _WIDTH_MM)
    middle = near(nodes, 2, _SQUARE_THICK_MM / 2)
    still = held_where(model, (ends | sides) & middle, (2,))
    still |= held_where(model, ends, (1,)) | held_where(model, sides, (0,))
    return buckled(model, stress, still).factor


def _flange_mpa() -> float:
    """Both ends and one side rest on knife edges, the other side is free."""
    size = (_FLANGE_LONG_MM, _FLANGE_WIDE_MM, _FLANGE_THICK_MM)
    model, stress = _squeezed((24, 10, 2), size, _FLANGE_NU)
    nodes = model.space.nodes_mm
    ends = near(nodes, 0, 0.0) | near(nodes, 0, _FLANGE_LONG_MM)
    side = near(nodes, 1, 0.0)
    middle = near(nodes, 2, _FLANGE_THICK_MM / 2)
    still = held_where(model, (ends | side) & middle, (2,))
    still |= held_where(model, ends, (1,)) | held_where(model, side, (0,))
    return buckled(model, stress, still).factor


def _column_n() -> float:
    """Built in at the root, free at the end."""
    _, width, thick = _COLUMN_MM
    model, stress = _squeezed((48, 2, 2), _COLUMN_MM)
    still = held_where(model, near(model.space.nodes_mm, 0, 0.0), (0, 1, 2))
    return buckled(model, stress, still).factor * width * thick


_TIMOSHENKO = "Timoshenko & Gere, Theory of Elastic Stability, 2nd ed."

# Thin-plate theory leaves out shear, which costs these plates some 0.4 % (Mindlin); a mesh of
# displacements is too stiff, by as much here.
CHECKS: tuple[PublishedCheck, ...] = (
    PublishedCheck(
        "Square plate on four edges, 40 times as wide as thick: buckling stress, k = 4",
        f"{_TIMOSHENKO}, art. 9.2",
        plate_mpa(4.0, _WIDTH_MM, _SQUARE_THICK_MM),
        "MPa",
        within(0.01),
        _square_plate_mpa,
    ),
    PublishedCheck(
        "Flange with a free edge, twice as long as wide: buckling stress, k = 0.698",
        f"{_TIMOSHENKO}, art. 9.4, table for ν = 0.25 (from memory)",
        plate_mpa(_FLANGE_K, _FLANGE_WIDE_MM, _FLANGE_THICK_MM, _FLANGE_NU),
        "MPa",
        within(0.01),
        _flange_mpa,
    ),
    PublishedCheck(
        "Column, free at one end: buckling load, π² E I / (4 L²)",
        "Euler 1744",
        math.pi**2
        * _E_MPA
        * _COLUMN_MM[1]
        * _COLUMN_MM[2] ** 3
        / 12.0
        / (4.0 * _COLUMN_MM[0] ** 2),
        "N",
        within(0.01),
        _column_n,
    ),
)
