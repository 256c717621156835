"""All layouts of a study side by side; those the folder already holds are not computed again."""

from collections.abc import Callable
from pathlib import Path

from fea.errors import InputError
from geometry.block import Layout
from studies.naming import for_layout
from studies.past_yield import with_past_yield
from studies.results import Comparison, LayoutResult
from studies.runner import Elsewhere, Heard, Job, Row, finished
from studies.store import keep_result, kept_result, result_key
from studies.study import Study, slug
from studies.whole_files import clear_half_done

MESHES = "meshes"
"""Folder of kept meshes, below a study's own."""


def _kept_quiet(_: LayoutResult) -> None:
    """Tell nobody of a result before the last one is there."""


def compared(
    study: Study,
    folder: Path,
    heard: Heard,
    fresh: bool = False,
    elsewhere: Elsewhere | None = None,
    found: Callable[[LayoutResult], None] = _kept_quiet,
) -> Comparison:
    """Compute every layout of ``study`` that ``folder`` does not hold yet.

    A layout that fails becomes a row that says why; the others are not affected. ``fresh`` ignores
    results and meshes kept from earlier runs. ``elsewhere`` may hold any executor of
    ``concurrent.futures``; without one, a process is started for each core. ``found`` is told each
    result as soon as its files are there. Raises InputError when the folder cannot be made, OSError
    when it cannot be written.
    """
    store, fields = folder / "store", folder / "fields"
    made_ready(folder, store, fields)
    keys = [result_key(one, study.loads, study.setting, study.accuracy) for one in study.layouts]
    rows: dict[str, Row] = {}
    jobs: dict[str, Job] = {}
    for number, (layout, key) in enumerate(zip(study.layouts, keys, strict=True), start=1):
        kept = None if fresh else kept_result(store, key)
        if kept is not None:
            rows[key] = kept
            heard(layout.name, "kept from before")
        elif key in jobs:
            heard(layout.name, f"the same block as {jobs[key].name}")
        else:
            stem = f"{number:02d}-{slug(layout.name)}-{key[:8]}"
            meshes = None if fresh else folder / MESHES
            jobs[key] = Job(
                layout.name,
                layout,
                study.loads,
                study.setting,
                stem,
                fields,
                meshes,
                study.accuracy,
            )
    key_of = {job.name: key for key, job in jobs.items()}
    # Those with most to compute first, lest one core be left alone with the last of them.
    largest_first = sorted(jobs.values(), key=lambda job: -len(job.layout.block.ribs))
    for job, row in finished(largest_first, heard, elsewhere):
        rows[key_of[job.name]] = row
        if isinstance(row, LayoutResult):
            keep_result(store, key_of[job.name], row)
            found(row)
        for layout, key in zip(study.layouts, keys, strict=True):
            if key == key_of[job.name]:
                heard(layout.name, "done" if isinstance(row, LayoutResult) else "failed")
    return Comparison(
        title=study.title,
        units=study.units,
        setting=study.setting,
        accuracy=study.accuracy,
        rated_load_n=study.rated_load_n,
        loads=study.loads,
        rows=tuple(
            _told(rows[key], layout, study, store)
            for layout, key in zip(study.layouts, keys, strict=True)
        ),
        weld_rules=study.weld_rules,
    )


def _told(row: Row, layout: Layout, study: Study, store: Path) -> Row:
    own = for_layout(row, layout)
    if isinstance(own, LayoutResult):
        return with_past_yield(own, layout.block, study.setting, store)
    return own


def made_ready(folder: Path, *places: Path) -> None:
    """Make the places and clear what killed runs left; raises InputError when that cannot be."""
    try:
        for place in places:
            place.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputError(
            f"{folder}: {(error.strerror or 'cannot be written').lower()}",
            "choose another folder with --out",
        ) from error
    clear_half_done(folder)
