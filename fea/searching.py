"""Where on a body a local average of stress is highest against yield.

Stress is linear inside each simplex, so von Mises stress, being convex, peaks at vertices: that
bounds every average and lets almost all of a body be skipped. What is left is looked at three
times, each time closer and at fewer places, and round the best place between the mesh's own points
as well. The highest average is found to within half a percent.
"""

from dataclasses import dataclass
from functools import cache
from itertools import permutations

import numpy as np

from fea.averaging import Cells, averaged_stress, near, sorted_in_cells
from fea.elasticity import von_mises_mpa
from fea.mesh import Bools, Floats, Ints

_GLANCE, _LOOK, _CLOSE = 1.5, 3.0, 12.0
"""How many of the pieces that simplices are cut into, to tell what is within, a radius holds."""
_GLANCE_ERROR = 0.9
_LOOK_ERROR = 0.95
_MOST_DIVISIONS = {3: 24, 4: 12}
_FIRST_LOOK = 24
_WARM = 0.8
_CLOSE_ENOUGH = 1.005
_MOST_CLOSE = 200
"""Places looked at most closely: more only where stress is so even that any will do."""
_BETWEEN = 5
_BETWEEN_REACH = 0.5


@dataclass(frozen=True)
class Group:
    """Simplices averaged over together (a face's facets, the tetrahedra about a part) and how.

    simplices (s, k) point numbers; stress (s, k, 6) at their corners, as a share of yield there;
    measure (s,) area or volume. Averages are taken round points of the first ``own`` simplices.
    """

    simplices: Ints
    stress: Floats
    measure: Floats
    own: int
    radius_mm: float
    part: str


@dataclass(frozen=True)
class Top:
    """The highest average, against yield, of one group, and its centre.

    over_half and over_double: averaged there over half and over twice the group's radius.
    """

    group: Group
    utilisation: float
    point_mm: tuple[float, float, float]
    over_half: float
    over_double: float


def highest(points_mm: Floats, groups: list[Group], above: float = 0.0) -> Top | None:
    """The highest utilisation over all groups; None when it is not above ``above``."""
    raw = [von_mises_mpa(group.stress).max(axis=1) for group in groups]
    best = None
    for index in sorted(range(len(groups)), key=lambda i: -raw[i].max()):
        if raw[index].max() <= above * _CLOSE_ENOUGH:
            break
        if not groups[index].own:
            continue
        search = _Search(points_mm, groups[index], raw[index])
        found = search.highest(above)
        if found is not None:
            above, centre = found
            best = (search, centre)
    return best[0].top(above, best[1]) if best else None


