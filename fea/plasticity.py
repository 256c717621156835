"""Von Mises plasticity at small strain, at the four points of each quadratic tetrahedron.

Radial return with isotropic hardening and the tangent consistent with it (Simo & Taylor,
*Comput. Methods Appl. Mech. Eng.* 48, 1985; de Souza Neto, Perić & Owen, *Computational Methods
for Plasticity*, 2008, chapter 7). With the unit deviator N of the trial stress the tangent is

    D = κ 1⊗1 + 2 μ θ I_dev − c N⊗N

so a point is described by θ μ, c and N alone. Tensors of six components are xx, yy, zz, xy, yz,
zx, shear strains being tensor components, not angles.
"""

from dataclasses import dataclass
from functools import cached_property

import numba
import numpy as np
from numpy.typing import NDArray

from fea.assembly import tets_around
from fea.compiled import compiled
from fea.hardening import Law, LawTable, quad_linear, tabulated
from fea.mesh import Floats, Ints
from fea.model import Model
from fea.space import shape_slopes, tet_rule

POINTS = 4


@dataclass(frozen=True, eq=False)
class Material:
    """A model with the hardening law of each part, ready for compiled passes.

    slopes (4, 10, 4) of the shape functions at the four points; tet_starts, tet_places say where
    each node appears among the flattened tetrahedra.
    """

    model: Model
    words: tuple[str, ...]
    table: LawTable
    slopes: Floats
    tet_starts: Ints
    tet_places: Ints


def material(model: Model, law: Law = quad_linear) -> Material:
    """Give every part of ``model`` the ``law`` of its steel."""
    laws = tuple(law(steel) for steel in model.steels)
    starts, places = tets_around(model.space.tet_nodes, len(model.space.nodes_mm))
    points, _ = tet_rule()
    words = tuple(dict.fromkeys(one.words for one in laws))
    return Material(model, words, tabulated(laws), shape_slopes(points), starts, places)


@dataclass(frozen=True, eq=False)
class Plastic:
    """What the steel remembers: plastic strain (m, 4, 6) and its accumulated amount (m, 4)."""

    strain: Floats
    amount: Floats


def virgin(model: Model) -> Plastic:
    """Steel that has never yielded."""
    count = len(model.mesh.tets)
    return Plastic(np.zeros((count, POINTS, 6)), np.zeros((count, POINTS)))


@dataclass(frozen=True, eq=False)
class Response:
    """Stresses that a displacement causes, starting from what the steel remembers.

    force_n      (N, 3) internal nodal forces, in balance with what pushes from outside
    stress_mpa   (m, 4, 6)
    plastic      what the steel will remember if the step is kept
    shear_mpa    (m, 4) θ μ, drop_mpa (m, 4) c and normal (m, 4, 6) N of the tangent
    """

    force_n: Floats
    stress_mpa: Floats
    plastic: Plastic
    shear_mpa: Floats
    drop_mpa: Floats
    normal: Floats

    @cached_property
    def yielding(self) -> NDArray[np.bool_]:
        """(m,) whether any point of a tetrahedron flows in this step."""
        return np.asarray((self.drop_mpa != 0.0).any(axis=1))


def responded(steel: Material, before: Plastic, displacement_mm: Floats) -> Response:
    """Return-map every point for a displacement (N, 3)."""
    model = steel.model
    count = len(model.mesh.tets)
    stress = np.empty((count, POINTS, 6))
    normal = np.empty((count, POINTS, 6))
    after = Plastic(np.empty_like(before.strain), np.empty_like(before.amount))
    shear, drop = np.empty((count, POINTS)), np.empty((count, POINTS))
    pushes = np.empty((count, 10, 3))
    _return_map(
        model.space.tet_nodes,
        model.gradients,
        model.mesh.tet_volumes_mm3,
        model.lame_mpa,
        model.mesh.part_of_tet,
        steel.table.strain,
        steel.table.stress_mpa,
        steel.table.slope_mpa,
        steel.slopes,
        displacement_mm,
        before.strain,
        before.amount,
        stress,
        after.strain,
        after.amount,
        shear,
        drop,
        normal,
        pushes,
    )
    force = np.empty_like(displacement_mm)
    _gathered(steel.tet_starts, steel.tet_places, pushes.reshape(-1, 3), force)
    return Response(force, stress, after, shear, drop, normal)


def yield_stress_mpa(steel: Material, amount: Floats) -> Floats:
    """Current yield stress (m, 4) at accumulated plastic strains (m, 4)."""
    part = steel.model.mesh.part_of_tet
    found = np.empty_like(amount)
    for index in range(len(steel.model.mesh.parts)):
        mine = part == index
        strain = steel.table.strain[index]
        known = np.isfinite(strain)
        found[mine] = np.interp(amount[mine], strain[known], steel.table.stress_mpa[index][known])
    return found


