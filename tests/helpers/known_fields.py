"""Bodies whose stress is known everywhere, meshed as finely as asked for their averaging length."""

from collections.abc import Callable
from dataclasses import dataclass
from types import SimpleNamespace

import numpy as np
from shapes import brick, held_where, near, problem, traction_force

from fea.elasticity import vertex_stress_mpa
from fea.mesh import Floats, TaggedMesh
from fea.model import Model, modelled
from fea.solver import Problem
from fea.solving import solved
from fea.steel import Steel
from fea.yielding import Strength, strength

STEEL = Steel("S355", 355.0, 490.0)
INNER_MM = 10.0
PULL_MPA, PUSH_MPA, BENDING_N_MM = 100.0, 100.0, 5000.0
_ELEMENT_SHARE = 0.43
"""Of the averaging thickness, as large as elements are on a block at normal."""
_TRUTH = 2.0

Field = Callable[[Floats, Floats], tuple[Floats, Floats, Floats]]


@dataclass(frozen=True)
class Ring:
    """A quarter ring in plane strain, from its inner radius to ``outer_mm``; loaded exactly.

    ``field`` gives σrr, σθθ, σrθ in MPa at radii and angles; ``free`` are the faces nothing presses
    on, ``loaded`` the one that the exact traction acts on. Symmetry holds the straight ends named
    in ``held``.
    """

    name: str
    outer_mm: float
    field: Field
    loaded: str
    held: tuple[str, ...]
    free: tuple[str, ...]
    thickness_mm: float

    def mesh(self, finer: float) -> TaggedMesh:
        """Elements 1 / ``finer`` as large as usual."""
        size_mm = _ELEMENT_SHARE * self.thickness_mm / finer
        ratio, depth_mm = self.outer_mm / INNER_MM, 2.0 * self.thickness_mm
        lengths = (INNER_MM * np.log(ratio), INNER_MM * np.pi / 2.0, depth_mm)
        counts = [max(2, round(length / size_mm)) for length in lengths]

        def bend(p: Floats) -> Floats:
            s, turn, z = p.T
            away = INNER_MM * ratio**s
            return np.column_stack([away * np.cos(turn), away * np.sin(turn), z])

        return brick(
            (counts[0], counts[1], counts[2]),
            (1.0, np.pi / 2.0, depth_mm),
            bend,
            self.thickness_mm,
            inner=lambda p: near(p, 0, 0.0),
            outer=lambda p: near(p, 0, 1.0),
            start=lambda p: near(p, 1, 0.0),
            end=lambda p: near(p, 1, np.pi / 2.0),
            low=lambda p: near(p, 2, 0.0),
            high=lambda p: near(p, 2, depth_mm),
        )

    def stress_mpa(self, points_mm: Floats) -> Floats:
        """Exact stress (..., 6) at points (..., 3)."""
        turn = np.arctan2(points_mm[..., 1], points_mm[..., 0])
        rr, tt, rt = self.field(np.hypot(points_mm[..., 0], points_mm[..., 1]), turn)
        c, s = np.cos(turn), np.sin(turn)
        xx = rr * c**2 + tt * s**2 - 2.0 * rt * s * c
        yy = rr * s**2 + tt * c**2 + 2.0 * rt * s * c
        xy = (rr - tt) * s * c + rt * (c**2 - s**2)
        none = np.zeros_like(xx)
        return np.stack([xx, yy, STEEL.nu * (rr + tt), xy, none, none], axis=-1)

    def truth(self) -> Strength:
        """The yield measures of the exact stress, on a mesh much finer than any solved on."""
        mesh = self.mesh(_TRUTH)
        exact = self.stress_mpa(mesh.points_mm[mesh.tets])
        lame = np.broadcast_to(STEEL.lame_mpa, (len(mesh.tets), 2))
        return strength(SimpleNamespace(mesh=mesh, steels=(STEEL,), lame_mpa=lame), exact)

    def found(self, finer: float) -> Strength:
        """The yield measures of the finite-element solution."""
        model = modelled(self.mesh(finer), (STEEL,))
        (solution,) = solved(model, (self._problem(model),))
        stress = vertex_stress_mpa(model, solution.displacement_mm)
        return strength(model, stress, self.free)

    def _problem(self, model: Model) -> Problem:
        nodes = model.space.nodes_mm
        held = held_where(model, np.ones(len(nodes), dtype=bool), ())
        held[:, 2] = near(nodes, 2, 0.0) | near(nodes, 2, 2.0 * self.thickness_mm)
        on_axis = near(nodes, 1, 0.0)
        held[on_axis, 1] = True
        if "end" in self.held:
            held |= held_where(model, near(nodes, 0, 0.0, 1e-9 * INNER_MM), (0,))
        else:
            held |= held_where(model, on_axis & near(nodes, 0, INNER_MM), (0,))

        def traction(x: Floats) -> Floats:
            xx, yy, _, xy, _, _ = np.moveaxis(self.stress_mpa(x), -1, 0)
            away = np.hypot(x[..., 0], x[..., 1])
            along = {
                "inner": -x[..., :2] / away[..., None],
                "outer": x[..., :2] / away[..., None],
                "end": np.broadcast_to([-1.0, 0.0], (*away.shape, 2)),
            }[self.loaded]
            n, m = along[..., 0], along[..., 1]
            return np.stack([xx * n + xy * m, xy * n + yy * m, 0.0 * n], axis=-1)

        return problem(model, held, traction_force(model, self.loaded, traction))


