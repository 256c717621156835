"""At which multiple of its load a body buckles, from the stress that the load puts into it.

Linear buckling: the body keeps its shape until, at λ times the load, some shape φ needs no force to
hold, K φ = −λ G φ. K is the stiffness, and G, the geometric stiffness, comes from the stress σ:
G_ab = δ_ij ∫ ∂N_a/∂x_k σ_kl ∂N_b/∂x_l dV (Cook, Malkus, Plesha & Witt, *Concepts and Applications
of Finite Element Analysis*, 4th ed., 18.2). Real walls are not flat and buckle somewhat earlier.
"""

from dataclasses import dataclass

import numpy as np
import scipy.sparse as sp
from numpy.typing import NDArray

from fea.errors import SolveError
from fea.kernels import matvec
from fea.mesh import Floats
from fea.model import Model
from fea.multigrid import cycled, supported
from fea.rows import WIDTH
from fea.space import shape_slopes

ERROR_GOAL = 3e-3
_MOST_ROUNDS = 200
_DEPENDENT = 1e-12
_TENSOR = np.array([[0, 3, 5], [3, 1, 4], [5, 4, 2]])


@dataclass(frozen=True, eq=False)
class Buckling:
    """The lowest buckling load of a stress state.

    factor   that many times the load buckles; infinite when nothing is squeezed anywhere
    shape_mm (N, 3) how the body moves then, its largest movement 1
    error    how far ``factor`` may be, relatively, from an exact solution on this mesh
    rounds   of the iteration
    """

    factor: float
    shape_mm: Floats
    error: float
    rounds: int


def buckled(
    model: Model, at_vertices_mpa: Floats, held: NDArray[np.bool_], goal: float = ERROR_GOAL
) -> Buckling:
    """Lowest positive λ for the stress (m, 4, 6), with ``held`` (N, 3) kept still while it buckles.

    The largest μ = 1/λ of −G φ = μ K φ, by conjugate gradients on four shapes at once (Knyazev,
    *SIAM J. Sci. Comput.* 23, 2001), preconditioned like the solver. Raises SolveError when it does
    not settle.
    """
    if np.linalg.eigvalsh(at_vertices_mpa[..., _TENSOR]).min() >= 0.0:
        return Buckling(np.inf, np.zeros(held.shape), 0.0, 0)
    pencil = _Pencil(model, geometric_stiffness(model, at_vertices_mpa), held)
    noise = np.random.default_rng(0).standard_normal((*held.shape, WIDTH))
    basis = pencil.relaxed(noise * pencil.free)
    error = np.inf
    for rounds in range(1, _MOST_ROUNDS + 1):
        mu, mix = pencil.best_mix(basis)
        shapes, last_step = basis @ mix, basis[..., WIDTH:] @ mix[WIDTH:]
        rest = pencil.softened(shapes) - mu * pencil.stiffened(shapes)
        step = pencil.relaxed(rest)
        # Some eigenvalue lies within |rest| of μ, measured by K⁻¹, which the cycle nearly is.
        error = float(np.sqrt(abs(np.vdot(rest[..., 0], step[..., 0]))) / abs(mu[0]))
        if mu[0] > 0.0 and error < goal:
            shape = shapes[..., 0] / np.linalg.norm(shapes[..., 0], axis=1).max()
            return Buckling(float(1.0 / mu[0]), shape, error, rounds)
        basis = np.concatenate([shapes, step, last_step], axis=2)
    raise SolveError(
        f"the buckling load is known to {error:.1e} only after {_MOST_ROUNDS} rounds",
        "try another mesh setting",
    )