@compiled
def _return_map(
    tet_nodes: Ints,
    gradients: Floats,
    volumes_mm3: Floats,
    lame_mpa: Floats,
    part_of_tet: Ints,
    knots: Floats,
    levels: Floats,
    rises: Floats,
    slopes: Floats,
    displacement: Floats,
    plastic: Floats,
    amount: Floats,
    stress: Floats,
    new_plastic: Floats,
    new_amount: Floats,
    shear: Floats,
    drop: Floats,
    normal: Floats,
    pushes: Floats,
) -> None:
    for tet in numba.prange(len(tet_nodes)):
        lam, mu = lame_mpa[tet, 0], lame_mpa[tet, 1]
        part = part_of_tet[tet]
        share = volumes_mm3[tet] / 4.0
        B = np.empty((10, 3))
        e = np.empty(6)
        s = np.empty(6)
        force = np.zeros((10, 3))
        for q in range(4):
            e[:] = 0.0
            for a in range(10):
                for i in range(3):
                    total = 0.0
                    for k in range(4):
                        total += slopes[q, a, k] * gradients[tet, k, i]
                    B[a, i] = total
                node = tet_nodes[tet, a]
                x, y, z = displacement[node, 0], displacement[node, 1], displacement[node, 2]
                e[0] += x * B[a, 0]
                e[1] += y * B[a, 1]
                e[2] += z * B[a, 2]
                e[3] += 0.5 * (x * B[a, 1] + y * B[a, 0])
                e[4] += 0.5 * (y * B[a, 2] + z * B[a, 1])
                e[5] += 0.5 * (z * B[a, 0] + x * B[a, 2])
            swell = e[0] + e[1] + e[2]
            size2 = 0.0
            for c in range(6):
                s[c] = e[c] - plastic[tet, q, c]
                if c < 3:
                    s[c] -= swell / 3.0
                s[c] *= 2.0 * mu
                size2 += (1.0 if c < 3 else 2.0) * s[c] * s[c]
            size = np.sqrt(size2)
            trial = np.sqrt(1.5) * size
            p = amount[tet, q]
            segment = 0
            last = knots.shape[1] - 1
            while segment < last and p >= knots[part, segment + 1]:
                segment += 1
            level = levels[part, segment] + rises[part, segment] * (p - knots[part, segment])
            flow = 0.0
            theta = 1.0
            loss = 0.0
            if trial > level * (1.0 + 1e-12):
                while True:
                    rise = rises[part, segment]
                    base = levels[part, segment] + rise * (p - knots[part, segment])
                    flow = (trial - base) / (3.0 * mu + rise)
                    if segment == last or p + flow <= knots[part, segment + 1]:
                        break
                    segment += 1
                theta = 1.0 - 3.0 * mu * flow / trial
                loss = 2.0 * mu * (3.0 * mu / (3.0 * mu + rise) - (1.0 - theta))
            shear[tet, q] = mu * theta
            drop[tet, q] = loss
            new_amount[tet, q] = p + flow
            pressure = (lam + 2.0 * mu / 3.0) * swell
            for c in range(6):
                n = s[c] / size if size > 0.0 else 0.0
                normal[tet, q, c] = n
                new_plastic[tet, q, c] = plastic[tet, q, c] + np.sqrt(1.5) * flow * n
                stress[tet, q, c] = theta * s[c] + (pressure if c < 3 else 0.0)
            xx, yy, zz = stress[tet, q, 0], stress[tet, q, 1], stress[tet, q, 2]
            xy, yz, zx = stress[tet, q, 3], stress[tet, q, 4], stress[tet, q, 5]
            for a in range(10):
                force[a, 0] += share * (xx * B[a, 0] + xy * B[a, 1] + zx * B[a, 2])
                force[a, 1] += share * (xy * B[a, 0] + yy * B[a, 1] + yz * B[a, 2])
                force[a, 2] += share * (zx * B[a, 0] + yz * B[a, 1] + zz * B[a, 2])
        pushes[tet] = force


@compiled
def _gathered(starts: Ints, places: Ints, pushes: Floats, force: Floats) -> None:
    """Sum each node's share from the tetrahedra around it, always in one order."""
    for node in numba.prange(len(starts) - 1):
        x = y = z = 0.0
        for at in range(starts[node], starts[node + 1]):
            place = places[at]
            x += pushes[place, 0]
            y += pushes[place, 1]
            z += pushes[place, 2]
        force[node, 0], force[node, 1], force[node, 2] = x, y, z
