"""Seats against half-space theory and statics: a flat punch, its tilt and lift, even pressure."""

from functools import cache

import numpy as np
import skfem

from fea.bearing import nodal_force, seat_on
from fea.contact import TILTING, Contact, ContactSolution, bearing_on
from fea.contact_solver import touched
from fea.mesh import Floats
from fea.model import Model, modelled
from fea.solver import Problem
from fea.solving import solved
from fea.steel import Steel
from studies.published.bodies import Bools, brick, near, tagged
from studies.published.check import PublishedCheck, within

_E_MPA, _NU = 210_000.0, 0.3
_RADIUS_MM = 10.0
_LOAD_N = 10_000.0
_OFFSET = 0.15
_ELASTIC = _E_MPA / (1.0 - _NU**2)

# Radii of the rings of elements, and depths of their layers, as shares of the punch's radius.
_RINGS = np.array([0.0, 0.3, 0.55, 0.75, 0.9, 1.0, 1.15, 1.4, 1.9, 2.8, 4.2, 6.0])
_DEPTHS = np.array([0.0, 0.12, 0.3, 0.6, 1.1, 1.9, 3.3, 6.0])
_PUNCH_RINGS = 5


def point_load_mm(points_mm: Floats, at_mm: Floats, load_n: float) -> Floats:
    """Movement (n, 3) of a half space z ≤ 0 under a force pressing down at ``at_mm`` (2,).

    Boussinesq (Johnson, *Contact Mechanics*, 1985, section 3.2).
    """
    shear_mpa = _E_MPA / (2.0 * (1.0 + _NU))
    x, y = (points_mm[:, :2] - at_mm).T
    depth = -points_mm[:, 2]
    along = np.hypot(x, y)
    away = np.hypot(along, depth)
    outwards = along * depth / away**3 - (1.0 - 2.0 * _NU) * along / (away * (away + depth))
    down = depth**2 / away**3 + 2.0 * (1.0 - _NU) / away
    turned = outwards / np.where(along > 0.0, along, 1.0)
    field = np.stack([turned * x, turned * y, -down], axis=1)
    return np.asarray(load_n / (4.0 * np.pi * shear_mpa) * field)


@cache
def half_space() -> Model:
    """Half (y ≥ 0) of a cylinder six punch radii large, its rings fitted to the punch."""
    rings, layers = len(_RINGS) - 1, len(_DEPTHS) - 1
    axes = (np.arange(rings + 1.0), np.arange(rings + 1.0), np.arange(layers + 1.0))
    grid = skfem.MeshTet.init_tensor(*axes)
    flat, tets = grid.p.T.copy(), grid.t.T.astype(np.int64)
    mirrored = flat * [-1.0, 1.0, 1.0]
    unique, place = np.unique(np.vstack([flat, mirrored]), axis=0, return_inverse=True)
    both = place.ravel()[np.vstack([tets, tets + len(flat)])]
    x, y, layer = unique.T
    ring = np.maximum(np.abs(x), y)
    # Squares become circles, each side a quarter of the way round.
    steep = y > np.abs(x)
    share = np.where(steep, x, y) / np.where(ring > 0.0, ring, 1.0)
    turn = np.where(steep, np.pi / 2.0 - share * np.pi / 4.0, share * np.pi / 4.0)
    turn = np.where(~steep & (x < 0.0), np.pi - turn, turn)
    radius = _RADIUS_MM * np.interp(ring, np.arange(rings + 1), _RINGS)
    depth = _RADIUS_MM * np.interp(layers - layer, np.arange(layers + 1), _DEPTHS)
    points = np.stack([radius * np.cos(turn), radius * np.sin(turn), -depth], axis=1)

    def on_top(p: Floats) -> Bools:
        return np.asarray(
            (p[:, 2] == layers) & (np.maximum(np.abs(p[:, 0]), p[:, 1]) <= _PUNCH_RINGS)
        )

    mesh = tagged(points, both, unique, punch=on_top)
    return modelled(mesh, (Steel("steel", 355.0, 490.0, _E_MPA, _NU),))


