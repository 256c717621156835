"""Compute all layouts of a study, side by side, each in a process of its own."""

import multiprocessing
import os
import queue
import signal
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, Future, ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numba

from fea.errors import GussetryError, InputError
from geometry.block import Layout
from geometry.mesher import Setting
from studies.loads import LoadCase
from studies.results import Comparison, LayoutFailure, LayoutResult
from studies.solve import layout_result
from studies.store import keep_result, kept_result, result_key
from studies.study import Study, slug

Row = LayoutResult | LayoutFailure
Heard = Callable[[str, str], None]
"""Told a layout's name and what is being done with it."""


@dataclass(frozen=True)
class _Job:
    """All that one layout needs, sent whole to whichever process takes it."""

    layout: Layout
    loads: tuple[LoadCase, ...]
    setting: Setting
    folder: Path
    file_stem: str
    threads: int
    messages: Any


def compared(
    study: Study,
    folder: Path,
    heard: Heard,
    fresh: bool = False,
    executor: Executor | None = None,
) -> Comparison:
    """Compute every layout of ``study`` that ``folder`` does not hold yet.

    A layout that fails becomes a row that says why; the others are not affected. ``fresh`` ignores
    results kept from earlier runs. ``executor`` may be any from
    ``concurrent.futures``; without one, a process is started for each core. Raises
    InputError when the folder cannot be written.
    """
    store, fields = folder / "store", folder / "fields"
    try:
        for place in (store, fields):
            place.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputError(
            f"{folder}: {(error.strerror or 'cannot be written').lower()}",
            "choose another folder with --out",
        ) from error
    rows: dict[str, Row] = {}
    jobs: list[_Job] = []
    keys = {one.name: result_key(one, study.loads, study.setting) for one in study.layouts}
    for number, layout in enumerate(study.layouts, start=1):
        key = keys[layout.name]
        kept = None if fresh else kept_result(store, key)
        if kept is not None:
            # Name and mark are the study's, not part of what determines the numbers.
            rows[layout.name] = replace(kept, name=layout.name, baseline=layout.baseline)
            heard(layout.name, "kept from before")
            continue
        stem = f"{number:02d}-{slug(layout.name)}-{key[:8]}"
        jobs.append(_Job(layout, study.loads, study.setting, fields, stem, 1, None))
    for row in _rows(jobs, heard, executor):
        rows[row.name] = row
        if isinstance(row, LayoutResult):
            keep_result(store, keys[row.name], row)
        heard(row.name, "done" if isinstance(row, LayoutResult) else "failed")
    return Comparison(
        title=study.title,
        units=study.units,
        setting=study.setting,
        rated_load_n=study.rated_load_n,
        loads=study.loads,
        rows=tuple(rows[layout.name] for layout in study.layouts),
        weld_rules=study.weld_rules,
    )


def _rows(jobs: list[_Job], heard: Heard, executor: Executor | None) -> Iterator[Row]:
    """Results as they come in."""
    if executor is not None:
        yield from _finished({executor.submit(_row, job): job for job in jobs})
        return
    cores = (
        len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    )
    workers = max(1, min(cores, len(jobs)))
    with _listening(heard) as messages:
        jobs = [replace(job, threads=cores // workers, messages=messages) for job in jobs]
        done: set[str] = set()
        try:
            for row in _in_processes(jobs, workers):
                done.add(row.name)
                yield row
        except BrokenProcessPool:
            # A crash takes the whole pool down: give each layout left a pool of its own.
            for job in jobs:
                if job.layout.name not in done:
                    yield _alone(job)


def _in_processes(jobs: list[_Job], workers: int) -> Iterator[Row]:
    spawn = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(workers, spawn, _die_quietly) as pool:
        yield from _finished({pool.submit(_row, job): job for job in jobs})


def _die_quietly() -> None:
    """Let Ctrl-C end a worker at once; only the parent has something to say about it."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


def _alone(job: _Job) -> Row:
    try:
        return next(_in_processes([job], 1))
    except BrokenProcessPool:
        return LayoutFailure(
            job.layout.name,
            job.layout.baseline,
            "its process died; free some memory or use a coarser mesh setting, then run again",
        )


def _finished(futures: dict[Future[Row], _Job]) -> Iterator[Row]:
    for future in as_completed(futures):
        yield future.result()


def _row(job: _Job) -> Row:
    """Compute one layout; runs in a worker process."""
    numba.set_num_threads(max(1, min(job.threads, numba.get_num_threads())))
    name = job.layout.name

    def say(what: str) -> None:
        if job.messages is not None:
            job.messages.put((name, what))

    try:
        return layout_result(job.layout, job.loads, job.setting, job.folder, job.file_stem, say)
    except GussetryError as error:
        return LayoutFailure(name, job.layout.baseline, str(error))
    except (OSError, MemoryError) as error:
        return LayoutFailure(
            name, job.layout.baseline, f"{error or 'out of memory'}; make room, run again"
        )


@contextmanager
def _listening(heard: Heard) -> Iterator[Any]:
    """A queue the worker processes can talk into, and a thread that passes on what they say."""
    with multiprocessing.get_context("spawn").Manager() as manager:
        messages = manager.Queue()
        over = threading.Event()

        def pass_on() -> None:
            while not over.is_set():
                try:
                    heard(*messages.get(timeout=0.2))
                except (queue.Empty, EOFError, OSError):
                    continue

        listener = threading.Thread(target=pass_on, daemon=True)
        listener.start()
        try:
            yield messages
        finally:
            over.set()
            listener.join()
