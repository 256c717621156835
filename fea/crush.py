"""The press curve: a block crushed between rigid platens, through its plateau, and unloaded."""

import time
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fea.curve import Crushed, Effort, Mark, PressCurve, SkinState
from fea.elasticity import von_mises_mpa
from fea.errors import SolveError
from fea.folding import Fold
from fea.hardening import Law, quad_linear
from fea.mesh import Floats
from fea.model import Model
from fea.newton import BALANCE_GOAL, Equilibrium, StalledError, Target, balanced
from fea.patches import PATCH_MM2
from fea.plasticity import Plastic, material, virgin
from fea.platens import (
    Platens,
    Press,
    Touching,
    all_touching,
    load_n,
    mirrored_press,
    platens,
    target,
    touched,
)
from fea.skinmarks import (
    PLAIN,
    Reading,
    Skin,
    hottest,
    largest_patch_mm2,
    read,
    shown,
    skin_marks,
    skin_of,
)
from fea.tangent import Frame, framed

LEAST_TRAVEL_SHARE = 0.03
SET_SHARE = 0.002
STRAIN_LIMIT = 0.05

_PROBE_SHARE = 1e-4
_SETTLING_ROUNDS = 8
_WRONG_SHARE = 0.01
_FORCE_ERROR = 0.03
_MOST_STEP_SHARE = 0.006
_KNEE_STEP = 0.1
_LEAST_STEP_SHARE = 1e-5
_UNLOADED_SHARE = 0.9


@dataclass(frozen=True, eq=False)
class _Point:
    """One step kept."""

    travel_mm: float
    force_n: float
    touching: Touching
    found: Equilibrium
    reading: Reading


@dataclass
class _Run:
    """What every step needs, and a tally of the rounds it took."""

    frame: Frame
    skin: Skin
    on: Platens
    fold: Fold | None
    height: float
    goal: float
    newton: int = 0
    linear: int = 0
    cutbacks: int = 0

    def balanced(
        self, frame: Frame, before: Plastic, start: Floats, guess: Floats | None, aim: Target
    ) -> Equilibrium:
        """Find equilibrium and count what it took."""
        found = balanced(frame, before, start, guess, aim, self.goal)
        self.newton += found.newton
        self.linear += found.linear
        return found


def crushed(
    model: Model,
    press: Press,
    seen: NDArray[np.bool_],
    law: Law = quad_linear,
    slender: str = "",
    travel_share: float = LEAST_TRAVEL_SHARE,
    finer: float = 1.0,
    goal: float = BALANCE_GOAL,
    until_shown: bool = False,
) -> Crushed:
    """Crush ``model`` in ``press`` until the ram has gone ``travel_share`` of the height.

    seen (f,) are the skin facets that can be looked at. slender says in words why walls may buckle
    once they yield; the curve then counts as valid only up to first yield. finer divides the steps;
    goal is the force that may be left over, as a share of what acts. until_shown ends as soon as
    yielding shows plainly.
    Raises SolveError when even small steps fail.
    """
    began = time.perf_counter()
    axes = mirrored_press(model, press)
    fold, kept = model.kept_along(axes) if axes else (None, model)
    frame = framed(material(kept, law))
    on = platens(kept, press, fold)
    z = kept.space.nodes_mm[:, 2]
    height = float(z[on.above.nodes].mean() - z[on.below.nodes].mean())
    run = _Run(frame, skin_of(model, frame.steel, seen, fold), on, fold, height, goal)
    points = [_first_point(run)]
    _march(run, travel_share, finer, points, until_shown)
    permanent = _permanent_set(run, points, SET_SHARE * height)
    return _curve(points, permanent, slender, run, began)


