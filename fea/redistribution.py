"""Where yielding shows, estimated by handing on what yielding steel cannot carry to the rest.

An elastic solution alone does not tell it: steel that yields sheds load, to its neighbours and to
walls far off, and what these then carry may bring yielding into sight sooner or later. With the
elastic stiffness alone the method of initial stress tells where it goes (Zienkiewicz, Valliappan &
King, *Int. J. Numer. Meth. Eng.* 1, 1969): stress beyond yield is cut back, and the forces this
leaves out of balance act on the elastic block. Yielding steel gives way further than that, so each
step goes on until what is left over does hardly any more work on it, as in accelerated initial
stress (Crisfield, *Non-linear Finite Element Analysis of Solids and Structures* 1, 1991, on line
searches; from memory).

Repeated without end that is equilibrium of yielding steel, all strain taken as if it had come at
once. Here it is done once, at some loads round a first guess (``fea.showing``). Plastic strain is
then read off the skin as it is on a load followed step by step (``fea.skinmarks``), and taken
straight between the loads.

How well this meets loads followed step by step is kept in ``studies/published/visible_yield.json``
and told by ``gussetry verify``.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from fea.curve import Mark
from fea.folding import Fold
from fea.mesh import Bools, Floats
from fea.model import Model
from fea.patches import PATCH_MM2
from fea.plasticity import Material, Response, material, responded, virgin
from fea.skinmarks import FAINT, Skin, first, read, skin_of, unloaded
from fea.solver import Problem, Solution
from fea.solving import roughly_solved
from fea.yielding import Strength

LEVELS = (0.9, 1.1)
"""Loads looked at first, as shares of what is expected; more of them told nothing more. Others lie
as far from each other."""

_ROUGHLY = 0.1
"""Residual of what is handed on: less than doing it only once leaves out."""

_MOST_TRIES = 6
_SEARCHES = 4
_HARDLY = 0.1
_FURTHEST = 8.0


@dataclass(frozen=True)
class Shown:
    """How many times the load at which it is expected to show yielding does, and where."""

    times: float
    part: str
    point_mm: tuple[float, float, float]


@dataclass(frozen=True, eq=False)
class _Steel:
    """The part of a block that the mirrors which leave a load as it is repeat, or all of it."""

    fold: Fold | None
    material: Material
    skin: Skin

    def own(self, moved_mm: Floats) -> Floats:
        """(n, 3) the movement of its nodes from that of all (N, 3)."""
        return moved_mm[self.fold.own] if self.fold else moved_mm

    def everywhere(self, force_n: Floats) -> Floats:
        """(N, 3) the forces of the whole from those of its own steel (n, 3)."""
        return self.fold.spread_force(force_n, self.fold.even) if self.fold else force_n

    def responded(self, moved_mm: Floats) -> Response:
        """What steel that has never yielded answers to a movement (n, 3)."""
        return responded(self.material, virgin(self.material.model), moved_mm)


@dataclass(frozen=True, eq=False)
class _Look:
    """An elastic solution looked at under ``level`` times its load.

    elastic_mm, elastic_n (n, 3): how far it moves, and the forces inside it, while nothing yields.
    """

    steel: _Steel
    problem: Problem
    level: float
    elastic_mm: Floats
    elastic_n: Floats

    def left_over_n(self, response: Response) -> Floats:
        """(n, 3) the forces out of balance."""
        return self.elastic_n - response.force_n

    def reached(self, response: Response) -> float:
        """The multiple of the load that is there: platens push with less once steel yields."""
        travel_mm = self.steel.own(self.problem.moved_mm)
        if not travel_mm.any():
            return self.level
        share = np.vdot(response.force_n, travel_mm) / np.vdot(self.elastic_n, travel_mm)
        return self.level * float(share)


def shown(
    model: Model, solutions: Sequence[Solution], expected: Sequence[float], seen: Bools
) -> tuple[Shown | None, ...]:
    """How far from where it is expected each elastic solution shows yielding on the skin seen (f,).

    expected are the multiples of their loads at which they are. None for a load whose yielding does
    not come into sight far beyond. Raises SolveError when handing on fails.
    """
    at_one = _looks(model, solutions, seen)
    found: list[Shown | None] = [None] * len(solutions)
    step = LEVELS[-1] / LEVELS[0]
    known: list[dict[float, tuple[float, Floats]]] = [{} for _ in solutions]
    wanted = {index: [one * share for share in LEVELS] for index, one in enumerate(expected)}
    for _ in range(_MOST_TRIES):
        asked = [(index, level) for index, levels in wanted.items() for level in levels]
        looks = [_at_level(at_one[index], level) for index, level in asked]
        for (index, level), reading in zip(asked, _read_off(model, looks), strict=True):
            known[index][level] = reading
        further = {}
        for index in wanted:
            lowest, highest = min(known[index]), max(known[index])
            mark = _mark(
                at_one[index].steel.skin, [known[index][level] for level in sorted(known[index])]
            )
            if mark is None:
                further[index] = [step * highest]
                continue
            if mark.force_n < known[index][lowest][0]:
                further[index] = [lowest / step]
            x, y, z = mark.point_mm
            found[index] = Shown(mark.force_n / expected[index], mark.part, (x, y, z))
        if not further:
            break
        wanted = further
    return tuple(found)


def _looks(model: Model, solutions: Sequence[Solution], seen: Bools) -> list[_Look]:
    """Each solution under its own load."""
    steels: dict[tuple[int, ...], _Steel] = {}
    looks = []
    for solution in solutions:
        axes = solution.even_axes
        if axes not in steels:
            fold, kept = model.kept_along(axes) if axes else (None, model)
            own = material(kept)
            steels[axes] = _Steel(fold, own, skin_of(model, own, seen, fold, through=False))
        steel = steels[axes]
        moved_mm = steel.own(solution.displacement_mm)
        table = steel.material.table
        never = replace(table, stress_mpa=table.stress_mpa * 1e9)
        inside = replace(steel, material=replace(steel.material, table=never)).responded(moved_mm)
        looks.append(_Look(steel, solution.problem, 1.0, moved_mm, inside.force_n))
    return looks


def _at_level(look: _Look, level: float) -> _Look:
    return replace(
        look,
        level=level,
        elastic_mm=level * look.elastic_mm,
        elastic_n=level * look.elastic_n,
    )


def _read_off(model: Model, looks: Sequence[_Look]) -> list[tuple[float, Floats]]:
    """Multiple of the load and strain at the skin's corners (f, 3) of each, handed on once."""
    elastic = [look.steel.responded(look.elastic_mm) for look in looks]
    left_n = [look.left_over_n(response) for look, response in zip(looks, elastic, strict=True)]
    some = [index for index, response in enumerate(elastic) if response.yielding.any()]
    problems = tuple(
        replace(
            looks[index].problem,
            moved_mm=np.zeros_like(looks[index].problem.moved_mm),
            force_n=looks[index].steel.everywhere(left_n[index]),
        )
        for index in some
    )
    steps = dict(zip(some, roughly_solved(model, problems, _ROUGHLY), strict=True))
    every = []
    for index, look in enumerate(looks):
        response = elastic[index]
        if index in steps:
            response = _searched(look, look.steel.own(steps[index]), left_n[index])
        every.append((look.reached(response), read(look.steel.skin, response).ahead))
    return every