def _held(model: Model, at_mm: Floats, load_n: float) -> tuple[Bools, Floats]:
    """Mirror plane held, and the far surface moved as by a point load on a half space."""
    nodes = model.space.nodes_mm
    vertices = model.mesh.points_mm
    far_mm = _RADIUS_MM * _RINGS[-1]
    edge = near(np.hypot(*vertices[:, :2].T)[:, None], 0, far_mm, 1e-6)
    edge |= near(vertices, 2, vertices[:, 2].min(), 1e-6)
    far = edge[model.space.node_ends].all(axis=1)
    # A chord between far vertices that crosses the body's inside is not on its surface.
    inside = (np.hypot(*nodes[:, :2].T) < 0.98 * far_mm) & (nodes[:, 2] > nodes[:, 2].min() + 1e-6)
    far &= ~inside
    held = np.zeros(nodes.shape, dtype=bool)
    held[near(nodes, 1, 0.0, 1e-6), 1] = True
    held[far] = True
    moved = np.zeros_like(nodes)
    moved[far] = point_load_mm(nodes[far], at_mm, load_n)
    return held, moved


@cache
def punched(*offsets: float) -> tuple[ContactSolution, ...]:
    """A flat round punch on the half space, loaded off its middle by shares of its radius."""
    model = half_space()
    contacts = []
    for offset in offsets:
        at_mm = np.array([offset * _RADIUS_MM, 0.0])
        held, moved = _held(model, at_mm, _LOAD_N)
        # Half the punch on half the body; its turn about y is the only one the mirror allows.
        punch = bearing_on(
            model, "punch", -1.0, (2, 4), force_n=(0.0, 0.0, -_LOAD_N / 2.0), at_mm=at_mm
        )
        contacts.append(
            Contact("punch", (punch,), False, held, moved, np.zeros_like(moved), balanced=False)
        )
    return touched(model, tuple(contacts))


def _punch_n_per_mm() -> float:
    (touch,) = punched(0.0, _OFFSET)[0].touches
    return float(-_LOAD_N / touch.motion_mm[0])


def _punch_nmm_per_rad() -> float:
    (touch,) = punched(0.0, _OFFSET)[1].touches
    turn = touch.motion_mm[1] / touch.bearing.arm_mm
    return float(_LOAD_N * _OFFSET * _RADIUS_MM / turn)


def _lift_share() -> float:
    """Offset over radius at which the first node would lift, from two solutions in full touch."""
    low, high = (solution.touches[0] for solution in punched(0.0, _OFFSET))
    slope = (high.pressure_mpa - low.pressure_mpa) / _OFFSET
    return float(np.min(-low.pressure_mpa[slope < 0.0] / slope[slope < 0.0]))


@cache
def _even_disc_mm() -> tuple[float, float]:
    """How far the middle and the edge of a disc sink under 100 MPa of even pressure."""
    model = half_space()
    seat = seat_on(model, "punch")
    traction = np.zeros((*seat.weight_mm2.shape, 3))
    traction[..., 2] = -100.0
    held, moved = _held(model, np.zeros(2), 100.0 * np.pi * _RADIUS_MM**2)
    force = nodal_force(model, seat, traction)
    (solution,) = solved(model, (Problem("disc", held, moved, force),))
    down = -solution.displacement_mm[model.space.vertex_node, 2]
    points = model.mesh.points_mm
    top = near(points, 2, 0.0, 1e-9)
    away = np.hypot(*points[:, :2].T)
    rim = top & (np.abs(away - _RADIUS_MM) < 1e-6)
    return float(down[top & (away < 1e-9)][0]), float(down[rim].mean())


def bar() -> Model:
    """A bar 60 × 40 mm and 50 mm high that does not bulge (ν = 0)."""
    mesh = brick((12, 6, 4), (60.0, 40.0, 50.0), top=lambda p: near(p, 2, 50.0))
    return modelled(mesh, (Steel("steel", 355.0, 490.0, _E_MPA, 0.0),))


def layer() -> Model:
    """A strip 100 mm long and 1 mm thick that does not bulge (ν = 0): next to a Winkler bed."""
    mesh = brick((80, 1, 1), (100.0, 2.0, 1.0), top=lambda p: near(p, 2, 1.0))
    return modelled(mesh, (Steel("steel", 355.0, 490.0, _E_MPA, 0.0),))