class _Pencil:
    """−G and K on arrays (N, 3, 4k) of shapes that keep still where the body is held."""

    def __init__(self, model: Model, geometric: sp.csr_matrix, held: NDArray[np.bool_]) -> None:
        self._model, self._geometric = model, geometric
        support = supported(model.hierarchy, held)
        self._supports = (support,) * WIDTH
        self.free = np.repeat(~held[:, :, None], WIDTH, axis=2).astype(np.float64)
        self._singles = self.free.astype(np.float32)
        loose = ~support.held_vertices[:, :, None]
        self._vertices = np.repeat(loose, WIDTH, axis=2).astype(np.float32)

    def softened(self, shapes: Floats) -> Floats:
        """−G times the shapes."""
        flat = self._geometric @ shapes.reshape(len(shapes), -1)
        free = np.tile(self.free, shapes.shape[2] // WIDTH)
        return np.asarray(-flat.reshape(shapes.shape) * free)

    def stiffened(self, shapes: Floats) -> Floats:
        """K times the shapes."""
        K = self._model.stiffness
        out = np.empty_like(shapes)
        for first in range(0, shapes.shape[2], WIDTH):
            four = np.ascontiguousarray(shapes[..., first : first + WIDTH])
            product = np.empty_like(four)
            matvec(K.starts, K.columns, K.blocks, four, self.free, product)
            out[..., first : first + WIDTH] = product
        return out

    def relaxed(self, rest: Floats) -> Floats:
        """Nearly K⁻¹ times four columns: one cycle of the solver's preconditioner."""
        scale = np.linalg.norm(rest.reshape(-1, WIDTH), axis=0)
        scaled = (rest / np.where(scale > 0.0, scale, 1.0)).astype(np.float32)
        z = cycled(self._model.hierarchy, self._supports, scaled, self._singles, self._vertices)
        return np.asarray(z.astype(np.float64) * scale)

    def best_mix(self, basis: Floats) -> tuple[Floats, Floats]:
        """The four highest μ (4,) within a basis, and the mix (k, 4) of it that reaches each."""
        flat = basis.reshape(-1, basis.shape[2])
        stiff = flat.T @ self.stiffened(basis).reshape(flat.shape)
        soft = flat.T @ self.softened(basis).reshape(flat.shape)
        size = np.sqrt(np.diag(stiff))
        unit = np.where(size > 0.0, 1.0 / np.where(size > 0.0, size, 1.0), 0.0)
        spread, turn = np.linalg.eigh(stiff * np.outer(unit, unit))
        kept = spread > _DEPENDENT * spread.max()
        change = unit[:, None] * turn[:, kept] / np.sqrt(spread[kept])
        mu, mix = np.linalg.eigh(change.T @ (soft + soft.T) @ change / 2.0)
        return mu[::-1][:WIDTH], change @ mix[:, ::-1][:, :WIDTH]


def geometric_stiffness(model: Model, at_vertices_mpa: Floats) -> sp.csr_matrix:
    """(N, N) matrix in N/mm that acts alike in x, y and z, of the stress (m, 4, 6) at the vertices.

    Exact: stress is linear inside a quadratic tetrahedron.
    """
    tensor = at_vertices_mpa[..., _TENSOR]  # (m, v, 3, 3)
    pull = np.einsum(
        "mki,mvij,mlj,m->klvm",
        model.gradients,
        tensor,
        model.gradients,
        model.mesh.tet_volumes_mm3,
        optimize=True,
    )
    local = (_slope_products().reshape(100, 64) @ pull.reshape(64, -1)).T
    nodes = model.space.tet_nodes
    rows = np.repeat(nodes, 10, axis=1).ravel()
    columns = np.tile(nodes, (1, 10)).ravel()
    size = len(model.space.nodes_mm)
    return sp.csr_matrix((local.ravel(), (rows, columns)), shape=(size, size))


def _slope_products() -> Floats:
    """(10, 10, 4, 4, 4) means over a tetrahedron of ∂N_a/∂L_k ∂N_b/∂L_l L_v, degree 3.

    Gauss points folded onto the tetrahedron (Duffy, *SIAM J. Numer. Anal.* 19, 1982).
    """
    x, w = np.polynomial.legendre.leggauss(4)
    x, w = (x + 1.0) / 2.0, w / 2.0
    a, s, t = (axis.ravel() for axis in np.meshgrid(x, x, x, indexing="ij"))
    weight = np.einsum("i,j,k->ijk", w, w, w).ravel() * 6.0 * (1.0 - a) ** 2 * (1.0 - s)
    b = s * (1.0 - a)
    c = t * (1.0 - a) * (1.0 - s)
    points = np.column_stack([1.0 - a - b - c, a, b, c])
    slopes = shape_slopes(points)
    return np.asarray(
        np.einsum("q,qak,qbl,qv->abklv", weight, slopes, slopes, points, optimize=True)
    )
