"""Layouts computed in worker processes, or on any executor, only a few on their way at a time."""

import os
import queue
import tempfile
import threading
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import (
    FIRST_COMPLETED,
    CancelledError,
    Executor,
    Future,
    ProcessPoolExecutor,
    wait,
)
from concurrent.futures.process import BrokenProcessPool
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import dataclass, replace
from multiprocessing.managers import SyncManager
from pathlib import Path
from typing import Any

import numba

from fea.errors import GussetryError, SolveError
from geometry.block import Layout
from geometry.mesher import SETTINGS, Setting
from studies.lifeline import not_outliving_its_parent
from studies.loads import LoadCase
from studies.mesh_store import is_stored, mesh_key
from studies.processes import context
from studies.results import LayoutFailure, LayoutResult
from studies.solve import layout_result
from studies.store import write_whole

Row = LayoutResult | LayoutFailure
Heard = Callable[[str, str], None]
"""Told a layout's name and what is being done with it."""

_JOBS_EACH = 25
"""A worker process is replaced after so many layouts, so that its memory cannot creep up."""

_LOOK_AGAIN_SECONDS = 0.5

_DIED = "its process died; free some memory or use a coarser mesh setting, then run again"

_ONE_AT_A_TIME = threading.Lock()
"""The mesher has one state for a whole process; an executor may have several threads in one."""


@dataclass(frozen=True)
class Job:
    """All that one layout needs, sent whole to whichever process takes it.

    ``fields`` is the folder for its fields, none if they are not wanted; ``meshes`` that of kept
    meshes, none if they are not to be used; ``accuracy`` how closely first yield must be known.
    """

    name: str
    layout: Layout
    loads: tuple[LoadCase, ...]
    setting: Setting
    file_stem: str
    fields: Path | None = None
    meshes: Path | None = None
    accuracy: float | None = None
    threads: int = 1
    messages: Any = None


@dataclass(frozen=True)
class Elsewhere:
    """An executor that may compute on other machines, and how many layouts to have with it.

    ``lost`` are the errors by which it says that a layout's worker died time and again.
    """

    executor: Executor
    in_flight: int
    lost: tuple[type[BaseException], ...] = ()


@dataclass(frozen=True)
class Parcel:
    """A layout computed elsewhere, with its files by name."""

    row: Row
    files: tuple[tuple[str, bytes], ...]


