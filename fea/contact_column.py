"""One contact case under way: which nodes touch, and how the bearings move what touches them."""

from dataclasses import dataclass, field

import numpy as np

from fea.contact import Bools, Contact
from fea.contact_carry import bettered, first_carry
from fea.errors import SolveError
from fea.mesh import Floats, Ints
from fea.model import Model
from fea.multigrid import Support, supported

_TOLERANCE = 1e-7
_NOISE_SHARE = 0.01
_FLIPS = 2
_SUPPORT_SHARE = 0.05


@dataclass(frozen=True, eq=False)
class Reach:
    """All that a case's bearings may touch, in one list, and what stays as it is.

    nodes (k,); side (k,); motion (k, 3, r) how the bearings' motions move the nodes; load_n (r,);
    size_n is the Euclidean norm of the nodal forces that an even pressure would need: residuals are
    measured against it.
    """

    nodes: Ints
    side: Floats
    motion: Floats
    load_n: Floats
    size_n: float


@dataclass(eq=False)
class Column:
    """The state of one case: unlike everything else here, it changes as the case is solved.

    normal (k,) who touches, sideways (k,) who is held along the bearing, free (N, 3);
    carry (N, 3, r) a guess of how the body follows each of the bearings' motions, exact where it
    touches, and carry_stiffness (r, r) that of the guesses;
    q (r,) how far the bearings have moved; r (r,) the load on them not yet in balance;
    p (r,) their part of the search direction.
    """

    contact: Contact
    reach: Reach
    normal: Bools
    sideways: Bools
    free: Bools
    support: Support
    carry: Floats
    carry_stiffness: Floats
    q: Floats
    r: Floats
    p: Floats
    r_old: Floats
    aim: float
    flips: Ints
    supported_with: Bools
    since_start: int = 0
    iterations: int = 0
    rounds: int = 0
    done: bool = False
    careful: bool = False
    seen: set[bytes] = field(default_factory=set)

    @property
    def mask(self) -> Bools:
        """(k, 3) which movements of the nodes in reach the bearings set."""
        return np.stack([self.sideways, self.sideways, self.normal], axis=1)

    def gathered(self, nodal_n: Floats) -> Floats:
        """(r,) what nodal forces (N, 3) on the touching nodes come to on the bearings."""
        reach = self.reach
        return np.asarray(np.einsum("kdr,kd->r", reach.motion, nodal_n[reach.nodes] * self.mask))

    def follow(self, q: Floats, field_mm: Floats) -> None:
        """Set what touches in ``field_mm`` (N, 3) to the bearings' motions ``q`` (r,)."""
        nodes = self.reach.nodes
        field_mm[nodes] = np.where(self.mask, self.reach.motion @ q, field_mm[nodes])

    def better_carry(self, model: Model) -> None:
        """Bring the guesses of how the body follows nearer to what now touches."""
        nodes, follows = self.reach.nodes, self.mask[:, :, None]
        self.carry[nodes] = np.where(follows, self.reach.motion, self.carry[nodes])
        self.carry, self.carry_stiffness = bettered(model, self.support, self.free, self.carry)

    def push_and_gap(self, displacement_mm: Floats, reaction_n: Floats) -> tuple[Floats, Floats]:
        """(k,) force with which the bearing pushes on each node, and the gap between them."""
        reach = self.reach
        wall_mm = (reach.motion @ self.q)[:, 2]
        push_n = np.where(self.normal, reach.side * reaction_n[reach.nodes, 2], 0.0)
        gap_mm = reach.side * (displacement_mm[reach.nodes, 2] - wall_mm)
        return push_n, np.where(self.normal, 0.0, gap_mm)

    def revised(self, push_n: Floats, gap_mm: Floats) -> bool:
        """Let go of what pulls and take back what passes through; whether anything changed.

        The primal-dual active set (Hintermüller, Ito & Kunisch, *SIAM J. Optim.* 13, 2002). When a
        set comes back that was there before, only the worst offender is changed from then on.
        """
        offence = np.where(
            self.normal,
            -push_n / max(float(np.abs(push_n).max()), 1e-300),
            -gap_mm / max(float(np.abs(gap_mm).max()), 1e-300),
        )
        wrong = offence > max(_TOLERANCE, _NOISE_SHARE * self.aim)
        if not wrong.any():
            return False
        if self.careful:
            wrong = np.arange(len(wrong)) == np.argmax(offence)
        self.normal = self.normal ^ wrong
        key = np.packbits(self.normal).tobytes()
        if key in self.seen:
            self.careful = True
        self.seen.add(key)
        if self.contact.sticking:
            # What pulls when held and passes through when let go altogether keeps its hold
            # along the bearing: it neither lifts nor slips.
            self.flips += wrong & self.normal
            self.sideways = self.normal | (self.flips >= _FLIPS)
        self.rounds += 1
        return True