def _first_point(run: _Run) -> _Point:
    """The elastic state at which the first point anywhere yields, bearings settled."""
    frame, on = run.frame, run.on
    model, table = frame.steel.model, frame.steel.table
    stiff = replace(
        frame, steel=replace(frame.steel, table=replace(table, stress_mpa=table.stress_mpa * 1e9))
    )
    fresh = virgin(model)
    touching, travel = all_touching(on), _PROBE_SHARE * run.height
    still = np.zeros_like(model.space.nodes_mm)
    guess: Floats | None = None
    for _ in range(_SETTLING_ROUNDS):
        aim = target(on, touching, travel, still)
        found = run.balanced(stiff, fresh, still, guess, aim)
        new, wrong = touched(on, touching, found, travel)
        if wrong < _WRONG_SHARE / 4.0:
            break
        touching, guess = new, found.displacement_mm
    limit = table.stress_mpa[model.mesh.part_of_tet, 0][:, None]
    factor = 1.0 / float((von_mises_mpa(found.response.stress_mpa) / limit).max())
    response = found.response
    scaled = replace(
        found,
        displacement_mm=found.displacement_mm * factor,
        reaction_n=found.reaction_n * factor,
        response=replace(
            response,
            force_n=response.force_n * factor,
            stress_mpa=response.stress_mpa * factor,
        ),
    )
    reading = read(run.skin, scaled.response)
    return _Point(travel * factor, load_n(on, scaled), touching, scaled, reading)


def _march(
    run: _Run, travel_share: float, finer: float, points: list[_Point], until_shown: bool
) -> None:
    """Step on until the travel asked for, steps chosen by how well the last rate foretold force."""
    height = run.height
    end = travel_share * height
    now = points[-1]
    rate = now.found.displacement_mm / now.travel_mm
    stiffness = now.force_n / now.travel_mm
    step = max(_KNEE_STEP * now.travel_mm, 0.005 * end) / finer
    while now.travel_mm < end * (1.0 - 1e-9):
        travel = min(now.travel_mm + step, end)
        went = travel - now.travel_mm
        try:
            reached = _stepped(run, now, travel, now.found.displacement_mm + rate * went)
        except StalledError as error:
            run.cutbacks += 1
            step = went / 2.0
            if step < _LEAST_STEP_SHARE * height:
                raise SolveError(
                    f"the crush stopped at {now.travel_mm:.3g} mm of travel",
                    "try another mesh setting",
                ) from error
            continue
        foretold = now.force_n + stiffness * went
        error_share = abs(foretold - reached.force_n) / max(p.force_n for p in points + [reached])
        points.append(reached)
        if until_shown and shown(run.skin, reached.reading, PLAIN):
            break
        rate = (reached.found.displacement_mm - now.found.displacement_mm) / went
        stiffness = (reached.force_n - now.force_n) / went
        grow = np.sqrt(_FORCE_ERROR / finer / max(error_share, 1e-9))
        step = min(went * min(max(float(grow), 0.5), 1.8), _MOST_STEP_SHARE * height / finer)
        if stiffness > 0.5 * points[0].force_n / points[0].travel_mm:
            # Most marks lie on the knee that is still to come.
            step = min(step, _KNEE_STEP * points[0].travel_mm / finer)
        now = reached


def _stepped(run: _Run, now: _Point, travel: float, guess: Floats) -> _Point:
    """One equilibrium at ``travel``; bearings settle until what is wrong is a small share."""
    on, touching, before = run.on, now.touching, now.found.response.plastic
    for _ in range(_SETTLING_ROUNDS):
        start = now.found.displacement_mm
        aim = target(on, touching, travel, start)
        found = run.balanced(run.frame, before, start, guess, aim)
        new, wrong = touched(on, touching, found, travel)
        if wrong < _WRONG_SHARE:
            reading = read(run.skin, found.response)
            return _Point(travel, load_n(on, found), new, found, reading)
        touching, guess = new, found.displacement_mm
    raise StalledError("the platens do not settle on the block", "try another mesh setting")