def seat_on_fixed(model: Model, offset_mm: float) -> ContactSolution:
    """A stiff seat free to tilt over the whole top of a body glued down below."""
    nodes = model.space.nodes_mm
    held = np.zeros(nodes.shape, dtype=bool)
    held[near(nodes, 2, 0.0)] = True
    middle = (nodes.max(axis=0) / 2.0)[:2]
    seat = bearing_on(
        model, "top", -1.0, TILTING, force_n=(0.0, 0.0, -_LOAD_N), at_mm=middle + [offset_mm, 0.0]
    )
    still = np.zeros_like(nodes)
    contact = Contact("seat", (seat,), False, held, still, still, balanced=False)
    return touched(model, (contact,))[0]


def _bar_turn() -> float:
    (touch,) = seat_on_fixed(bar(), 8.0).touches
    return float(touch.motion_mm[2] / touch.bearing.arm_mm)


def _layer_share() -> float:
    return seat_on_fixed(layer(), 30.0).touches[0].share


_JOHNSON = "Johnson, Contact Mechanics (1985), section {}, from memory"
CHECKS: tuple[PublishedCheck, ...] = (
    PublishedCheck(
        case="Flat round punch on a half space: force over sinking, 2aE/(1−ν²)",
        source=_JOHNSON.format("3.8"),
        published=2.0 * _RADIUS_MM * _ELASTIC,
        unit="N/mm",
        # The pressure has no end at the rim; elements of a tenth of the radius are too stiff there.
        allowed=(0.0, 0.02),
        ours=_punch_n_per_mm,
    ),
    PublishedCheck(
        case="The same punch tilted: moment over turn, 4a³E/(3(1−ν²))",
        source=_JOHNSON.format("5.5") + "; integral of p = c x / √(a² − r²)",
        published=4.0 / 3.0 * _RADIUS_MM**3 * _ELASTIC,
        unit="N mm",
        allowed=(0.0, 0.04),
        ours=_punch_nmm_per_rad,
    ),
    PublishedCheck(
        case="The same punch: offset over radius at which its rim lifts",
        source="statics of p = P (1 + 3ex/a²) / (2πa √(a² − r²)), zero at x = −a",
        published=1.0 / 3.0,
        unit="",
        # The outermost mid-edge lies a little inside the rim, so it lifts a little later.
        allowed=(0.0, 0.04),
        ours=_lift_share,
    ),
    PublishedCheck(
        case="Even pressure on a disc of a half space: sinking at its middle, 2(1−ν²)pa/E",
        source=_JOHNSON.format("3.4"),
        published=2.0 * 100.0 * _RADIUS_MM / _ELASTIC,
        unit="mm",
        allowed=within(0.005),
        ours=lambda: _even_disc_mm()[0],
    ),
    PublishedCheck(
        case="The same disc: sinking at its edge, 2/π of the middle's",
        source=_JOHNSON.format("3.4"),
        published=4.0 / np.pi * 100.0 * _RADIUS_MM / _ELASTIC,
        unit="mm",
        # The rim is a polygon inside the circle.
        allowed=(-0.015, 0.0),
        ours=lambda: _even_disc_mm()[1],
    ),
    PublishedCheck(
        case="Stiff seat on a bar, load inside the middle third: turn, PeH/EI",
        source="bending of a bar that does not bulge (ν = 0), any textbook",
        published=_LOAD_N * 8.0 * 50.0 / (_E_MPA * 40.0 * 60.0**3 / 12.0),
        unit="",
        # The pressure varies inside facets, where its rule has degree 2.
        allowed=within(1e-4),
        ours=_bar_turn,
    ),
    PublishedCheck(
        case="Stiff seat on a thin layer, load 0.3 L off the middle: share in touch, 3 (1/2 − e/L)",
        source="footing without tension on a bed of springs, any textbook of statics",
        published=0.6,
        unit="",
        # Rows of mid-edges stand 1/160 of the length apart.
        allowed=within(0.015),
        ours=_layer_share,
    ),
)
