"""A layout between stiff seats that only push: first yield, what touches, how hard, and its bands.

Each load is carried twice, once with seats on which steel slides and once with seats it sticks to;
a crush load once, as its own friction says.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from fea.contact import Contact, ContactSolution
from fea.contact_solver import touched
from fea.errors import SolveError
from fea.model import Model
from geometry.block import Block
from studies.bands import GUESS_FLOOR, STARTS_SPREAD, STIFF_FLOOR, band
from studies.clamping.stiff import Answers, Search, clamped_run
from studies.loads import ClampCase, CrushCase, LoadCase, WrapCase
from studies.stiff_results import StiffBands, StiffRun, StiffSeats
from studies.stiff_run import SeatedCase, contact_between, stiff_run


@dataclass(frozen=True)
class _Place:
    """Where pressures to draw are written, if anywhere."""

    folder: Path | None
    file_stem: str


def stiff_on_both(
    model: Model,
    coarser: Model,
    block: Block,
    loads: tuple[LoadCase, ...],
    folder: Path | None,
    file_stem: str,
    say: Callable[[str], None],
) -> tuple[StiffSeats | None, ...]:
    """As ``stiff_seats`` on ``model``, with the bands that a coarser mesh tells.

    A run that fails on ``model`` is that of the coarser mesh, if it came out there.
    """

    def on_coarser(what: str) -> None:
        say(f"{what}, coarser mesh")

    # What both write has the same name: the finer mesh's is left wherever there is one.
    before = stiff_seats(coarser, block, loads, folder, file_stem, on_coarser)
    now = stiff_seats(model, block, loads, folder, file_stem, say)
    return tuple(
        both_meshes(coarse, fine) if coarse and fine else fine
        for coarse, fine in zip(before, now, strict=True)
    )


def both_meshes(coarse: StiffSeats, fine: StiffSeats) -> StiffSeats:
    """What two meshes say together: the finer's runs, with bands where both have one."""
    before = {run.sticking: run for run in coarse.runs}
    runs = [
        replace(run, bands=_bands(before.pop(run.sticking), run)) if run.sticking in before else run
        for run in fine.runs
    ]
    return StiffSeats((*runs, *before.values()), fine.trouble or coarse.trouble)


def _bands(coarse: StiffRun, fine: StiffRun) -> StiffBands:
    return StiffBands(
        starts=band(coarse.starts.load_n, fine.starts.load_n, STIFF_FLOOR, STARTS_SPREAD),
        shows=band(coarse.shows.load_n, fine.shows.load_n, GUESS_FLOOR, STARTS_SPREAD),
        above=band(coarse.above.peak_mpa, fine.above.peak_mpa, STIFF_FLOOR, STARTS_SPREAD),
        below=band(coarse.below.peak_mpa, fine.below.peak_mpa, STIFF_FLOOR, STARTS_SPREAD),
    )


def stiff_seats(
    model: Model,
    block: Block,
    loads: tuple[LoadCase, ...],
    folder: Path | None,
    file_stem: str,
    say: Callable[[str], None],
) -> tuple[StiffSeats | None, ...]:
    """What each of ``loads`` does between stiff seats; None where the study does not ask.

    Pressures to draw are written into ``folder``, if there is one.

    A run that finds no steady contact or fails its checks is left out and says why; the others,
    and the soft seats' figures, stand.
    """
    asked = [
        case
        for case in loads
        if isinstance(case, CrushCase | WrapCase | ClampCase) and case.stiff_seats
    ]
    if not asked:
        return (None,) * len(loads)
    say("stiff seats")
    searches = [
        (case, _search(model, block, case, sticking, _Place(folder, file_stem)))
        for case in asked
        for sticking in _frictions(case)
    ]
    runs: dict[str, list[StiffRun]] = {case.name: [] for case in asked}
    trouble = dict.fromkeys(runs, "")
    found = _in_step(model, [search for _, search in searches])
    for (case, _), run in zip(searches, found, strict=True):
        if isinstance(run, SolveError):
            trouble[case.name] = str(run)
        else:
            runs[case.name].append(run)
    return tuple(
        StiffSeats(tuple(runs[case.name]), trouble[case.name]) if case in asked else None
        for case in loads
    )


def _frictions(case: SeatedCase) -> tuple[bool, ...]:
    return (case.friction,) if isinstance(case, CrushCase) else (False, True)


def _search(model: Model, block: Block, case: SeatedCase, sticking: bool, at: _Place) -> Search:
    """Ask for what must be solved for one run, and make the run of it."""
    if isinstance(case, WrapCase) and case.clamp_n:
        return clamped_run(model, block, case, sticking, at.folder, at.file_stem)
    return _one_solve(model, block, case, sticking, at)


def _one_solve(model: Model, block: Block, case: SeatedCase, sticking: bool, at: _Place) -> Search:
    answers = yield [contact_between(model, block, case, sticking)]
    assert answers is not None
    (solution,) = answers
    if isinstance(solution, SolveError):
        raise solution
    return stiff_run(model, block, case, solution, at.folder, at.file_stem)


def _in_step(model: Model, searches: Sequence[Search]) -> list[StiffRun | SolveError]:
    """Let all searches ask, solve what they ask for together, and so on until each has its run."""
    found: dict[int, StiffRun | SolveError] = {}
    answers: dict[int, Answers] = dict.fromkeys(range(len(searches)))
    while answers:
        wanted: list[tuple[int, Contact]] = []
        for index, answer in answers.items():
            try:
                wanted += [(index, contact) for contact in searches[index].send(answer)]
            except StopIteration as end:
                found[index] = end.value
            except SolveError as error:
                found[index] = error
        # Cases alike in friction need alike many rounds: keep them in one block.
        wanted.sort(key=lambda one: one[1].sticking)
        heard: dict[int, list[ContactSolution | SolveError]] = {index: [] for index, _ in wanted}
        solutions = _each_touched(model, tuple(contact for _, contact in wanted))
        for (index, _), solution in zip(wanted, solutions, strict=True):
            heard[index].append(solution)
        answers = {**heard}
    return [found[index] for index in range(len(searches))]


def _each_touched(
    model: Model, contacts: tuple[Contact, ...]
) -> tuple[ContactSolution | SolveError, ...]:
    """All at once; when one fails, each alone, so that the others still come out."""
    try:
        return touched(model, contacts)
    except SolveError:
        return tuple(_touched_alone(model, contact) for contact in contacts)


def _touched_alone(model: Model, contact: Contact) -> ContactSolution | SolveError:
    try:
        return touched(model, (contact,))[0]
    except SolveError as error:
        return error