def hole(thickness_mm: float) -> Ring:
    """A hole in a pulled plate: Kirsch 1898; Timoshenko & Goodier, art. 35."""

    def field(r: Floats, turn: Floats) -> tuple[Floats, Floats, Floats]:
        q, c2, s2 = (INNER_MM / r) ** 2, np.cos(2.0 * turn), np.sin(2.0 * turn)
        half = PULL_MPA / 2.0
        rr = half * ((1.0 - q) + (1.0 - 4.0 * q + 3.0 * q**2) * c2)
        tt = half * ((1.0 + q) - (1.0 + 3.0 * q**2) * c2)
        return rr, tt, -half * (1.0 + 2.0 * q - 3.0 * q**2) * s2

    ends = ("start", "end")
    return Ring("Hole in a pulled plate", 40.0, field, "outer", ends, ("inner",), thickness_mm)


def cylinder(thickness_mm: float) -> Ring:
    """A thick cylinder pressed from inside: Lamé 1852; Timoshenko & Goodier, art. 28."""

    def field(r: Floats, turn: Floats) -> tuple[Floats, Floats, Floats]:
        mean = PUSH_MPA / (2.0**2 - 1.0)
        swing = mean * (2.0 * INNER_MM / r) ** 2
        return mean - swing, mean + swing, 0.0 * turn

    ends = ("start", "end")
    return Ring("Thick cylinder", 20.0, field, "inner", ends, ("outer",), thickness_mm)


def curved_bar(thickness_mm: float) -> Ring:
    """A curved bar bent by its ends: Golovin 1881; Timoshenko & Goodier, art. 29 (from memory)."""
    a, b = INNER_MM, 20.0

    def field(r: Floats, turn: Floats) -> tuple[Floats, Floats, Floats]:
        n = (b**2 - a**2) ** 2 - (2.0 * a * b * np.log(b / a)) ** 2
        common = b**2 * np.log(r / b) + a**2 * np.log(a / r)
        swing = (a * b / r) ** 2 * np.log(b / a)
        scale = -4.0 * BENDING_N_MM / n
        return scale * (common + swing), scale * (common - swing + b**2 - a**2), 0.0 * turn

    free = ("inner", "outer")
    return Ring("Curved bar", 20.0, field, "end", ("start",), free, thickness_mm)


BODIES = (hole, cylinder, curved_bar)
THICKNESSES_MM = (2.4, 3.4, 5.0)
