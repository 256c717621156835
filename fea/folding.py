"""Loads on a mesh that is its own mirror image, solved on the one half or quarter that repeats.

Every load is the sum of loads that each mirror either keeps or reverses; under each of these the
steel moves likewise, so that what is kept of the mesh tells the rest. On a mirror a movement that
the mirror would reverse is none (Bossavit, *Comput. Methods Appl. Mech. Eng.* 56, 1986, from
memory).
"""

from dataclasses import dataclass
from functools import cached_property
from itertools import product

import numpy as np
from scipy.linalg import qr

from fea.mesh import Bools, Floats, Ints, TaggedMesh
from fea.space import QuadraticSpace, quadratic_space

_NOTHING = 1e-11
_INDEPENDENT = 1e-6

Parity = tuple[float, ...]
"""For each mirror 1 where it keeps a load as it is, −1 where it reverses it."""


@dataclass(frozen=True, eq=False)
class Fold:
    """The kept part of a mesh and how the whole follows from it.

    Shapes: N nodes of the whole, n of the kept part, k mirrors.

    kept        the kept tetrahedra and their skin, the mirrors themselves left open
    axes        the axis each mirror is across
    nodes_mm    (n, 3) nodes of the kept part
    node        (N,) the kept node of which each node is an image
    beyond      (N, k) whether a node lies beyond each mirror
    tet         (m,) the kept tetrahedron of which each is an image
    corner      (m, 4) which of that one's corners each corner is an image of
    """

    kept: TaggedMesh
    axes: tuple[int, ...]
    nodes_mm: Floats
    node: Ints
    beyond: Bools
    tet: Ints
    corner: Ints

    @property
    def even(self) -> Parity:
        """That of loads which every mirror leaves as they are."""
        return (1.0,) * len(self.axes)

    @property
    def images(self) -> int:
        """How many images of the kept part make the whole, itself among them."""
        return int(2 ** len(self.axes))

    @cached_property
    def own(self) -> Ints:
        """(n,) the node of the whole that each kept one is."""
        here = np.flatnonzero(~self.beyond.any(axis=1))
        own = np.empty(len(self.nodes_mm), dtype=np.int64)
        own[self.node[here]] = here
        return own

    @cached_property
    def repeats(self) -> Floats:
        """(n, 1) how many nodes of the whole are images of each kept one."""
        return np.bincount(self.node).astype(np.float64)[:, None]

    @cached_property
    def signs(self) -> dict[Parity, Floats]:
        """For each way in which the mirrors can keep or reverse a load, (N, 3) by which to multiply
        the movement of ``node`` to have that of each node."""
        every = {}
        for parity in product((1.0, -1.0), repeat=len(self.axes)):
            found = np.ones((len(self.node), 3))
            for axis, beyond, kept in zip(self.axes, self.beyond.T, parity, strict=True):
                turned = np.full(3, kept)
                turned[axis] = -kept
                found[beyond] *= turned
            every[parity] = found
        return every

    @cached_property
    def still(self) -> dict[Parity, Bools]:
        """For each of the same ways, (n, 3) movements that there cannot be, on the mirrors."""
        every = {}
        for parity in self.signs:
            held = np.zeros(self.nodes_mm.shape, dtype=bool)
            for axis, kept in zip(self.axes, parity, strict=True):
                on_mirror = self.nodes_mm[:, axis] == 0.0
                reversed_ = np.full(3, kept < 0.0)
                reversed_[axis] = kept > 0.0
                held |= on_mirror[:, None] & reversed_
            every[parity] = held
        return every

    def gathered(self, whole: Floats, parity: Parity) -> Floats:
        """(n, 3) forces (N, 3) on all images of each kept node, as that node feels them."""
        turned = whole * self.signs[parity]
        summed = [np.bincount(self.node, turned[:, c], len(self.nodes_mm)) for c in range(3)]
        return np.where(self.still[parity], 0.0, np.stack(summed, axis=1))

    def spread(self, kept: Floats, parity: Parity) -> Floats:
        """(N, 3) movement of all nodes from that of the kept ones (n, 3)."""
        return np.asarray(kept[self.node] * self.signs[parity])

    def at_points(self, kept: Floats) -> Floats:
        """(m, 4) a number at the four points of every tetrahedron, from that in the kept ones.

        Each point lies nearest to one corner.
        """
        return np.asarray(kept[self.tet[:, None], self.corner])

    def spread_force(self, kept: Floats, parity: Parity) -> Floats:
        """(N, 3) forces of the whole from those (n, 3) of the kept part's own steel.

        A node on a mirror has steel on its other side as well, which pushes as much.
        """
        whole = np.where(self.still[parity], 0.0, kept) * (self.images / self.repeats)
        return self.spread(whole, parity)

    def everywhere(self, held: Bools) -> Bools:
        """(n, 3) what of ``held`` (N, 3) is held at every image of a node."""
        count = [np.bincount(self.node, held[:, c], len(self.nodes_mm)) for c in range(3)]
        return np.asarray(np.stack(count, axis=1) == self.repeats)


def folded(mesh: TaggedMesh, space: QuadraticSpace, axes: tuple[int, ...]) -> Fold:
    """Fold ``mesh`` along those of its mirrors that are across ``axes``."""
    vertex = kept_points(mesh, axes)
    kept, rank = _kept(mesh, mesh.kept_tets(axes))
    kept_space = quadratic_space(kept)
    n = len(kept.points_mm)
    ends = np.sort(rank[vertex[space.node_ends]], axis=1)
    theirs = np.sort(kept_space.node_ends, axis=1)
    keys, wanted = theirs[:, 0] * n + theirs[:, 1], ends[:, 0] * n + ends[:, 1]
    order = np.argsort(keys)
    corners = rank[vertex[mesh.tets]]
    tet = _rows_in(np.sort(corners, axis=1), np.sort(kept.tets, axis=1))
    return Fold(
        kept=kept,
        axes=axes,
        nodes_mm=kept_space.nodes_mm,
        node=order[np.searchsorted(keys, wanted, sorter=order)],
        beyond=space.nodes_mm[:, axes] < 0.0,
        tet=tet,
        corner=(kept.tets[tet][:, None, :] == corners[:, :, None]).argmax(axis=2),
    )