def finished(
    jobs: Sequence[Job], heard: Heard, elsewhere: Elsewhere | None = None
) -> Iterator[tuple[Job, Row]]:
    """Each job with its row, as they come in; in processes of this machine if not elsewhere.

    A layout that fails is a row that says why. Raises OSError when a folder cannot be written.
    """
    if not jobs:
        return
    if elsewhere is not None:
        yield from _on_executor(jobs, elsewhere)
        return
    cores = (
        len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    )
    workers = max(1, min(cores, len(jobs)))
    with listening(heard) as messages:
        ready = [replace(job, threads=cores // workers, messages=messages) for job in jobs]
        yield from _in_processes(ready, workers)


def computed(job: Job) -> Row:
    """Compute one layout in this process; OSError is left to end the run."""
    numba.set_num_threads(max(1, min(job.threads, numba.get_num_threads())))

    def say(what: str) -> None:
        if job.messages is not None:
            # Whoever passes on what is said may have died: no reason to end with it.
            with suppress(OSError, EOFError):
                job.messages.put((job.name, what))

    try:
        return layout_result(
            job.layout,
            job.loads,
            job.setting,
            job.fields,
            job.file_stem,
            say,
            job.meshes,
            job.accuracy,
        )
    except GussetryError as error:
        return _failure(job, str(error))
    except MemoryError:
        return _failure(job, "out of memory; free some or use a coarser mesh setting, run again")


def sent_back(job: Job) -> Parcel:
    """Compute one layout where the study's folder cannot be seen; its files come back by value."""
    with _ONE_AT_A_TIME, tempfile.TemporaryDirectory() as scratch:
        if job.fields is None:
            return Parcel(computed(job), ())
        row = computed(replace(job, fields=Path(scratch)))
        files = tuple((path.name, path.read_bytes()) for path in sorted(Path(scratch).iterdir()))
    return Parcel(row, files)


def _failure(job: Job, reason: str) -> LayoutFailure:
    return LayoutFailure(job.layout.name, job.layout.baseline, reason)


def _on_executor(jobs: Sequence[Job], elsewhere: Elsewhere) -> Iterator[tuple[Job, Row]]:
    waiting = deque(replace(job, meshes=None) for job in jobs)
    running: dict[Future[Parcel], tuple[Job, Path | None]] = {}
    try:
        while waiting or running:
            while waiting and len(running) < elsewhere.in_flight:
                job = waiting.popleft()
                running[elsewhere.executor.submit(sent_back, job)] = (job, job.fields)
            for future in wait(running, return_when=FIRST_COMPLETED).done:
                job, fields = running.pop(future)
                try:
                    parcel = future.result()
                except elsewhere.lost:
                    yield job, _failure(job, _DIED)
                    continue
                except CancelledError as error:
                    raise SolveError(
                        "the machines computed on went away",
                        "finished layouts are kept; run again once they are back",
                    ) from error
                for name, content in parcel.files:
                    assert fields is not None
                    write_whole(fields / name, content)
                yield job, parcel.row
    finally:
        for future in running:
            future.cancel()


class _Lane:
    """One worker process at a time; a crash in it touches no other layout."""

    def __init__(self) -> None:
        self._open()

    def _open(self) -> None:
        self.pool = ProcessPoolExecutor(1, context(), not_outliving_its_parent)
        self.taken = 0

    def submit(self, job: Job) -> Future[Row]:
        """Start a job in the process, or in a new one when it has done its share."""
        if self.taken == _JOBS_EACH:
            self.renew()
        self.taken += 1
        try:
            return self.pool.submit(computed, job)
        except BrokenProcessPool:
            # It died while it had nothing to do.
            self.renew()
            return self.pool.submit(computed, job)

    def renew(self) -> None:
        """Go on in a new process."""
        self.close()
        self._open()

    def close(self) -> None:
        """End the process once it has nothing to do."""
        self.pool.shutdown(cancel_futures=True)


def _in_processes(jobs: Sequence[Job], workers: int) -> Iterator[tuple[Job, Row]]:
    waiting, crashed = deque(jobs), deque[Job]()
    with ExitStack() as lanes:
        free = [_lane(lanes) for _ in range(workers)]
        running: dict[Future[Row], tuple[Job, _Lane]] = {}
        while waiting or running:
            while free and (job := _next(waiting, [one for one, _ in running.values()])):
                lane = free.pop()
                running[lane.submit(job)] = (job, lane)
            for future in wait(running, _LOOK_AGAIN_SECONDS, FIRST_COMPLETED).done:
                job, lane = running.pop(future)
                free.append(lane)
                try:
                    yield job, future.result()
                except BrokenProcessPool:
                    lane.renew()
                    crashed.append(job)
        for job in crashed:
            yield job, _alone(job, free[0])


def _lane(lanes: ExitStack) -> _Lane:
    lane = _Lane()
    lanes.callback(lane.close)
    return lane


def _next(waiting: deque[Job], running: list[Job]) -> Job | None:
    """The first job whose mesh is not just being made by another; taken out of ``waiting``."""
    for job in waiting:
        if job.meshes is None or not _being_meshed(job, job.meshes, running):
            waiting.remove(job)
            return job
    return None


def _being_meshed(job: Job, meshes: Path, running: list[Job]) -> bool:
    key = mesh_key(job.layout.block, SETTINGS[job.setting])
    return any(
        key == mesh_key(other.layout.block, SETTINGS[other.setting]) for other in running
    ) and not is_stored(meshes, key)


def _alone(job: Job, lane: _Lane) -> Row:
    """A second try with the machine to itself: most crashes are for want of memory."""
    try:
        return lane.submit(job).result()
    except BrokenProcessPool:
        lane.renew()
        return _failure(job, _DIED)


@contextmanager
def listening(heard: Heard) -> Iterator[Any]:
    """A queue the worker processes can talk into, and a thread that passes on what they say."""
    manager = SyncManager(ctx=context())
    manager.start(not_outliving_its_parent)
    with manager:
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
