"""Connected patches of skin."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import scipy.sparse as sp
from numpy.typing import NDArray
from scipy.sparse.csgraph import connected_components

from fea.compiled import sequential
from fea.mesh import Floats, Ints, TaggedMesh

PATCH_MM2 = 100.0
"""Skin that counts as a patch one can see (common practice, no source)."""


@dataclass(frozen=True, eq=False)
class Neighbours:
    """Skin facets left (e,) and right (e,) of each edge between two of them.

    left_ends, right_ends (e, 2) say which of each facet's three corners the edge joins.
    """

    mesh: TaggedMesh
    left: Ints
    right: Ints
    left_ends: Ints
    right_ends: Ints

    @cached_property
    def around(self) -> tuple[Ints, Ints]:
        """The facets next to each: those of facet i lie from starts[i] to starts[i + 1]."""
        one, other = np.concatenate([[self.left, self.right], [self.right, self.left]], axis=1)
        order = np.argsort(one, kind="stable")
        count = np.bincount(one, minlength=len(self.mesh.skin_facets))
        return np.concatenate([[0], np.cumsum(count)]), other[order]


def neighbours(mesh: TaggedMesh) -> Neighbours:
    """Find which skin facets share an edge."""
    ends = np.array([(0, 1), (1, 2), (2, 0)])
    edges = np.sort(mesh.skin_facets[:, ends], axis=2).reshape(-1, 2)
    keys = edges[:, 0] * len(mesh.points_mm) + edges[:, 1]
    order = np.argsort(keys, kind="stable")
    same = np.flatnonzero(keys[order][1:] == keys[order][:-1])
    left, right = order[same], order[same + 1]
    return Neighbours(mesh, left // 3, right // 3, ends[left % 3], ends[right % 3])


def patches(
    near: Neighbours, hot: NDArray[np.bool_], within_faces: bool = False
) -> tuple[Ints, Floats]:
    """Connected patches of hot facets: label (f,) and area in mm² of each label's hot part."""
    mesh = near.mesh
    joined = hot[near.left] & hot[near.right]
    if within_faces:
        joined &= mesh.face_of_skin[near.left] == mesh.face_of_skin[near.right]
    return _joined(near, joined, mesh.facet_areas_mm2 * hot)


def linear_patches(
    near: Neighbours, value: Floats, level: float, seen: NDArray[np.bool_]
) -> tuple[Ints, Floats]:
    """Connected patches of skin seen (f,) where ``value`` (f, 3), linear over each facet, is hot.

    Label (f,) and area in mm² of each label; facets are cut where the value passes ``level``, so
    that a narrow strip has its own area and not that of the facets it runs over.
    """
    ahead = np.where(seen[:, None], value - level, -1.0)
    joined = (ahead[near.left[:, None], near.left_ends].max(axis=1) >= 0.0) & (
        ahead[near.right[:, None], near.right_ends].max(axis=1) >= 0.0
    )
    return _joined(near, joined, near.mesh.facet_areas_mm2 * hot_share(ahead))


def hot_share(ahead: Floats) -> Floats:
    """Share of each triangle where a linear function with corner values (f, 3) is not negative.

    >>> hot_share(np.array([[1.0, -1.0, -1.0], [1.0, 1.0, -1.0], [1.0, 2.0, 3.0]])).tolist()
    [0.25, 0.75, 1.0]
    """
    low, mid, high = np.sort(ahead, axis=1).T
    with np.errstate(divide="ignore", invalid="ignore"):
        tip = high**2 / ((high - low) * (high - mid))
        rest = 1.0 - low**2 / ((mid - low) * (high - low))
    return np.where(low >= 0.0, 1.0, np.where(mid >= 0.0, rest, np.where(high > 0.0, tip, 0.0)))


def _joined(near: Neighbours, joined: NDArray[np.bool_], areas_mm2: Floats) -> tuple[Ints, Floats]:
    count = len(areas_mm2)
    graph = sp.coo_array(
        (np.ones(joined.sum()), (near.left[joined], near.right[joined])), shape=(count, count)
    )
    label = connected_components(graph, directed=False)[1]
    area = np.bincount(label, areas_mm2).astype(np.float64)
    return label.astype(np.int64), area


def middle_of(near: Neighbours, members: Ints) -> int:
    """The facet nearest to the centre of a patch of facets ``members`` (k,)."""
    mesh = near.mesh
    middles = mesh.points_mm[mesh.skin_facets[members]].mean(axis=1)
    weight = mesh.facet_areas_mm2[members]
    centre = weight @ middles / weight.sum()
    return int(members[np.argmin(np.linalg.norm(middles - centre, axis=1))])


def covering(
    near: Neighbours, value: Floats, seen: NDArray[np.bool_], area_mm2: float
) -> tuple[float, int]:
    """The highest level that ``value`` (f,) reaches over a connected patch of skin seen (f,).

    Also a facet in the midst of that patch. A patch larger than all the skin seen is all of it.
    """
    areas = near.mesh.facet_areas_mm2
    largest = patches(near, seen)[1].max()
    wanted = min(area_mm2, largest * (1.0 - 1e-9))
    mine = np.flatnonzero(seen)
    falling = mine[np.argsort(-value[mine], kind="stable")]
    level = float(value[_first_patch(falling, *near.around, areas, wanted)])
    hot = seen & (value >= level)
    label, area = patches(near, hot)
    return level, middle_of(near, np.flatnonzero(hot & (label == area.argmax())))


@sequential
def _first_patch(order, starts, others, areas_mm2, wanted_mm2):  # type: ignore[no-untyped-def]
    """Of facets taken one by one in ``order``, that with which some patch is first large enough.

    Patches that meet are joined (Tarjan, *J. ACM* 22, 1975); the last facet where none ever is.
    """
    root = np.full(len(areas_mm2), -1, dtype=np.int64)
    area = areas_mm2.copy()
    for facet in order:
        root[facet] = facet
        top = facet
        for k in range(starts[facet], starts[facet + 1]):
            one = others[k]
            if root[one] < 0:
                continue
            while root[one] != one:
                root[one] = root[root[one]]
                one = root[one]
            if one != top:
                if area[one] > area[top]:
                    one, top = top, one
                root[one] = top
                area[top] += area[one]
        if area[top] >= wanted_mm2:
            return facet
    return order[-1]
