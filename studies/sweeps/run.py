"""Compute the designs of a sweep that the results store does not hold yet."""

from collections.abc import Callable
from pathlib import Path

from studies.compare import MESHES, made_ready
from studies.results import CaseResult, LayoutFailure, LayoutResult
from studies.runner import Elsewhere, Heard, Job, Row, finished
from studies.store import keep_result, kept_result, result_key
from studies.sweeps.designs import Design, Refused, SweepPlan
from studies.sweeps.found import FoundCase, FoundDesign, LeftOut, Sweep

Ended = Callable[[int, str], None]
"""Told how many designs came to an end, and how: refused, kept, done or failed."""


def swept(
    plan: SweepPlan,
    folder: Path,
    heard: Heard,
    ended: Ended,
    fresh: bool = False,
    elsewhere: Elsewhere | None = None,
) -> Sweep:
    """Every design of ``plan`` with its numbers, or why it has none.

    ``folder`` is the study's own, shared with ``compared``: its results count here too. No fields
    are written. Every design is kept the moment it is finished; ``fresh`` ignores what is kept.
    Raises InputError when the folder cannot be made, OSError when it cannot be written.
    """
    store = folder / "store"
    made_ready(folder, store)
    rows: dict[int, FoundDesign | LeftOut] = {}
    same: dict[str, list[Design]] = {}
    for one in plan.designs:
        if isinstance(one, Refused):
            rows[one.number] = LeftOut(
                one.number, one.layout_name, one.values, one.reason, refused=True
            )
            ended(1, "refused")
        else:
            same.setdefault(result_key(one.layout, one.loads, one.setting), []).append(one)
    jobs = []
    for key, designs in same.items():
        kept = None if fresh else kept_result(store, key, with_fields=False)
        if kept is None:
            jobs.append(_job(designs[0], key, None if fresh else folder / MESHES))
            continue
        rows |= {one.number: _row(one, kept) for one in designs}
        ended(len(designs), "kept")
    for job, result in finished(jobs, heard, elsewhere):
        if isinstance(result, LayoutResult):
            keep_result(store, job.file_stem, result)
        designs = same[job.file_stem]
        rows |= {one.number: _row(one, result) for one in designs}
        ended(len(designs), "done" if isinstance(result, LayoutResult) else "failed")
    return Sweep(
        title=plan.study.title,
        units=plan.study.units,
        headings=plan.headings,
        load_names=tuple(load.name for load in plan.study.loads),
        rows=tuple(rows[one.number] for one in plan.designs),
    )


def _job(design: Design, key: str, meshes: Path | None) -> Job:
    name = ", ".join([f"{design.number} {design.layout_name}", *design.values])
    return Job(name, design.layout, design.loads, design.setting, key, meshes=meshes)


def _row(design: Design, result: Row) -> FoundDesign | LeftOut:
    if isinstance(result, LayoutFailure):
        return LeftOut(
            design.number, design.layout_name, design.values, result.reason, refused=False
        )
    return FoundDesign(
        number=design.number,
        layout=design.layout_name,
        values=design.values,
        mass_kg=result.mass_kg,
        weld_length_mm=result.weld_length_mm,
        cases=tuple(_case(case) for case in result.cases),
    )


def _case(case: CaseResult) -> FoundCase:
    return FoundCase(
        load_name=case.case.name,
        first_yield_n=case.starts.load_n,
        demanded_n=case.case.demanded_n,
        shows_n=case.shows.load_n,
        place=case.starts.place,
        stiffness_n_per_mm=case.stiffness_n_per_mm,
    )