def kept_points(mesh: TaggedMesh, axes: tuple[int, ...]) -> Ints:
    """(n,) the point on the positive side of mirrors across ``axes`` each point is an image of."""
    point = np.arange(len(mesh.points_mm))
    for axis, image in zip(mesh.mirror_axes, mesh.images, strict=True):
        if axis in axes:
            point = np.where(mesh.points_mm[point, axis] < 0.0, image[point], point)
    return point


def kept_facets(mesh: TaggedMesh, axes: tuple[int, ...]) -> Ints:
    """(f,) the skin facet on the positive side of mirrors across ``axes`` each is an image of."""
    mine = np.flatnonzero(mesh.kept_tets(axes)[mesh.skin_tet])
    folded_corners = np.sort(kept_points(mesh, axes)[mesh.skin_facets], axis=1)
    return np.asarray(mine[_rows_in(folded_corners, folded_corners[mine])])


def _kept(mesh: TaggedMesh, mine: Bools) -> tuple[TaggedMesh, Ints]:
    """The tetrahedra ``mine`` (m,) as a mesh, and the rank of each point in it."""
    used = np.unique(mesh.tets[mine])
    rank = np.full(len(mesh.points_mm), -1, dtype=np.int64)
    rank[used] = np.arange(len(used))
    tet_rank = np.cumsum(mine) - 1
    skin = mine[mesh.skin_tet]
    kept = TaggedMesh(
        points_mm=mesh.points_mm[used],
        tets=rank[mesh.tets[mine]],
        part_of_tet=mesh.part_of_tet[mine],
        parts=mesh.parts,
        skin_facets=rank[mesh.skin_facets[skin]],
        skin_tet=tet_rank[mesh.skin_tet[skin]],
        face_of_skin=mesh.face_of_skin[skin],
        faces=mesh.faces,
    )
    return kept, rank


def _rows_in(rows: Ints, table: Ints) -> Ints:
    """(r,) index of each of ``rows`` (r, w) among those of ``table`` (t, w), where all are."""
    both = np.vstack([table, rows])
    order = np.lexsort(both.T)
    new = np.any(both[order[1:]] != both[order[:-1]], axis=1)
    rank = np.empty(len(both), dtype=np.int64)
    rank[order] = np.concatenate([[0], np.cumsum(new)])
    where = np.empty(rank.max() + 1, dtype=np.int64)
    where[rank[: len(table)]] = np.arange(len(table))
    return where[rank[len(table) :]]


def rigid_motions(nodes_mm: Floats) -> Floats:
    """(6, N, 3) three shifts and three turns, each about as large at the outermost nodes."""
    arm = nodes_mm / np.abs(nodes_mm).max()
    found = np.zeros((6, *nodes_mm.shape))
    for c in range(3):
        found[c, :, c] = 1.0
        found[3 + c, :, (c + 1) % 3] = -arm[:, (c + 2) % 3]
        found[3 + c, :, (c + 2) % 3] = arm[:, (c + 1) % 3]
    return found


def loose_motions(motions: Floats, held: Bools) -> Floats:
    """(j, N, 3) mixtures of rigid ``motions`` (6, N, 3) that ``held`` (N, 3) leaves possible."""
    at_held = motions[:, held]
    if not at_held.size:
        return motions
    values, mixtures = np.linalg.eigh(at_held @ at_held.T / max(at_held.shape[1], 1))
    free = values < _INDEPENDENT**2
    return np.tensordot(mixtures[:, free].T, motions, axes=1)


def holding(motions: Floats, held: Bools, among: Bools) -> Bools:
    """``held`` (n, 3) with as few unknowns more, at the nodes ``among`` (n,), as stop ``motions``.

    motions (j, n, 3)
    """
    found = held.copy()
    if len(motions):
        candidates = np.flatnonzero((~held & among[:, None]).ravel())
        _, _, pivots = qr(motions.reshape(len(motions), -1)[:, candidates], pivoting=True)
        found.ravel()[candidates[pivots[: len(motions)]]] = True
    return found


def met(moved_mm: Floats, motions: Floats, held: Bools, wanted_mm: Floats) -> Floats:
    """``moved_mm`` with such a share of ``motions`` (j, N, 3) that it is ``wanted_mm`` where held.

    The others (N, 3); ``can_meet`` tells whether there is such a share.
    """
    if not held.any():
        return moved_mm
    gap = (wanted_mm - moved_mm)[held]
    share, *_ = np.linalg.lstsq(motions[:, held].T, gap, rcond=None)
    return np.asarray(moved_mm + np.tensordot(share, motions, axes=1))


def can_meet(motions: Floats, held: Bools) -> bool:
    """Whether ``motions`` (j, N, 3) can bring the unknowns ``held`` (N, 3) anywhere at all."""
    wanted = int(held.sum())
    if wanted > len(motions):
        return False
    return not wanted or int(np.linalg.matrix_rank(motions[:, held], tol=_INDEPENDENT)) == wanted


def is_nothing(part: Floats, whole: Floats) -> bool:
    """Whether a part of a load is rounding alone."""
    return bool(np.abs(part).max(initial=0.0) <= _NOTHING * max(np.abs(whole).max(), 1e-300))
