"""A load on the clamped block between stiff seats: first yield on top of the clamp."""

from collections.abc import Generator, Sequence
from dataclasses import replace
from pathlib import Path

from fea.clamped_contact import multiple_at, share_at, yield_share
from fea.clamped_yield import reached_at
from fea.contact import Contact, ContactSolution
from fea.errors import SolveError
from fea.model import Model
from fea.yielding import Strength
from geometry.block import Block
from studies.loads import WrapCase
from studies.stiff_results import StiffRun
from studies.stiff_run import contact_between, stiff_run, strength_of
from studies.yield_point import yield_point

Answers = Sequence[ContactSolution | SolveError] | None
Search = Generator[list[Contact], Answers, StiffRun]
"""Asks for contacts to be solved, is sent what came of each, and returns a run or raises."""

_NEAR_ENOUGH = 0.02
"""How far, as a share, the nearest state solved may lie from first yield, which is read off it."""

_MOST_SOLVED = 7


def clamped_run(
    model: Model,
    block: Block,
    case: WrapCase,
    sticking: bool,
    folder: Path | None,
    file_stem: str,
) -> Search:
    """First yield on top of the clamp.

    How the seats touch is told for clamp and demanded load together, divided by the demand as in
    all loads. Raises SolveError where a state is not found.
    """
    demanded = share_at(case.demand_multiple, case.clamp_n, case.load_n)
    together_n = case.clamp_n / case.demand_multiple + case.load_n
    solutions: list[ContactSolution] = []
    known: dict[float, Strength] = {}
    wanted = [0.0, demanded]
    while True:
        contacts = [
            contact_between(model, block, _pressing(case, share, together_n), sticking)
            for share in wanted
        ]
        answers = yield contacts
        assert answers is not None
        for share, answer in zip(wanted, answers, strict=True):
            if isinstance(answer, SolveError):
                raise answer
            solutions.append(answer)
            known[share] = strength_of(model, block, answer)
        yields = _yields_at(case, known, together_n, "starts")
        near = min(known, key=lambda share: abs(share - yields))
        if _as_good(case, yields, near):
            break
        if len(known) == _MOST_SOLVED:
            raise SolveError(
                f"load case {case.name!r} found no first yield on stiff seats",
                'ask for seats = "soft", or move the load a little',
            )
        wanted = [yields]
    run = stiff_run(model, block, case, solutions[1], folder, file_stem)
    starts = multiple_at(yields, case.clamp_n, case.load_n)
    shown = _yields_at(case, known, together_n, "shows")
    shows = max(starts, multiple_at(shown, case.clamp_n, case.load_n))
    return replace(
        run,
        starts=yield_point(block, case, reached_at(model, starts, known[near].starts)),
        shows=yield_point(block, case, reached_at(model, shows, known[near].shows)),
        residual=max(one.residual for one in solutions),
        imbalance=max(one.imbalance for one in solutions),
        iterations=sum(one.iterations for one in solutions),
        rounds=sum(one.rounds for one in solutions),
    )


def _pressing(case: WrapCase, share: float, force_n: float) -> WrapCase:
    """``force_n`` in all, of which the load is ``share`` and the clamp the rest."""
    x, y = (share * off for off in case.offset_mm)
    along, across = (share * force_n / case.load_n * push for push in case.shear_n)
    return replace(
        case,
        load_n=force_n,
        demand_multiple=1.0,
        offset_mm=(x, y),
        shear_n=(along, across),
        clamp_n=0.0,
    )


def _yields_at(
    case: WrapCase, known: dict[float, Strength], together_n: float, measure: str
) -> float:
    """The load's share in all that presses at which a measure reaches yield."""
    carried_n = {
        share: together_n / getattr(found, measure).utilisation for share, found in known.items()
    }
    return yield_share(carried_n, case.clamp_n)


def _as_good(case: WrapCase, share: float, near: float) -> bool:
    wanted, solved = (multiple_at(one, case.clamp_n, case.load_n) for one in (share, near))
    return abs(wanted - solved) <= _NEAR_ENOUGH * wanted