def column_of(model: Model, contact: Contact, aim: float) -> Column:
    """Start a case with what is likely to touch."""
    reach = _reach(model, contact)
    count, width = len(reach.nodes), len(reach.load_n)
    touching = np.concatenate([bearing.likely for bearing in contact.bearings])
    sideways = touching.copy() if contact.sticking else np.zeros(count, dtype=bool)
    free = _free(contact, reach.nodes, np.stack([sideways, sideways, touching], axis=1))
    column = Column(
        contact=contact,
        reach=reach,
        normal=touching,
        sideways=sideways,
        free=free,
        support=_support(model, free, reach.nodes, touching, contact.sticking),
        carry=first_carry(model, contact),
        carry_stiffness=np.eye(width),
        q=np.zeros(width),
        r=np.zeros(width),
        p=np.zeros(width),
        r_old=np.zeros(width),
        aim=aim,
        flips=np.zeros(count, dtype=np.int64),
        supported_with=touching,
    )
    column.better_carry(model)
    return column


def restart(model: Model, column: Column, displacement_mm: Floats) -> None:
    """After the set has changed: what is free and follows the bearings; if much, the support too.

    Raises SolveError when too little touches to carry the load.
    """
    reach, contact = column.reach, column.contact
    column.free = _free(contact, reach.nodes, column.mask)
    column.follow(column.q, displacement_mm)
    carried = (reach.motion * column.mask[:, :, None]).reshape(-1, len(reach.load_n))
    if np.linalg.matrix_rank(carried) < len(reach.load_n) or not column.normal.any():
        raise fallen_off(contact)
    changed = (column.normal != column.supported_with).sum()
    if changed > _SUPPORT_SHARE * column.normal.sum():
        column.support = _support(model, column.free, reach.nodes, column.normal, contact.sticking)
        column.supported_with = column.normal
        column.better_carry(model)


def fallen_off(contact: Contact) -> SolveError:
    """The error for a load that no pressure can carry."""
    return SolveError(
        f"load case {contact.name!r} tips its stiff seat over",
        "use a smaller offset, torque or shear, or a larger plate or seat",
    )


def _free(contact: Contact, nodes: Ints, mask: Bools) -> Bools:
    free = ~contact.held
    free[nodes] &= ~mask
    return free


def _reach(model: Model, contact: Contact) -> Reach:
    bearings = contact.bearings
    nodes = np.concatenate([bearing.nodes for bearing in bearings])
    width = sum(len(bearing.moves) for bearing in bearings)
    motion = np.zeros((len(nodes), 3, width))
    row = column = 0
    for bearing in bearings:
        rows = slice(row, row + len(bearing.nodes))
        columns = slice(column, column + len(bearing.moves))
        motion[rows, :, columns] = bearing.motions(model.space.nodes_mm[bearing.nodes])
        row, column = rows.stop, columns.stop
    load_n = np.concatenate([bearing.scaled_load_n for bearing in bearings])
    even = [
        np.linalg.norm(bearing.load[:3]) * np.linalg.norm(bearing.area_mm2) / bearing.area_mm2.sum()
        for bearing in bearings
    ]
    return Reach(
        nodes=nodes,
        side=np.concatenate([np.full(len(b.nodes), b.side) for b in bearings]),
        motion=motion,
        load_n=load_n,
        size_n=float(sum(even) + np.linalg.norm(contact.force_n)),
    )


def _support(model: Model, free: Bools, nodes: Ints, touching: Bools, sticking: bool) -> Support:
    """The coarse problems' support: vertices touch when half their mid-edges in reach do.

    One alone would make what touches wider than it is, and a block that rocks on it far too stiff.
    """
    held = ~free
    count = len(model.space.vertex_node)
    ends = model.space.node_ends[nodes]
    held_by = np.bincount(ends[touching].ravel(), minlength=count)
    beside = np.bincount(ends.ravel(), minlength=count)
    vertices = model.space.vertex_node[(held_by > 0) & (2 * held_by >= beside)]
    held[vertices, 2] = True
    if sticking:
        held[vertices] = True
    return supported(model.hierarchy, held)
