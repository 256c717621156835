"""Press curves of several layouts at once, in processes that share the cores."""

import os
from collections.abc import Sequence
from concurrent.futures import Future, ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from dataclasses import replace
from pathlib import Path
from typing import Any

import numba

from fea.errors import GussetryError
from geometry.block import Layout
from studies.compare import compared
from studies.lifeline import not_outliving_its_parent
from studies.pressing.compute import Crusher, curves, with_crush
from studies.processes import context
from studies.runner import Heard, listening
from studies.study import Study


def pressed_together(
    study: Study,
    layouts: Sequence[Layout],
    folder: Path,
    heard: Heard,
    fresh: bool,
    crusher: Crusher | None,
) -> dict[str, str]:
    """Compute elastic loads and, with a ``crusher``, press curves of ``layouts``; all is kept.

    Each process has its share of the cores. Gives the reason of each layout that failed by name. A
    layout whose process died is left for whoever asks for it next. Raises OSError when ``folder``
    cannot be written.
    """
    loads = [with_crush(study, layout).loads for layout in layouts]
    if all(one == loads[0] for one in loads):
        every = replace(study, layouts=tuple(layouts), loads=loads[0])
        failed = {row.name: row.reason for row in compared(every, folder, heard, fresh).failures}
    else:
        failed = {}
    good = [layout for layout in layouts if layout.name not in failed]
    if crusher is None or not good:
        return failed
    cores = (
        len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    )
    workers = min(cores, len(good))
    with (
        listening(heard) as messages,
        ProcessPoolExecutor(workers, context(), not_outliving_its_parent) as pool,
    ):
        # Those with most to compute first, lest one core be left alone with the last of them.
        largest_first = sorted(good, key=lambda layout: -len(layout.block.ribs))
        running = {
            pool.submit(
                _curves_kept, study, layout, folder, fresh, crusher, cores // workers, messages
            ): layout.name
            for layout in largest_first
        }
        for future in as_completed(running):
            name = running[future]
            reason = _reason(future)
            heard(name, "press curve failed" if reason else "press curve done")
            if reason:
                failed[name] = reason
    return failed


def _reason(future: Future[None]) -> str:
    """Why a layout has no curve; empty where it has one, or where its process died."""
    try:
        future.result()
    except BrokenProcessPool:
        return ""
    except GussetryError as error:
        return str(error)
    except MemoryError:
        return "out of memory; free some or use a coarser mesh setting, run again"
    return ""


def _curves_kept(
    study: Study,
    layout: Layout,
    folder: Path,
    fresh: bool,
    crusher: Crusher,
    threads: int,
    messages: Any,
) -> None:
    """In a worker process: the curves are found again by whoever asks for them."""
    numba.set_num_threads(max(1, min(threads, numba.get_num_threads())))

    def say(name: str, what: str) -> None:
        messages.put((name, what))

    curves(study, layout, folder, say, fresh, crusher)