def _permanent_set(run: _Run, points: list[_Point], wanted_mm: float) -> Mark | None:
    """Unload from the steps on either side of ``wanted_mm`` of set and go between them."""
    stiffness = points[0].force_n / points[0].travel_mm
    guess = [p.travel_mm - p.force_n / stiffness for p in points]
    after = next((i for i, value in enumerate(guess) if value >= wanted_mm), None)
    if after is None or after == 0:
        return None
    at = {i: _set_mm(run, points[i], points[0]) for i in (after - 1, after)}
    while at[after] < wanted_mm and after + 1 < len(points):
        after += 1
        at[after] = _set_mm(run, points[after], points[0])
    while at[after - 1] > wanted_mm and after > 1:
        after -= 1
        at[after - 1] = _set_mm(run, points[after - 1], points[0])
    low, high = at[after - 1], at[after]
    if not low <= wanted_mm <= high:
        return None
    share = (wanted_mm - low) / (high - low)
    a, b = points[after - 1], points[after]
    return Mark(
        a.force_n + share * (b.force_n - a.force_n),
        a.travel_mm + share * (b.travel_mm - a.travel_mm),
    )


def _set_mm(run: _Run, point: _Point, elastic: _Point) -> float:
    """Travel left when the ram is drawn back: computed to a tenth of the load, then straight on."""
    if not point.found.response.plastic.amount.any():
        return 0.0
    back = _UNLOADED_SHARE * point.force_n / elastic.force_n
    travel = point.travel_mm - back * elastic.travel_mm
    start = point.found.displacement_mm
    # At the yield surface rounding decides what flows: the elastic pattern is the better guide.
    guess = start - back * elastic.found.displacement_mm
    aim = target(run.on, point.touching, travel, start)
    found = run.balanced(run.frame, point.found.response.plastic, start, guess, aim)
    force = load_n(run.on, found)
    return travel - force * (point.travel_mm - travel) / (point.force_n - force)


def _curve(
    points: list[_Point], permanent: Mark | None, slender: str, run: _Run, began: float
) -> Crushed:
    skin, height = run.skin, run.height
    force = [0.0, *(point.force_n for point in points)]
    travel = [0.0, *(point.travel_mm for point in points)]
    readings = [point.reading for point in points]
    marks = skin_marks(skin, readings, force, travel)
    starts = marks.starts
    if starts is None:
        raise SolveError("the block never yielded", "ask for more travel")
    strain = [np.zeros(len(skin.seen)), *(reading.strain for reading in readings)]
    largest = tuple(hottest(skin, value) for value in strain)
    top = int(np.argmax(force))
    valid, reason = _validity(travel, largest, starts, slender)
    curve = PressCurve(
        height_mm=height,
        force_n=tuple(force),
        travel_mm=tuple(travel),
        largest_strain=largest,
        seen_mm2=tuple(largest_patch_mm2(skin, (value >= PLAIN) & skin.seen) for value in strain),
        stiffness_n_per_mm=points[0].force_n / points[0].travel_mm,
        patch_mm2=PATCH_MM2,
        starts=starts,
        through=marks.through,
        faint=marks.faint,
        plain=marks.plain,
        permanent_set=permanent,
        crush=Mark(force[top], travel[top]),
        still_rising=top == len(force) - 1,
        valid_to_mm=valid,
        limit_reason=reason,
        hardening=skin.steel.words,
        effort=Effort(
            len(points), run.cutbacks, run.newton, run.linear, time.perf_counter() - began
        ),
    )
    moved = [_everywhere(run.fold, point.found.displacement_mm) for point in points]
    states = tuple(
        SkinState(point.force_n, point.travel_mm, value, moved_mm)
        for point, value, moved_mm in zip(points, strain[1:], moved, strict=True)
    )
    unloaded = SkinState(0.0, 0.0, strain[0], np.zeros_like(moved[0]))
    return Crushed(curve, (unloaded, *states))


def _everywhere(fold: Fold | None, moved_mm: Floats) -> Floats:
    """Movement of the whole block's nodes."""
    return fold.spread(moved_mm, fold.even) if fold else moved_mm


def _validity(
    travel: list[float], largest: tuple[float, ...], starts: Mark, slender: str
) -> tuple[float, str]:
    if slender:
        return starts.travel_mm, slender
    if largest[-1] <= STRAIN_LIMIT:
        return travel[-1], ""
    reached = float(np.interp(STRAIN_LIMIT, largest, travel))
    return reached, f"plastic strain passes {100 * STRAIN_LIMIT:g} %, too much for small strains"