def _searched(look: _Look, step_mm: Floats, left_n: Floats) -> Response:
    """Go along a step (n, 3) until what is left over (n, 3) does hardly any more work on it."""
    before, work_before = 0.0, float(np.vdot(step_mm, left_n))
    goal, at = _HARDLY * work_before, 1.0
    for search in range(_SEARCHES):
        there = look.steel.responded(look.elastic_mm + at * step_mm)
        work = float(np.vdot(step_mm, look.left_over_n(there)))
        if abs(work) <= goal or work >= work_before or search == _SEARCHES - 1:
            break
        further = at + (at - before) * work / (work_before - work)
        before, work_before, at = at, work, min(further, _FURTHEST)
    return there


def _mark(skin: Skin, levels: Sequence[tuple[float, Floats]]) -> Mark | None:
    """Where strain first covers a patch, from an unloaded block through growing levels.

    Its force is a multiple of the load.
    """
    multiples = [0.0, *(multiple for multiple, _ in levels)]
    ahead = [unloaded(skin).ahead, *(value for _, value in levels)]
    return first(skin, ahead, multiples, multiples, FAINT, PATCH_MM2, False, skin.seen)


def showing_at(model: Model, found: Strength, shown: Shown) -> Strength:
    """``found`` with what is expected to show taken to where it does, never before first yield."""
    utilisation = min(found.shows.utilisation / shown.times, found.starts.utilisation)
    scale = utilisation / found.shows.utilisation
    shows = replace(
        found.shows,
        utilisation=utilisation,
        stress_mpa=utilisation * model.steels[model.mesh.part_index(shown.part)].yield_mpa,
        part=shown.part,
        point_mm=shown.point_mm,
        over_half=scale * found.shows.over_half,
        over_double=scale * found.shows.over_double,
    )
    return replace(found, shows=shows)