class _Search:
    """Averages within one group."""

    def __init__(self, points_mm: Floats, group: Group, raw: Floats) -> None:
        self.points_mm, self.group, self.raw = points_mm, group, raw
        corners = points_mm[group.simplices]
        self.cells = sorted_in_cells(corners, group.measure, group.radius_mm)
        self.stress = group.stress[self.cells.order]
        self.own = self.cells.order < group.own

    def highest(self, above: float) -> tuple[float, Floats] | None:
        """The highest utilisation and its centre (3,); None when it is not over ``above``."""
        own = self.group.simplices[: self.group.own]
        hottest = np.argsort(-self.raw[: self.group.own], kind="stable")[:_FIRST_LOOK]
        first = _centres(self.points_mm, own[hottest])
        best, centre = self._best(first, above)
        # An average that beats the best so far takes in some of a hotter simplex.
        hot = (self.raw > max(best, above) * _CLOSE_ENOUGH)[self.cells.order]
        if hot.any():
            warm = self._warm(own, hot, max(best, above))
            better, better_centre = self._best(_centres(self.points_mm, warm), max(best, above))
            if better > best:
                best, centre = better, better_centre
        if best > _LOOK_ERROR * above:
            between, between_centre = self._best(self._between(centre), max(best, above))
            if between > best:
                best, centre = between, between_centre
        return (best, centre) if best > above else None

    def _warm(self, simplices: Ints, hot: Bools, above: float) -> Ints:
        """Those with a vertex round which the average, at a glance, comes near the best."""
        vertices = np.unique(simplices)
        vertices = vertices[near(self.cells, hot, self.points_mm[vertices])]
        shares = self._shares(self.points_mm[vertices], _GLANCE)
        best = max(float(shares.max(initial=0.0)), above)
        warm = np.zeros(len(self.points_mm), dtype=np.bool_)
        warm[vertices[shares >= _WARM * best]] = True
        return simplices[warm[simplices].any(axis=1)]

    def top(self, utilisation: float, centre: Floats) -> Top:
        """What is told of a centre found."""
        x, y, z = (float(c) for c in centre)
        half, double = (self._over(centre, share) for share in (0.5, 2.0))
        return Top(self.group, utilisation, (x, y, z), half, double)

    def _shares(self, centres: Floats, closeness: float) -> Floats:
        return _shares(self.cells, self.stress, centres, closeness)

    def _best(self, centres: Floats, above: float) -> tuple[float, Floats]:
        """The best of ``centres`` (c, 3), looked at ever closer; 0 when none nears ``above``."""
        for closeness, error in ((_GLANCE, _GLANCE_ERROR), (_LOOK, _LOOK_ERROR)):
            shares = self._shares(centres, closeness)
            least = error * max(float(shares.max(initial=0.0)), above)
            centres = centres[shares >= least]
        if not len(centres):
            return 0.0, np.zeros(3)
        hottest = np.argsort(-shares[shares >= least], kind="stable")[:_MOST_CLOSE]
        centres = centres[hottest]
        shares = self._shares(centres, _CLOSE)
        top = int(np.argmax(shares))
        return float(shares[top]), centres[top]

    def _between(self, centre: Floats) -> Floats:
        """Points between those of the mesh, round a centre."""
        reach_mm = _BETWEEN_REACH * self.group.radius_mm
        cells = self.cells
        close = np.linalg.norm(cells.middles - centre, axis=1) < reach_mm + cells.reaches
        close &= self.own
        lattice = _lattice(self.group.simplices.shape[1], _BETWEEN)
        points = np.einsum("qk,skd->sqd", lattice, cells.corners[close]).reshape(-1, 3)
        away = np.linalg.norm(points - centre, axis=1)
        return np.asarray(np.vstack([centre[None], points[away < reach_mm]]))

    def _over(self, centre: Floats, share: float) -> float:
        """Utilisation at one place, averaged over ``share`` of the group's own radius."""
        radius_mm = share * self.group.radius_mm
        cells = self.cells
        close = np.linalg.norm(cells.middles - centre, axis=1) < radius_mm + cells.reaches
        local = sorted_in_cells(cells.corners[close], cells.measure[close], radius_mm)
        stress = self.stress[close][local.order]
        return float(_shares(local, stress, centre[None], _CLOSE)[0])


def _shares(cells: Cells, stress: Floats, centres: Floats, closeness: float) -> Floats:
    """Utilisation (c,) at each centre (c, 3)."""
    width = cells.corners.shape[1]
    size = float(np.median(cells.reaches)) / cells.radius_mm
    divisions = int(min(max(np.ceil(closeness * size), 1.0), _MOST_DIVISIONS[width]))
    return von_mises_mpa(averaged_stress(cells, stress, centres, _inside(width, divisions)))


def _centres(points_mm: Floats, simplices: Ints) -> Floats:
    """Vertices, mid-edges and centroids of some simplices, each once."""
    first, second = np.triu_indices(simplices.shape[1], k=1)
    ends = np.sort(np.stack([simplices[:, first], simplices[:, second]]), axis=0)
    low, high = divmod(np.unique(ends[0] * len(points_mm) + ends[1]), len(points_mm))
    return np.concatenate(
        [
            points_mm[np.unique(simplices)],
            (points_mm[low] + points_mm[high]) / 2.0,
            points_mm[simplices].mean(axis=1),
        ]
    )


def _lattice(width: int, order: int) -> Floats:
    """Barycentric points (q, width) of a regular lattice over a triangle or tetrahedron."""
    axes = np.indices((order + 1,) * (width - 1)).reshape(width - 1, -1)
    last = order - axes.sum(axis=0)
    within = last >= 0
    return np.asarray(np.vstack([axes[:, within], last[within]]).T / order)


@cache
def _inside(width: int, divisions: int) -> Floats:
    """Centroids (q, width) of the equal simplices that one is cut into along each edge.

    The unit cube is cut into cubes and each into simplices, one for each order of the coordinates
    (Freudenthal 1942); those in which coordinates fall make up one simplex of the same kind.
    """
    dimension = width - 1
    corners = np.indices((divisions,) * dimension).reshape(dimension, -1).T
    steps = np.array(list(permutations(range(1, width)))) / width
    points = (corners[:, None] + steps).reshape(-1, dimension) / divisions
    ordered = points[(np.diff(points, axis=1) < 0.0).all(axis=1)]
    ends = np.hstack([np.ones((len(ordered), 1)), ordered, np.zeros((len(ordered), 1))])
    return np.asarray(-np.diff(ends, axis=1))
