"""One run at a time in the chosen folder; the others wait in the order they were asked for."""

import os
import re
import subprocess
import sys
import threading
import time
from contextlib import suppress
from importlib.resources import files
from pathlib import Path

from fea.errors import InputError
from studies.page.orders import Kind, Order
from studies.page.runs import Request, Run, RunFiles, runs_in

_LOOK_SECONDS = 0.4
_MOST_WAITING = 8
_MOST_KEPT = 40


class Queue:
    """Starts what waits, each in a process of its own that does not end with this one."""

    def __init__(self, root: Path, folder: Path) -> None:
        self.root, self.folder = root, folder
        self._lock = threading.Lock()
        self._children: list[tuple[RunFiles, subprocess.Popen[bytes]]] = []
        self._over = threading.Event()

    def open(self) -> None:
        """Begin to look after the queue, with what an earlier server left in it."""
        threading.Thread(target=self._look_after, daemon=True).start()

    def close(self) -> None:
        """Look after it no more; a run that is under way goes on."""
        self._over.set()

    def runs(self) -> list[Run]:
        """All runs, the latest first."""
        return runs_in(self.folder)

    def ask(self, kind: Kind, study: str, order: Order) -> Run:
        """Put a run into the queue; raises InputError when it is there already or it is full."""
        with self._lock:
            self.folder.mkdir(parents=True, exist_ok=True)
            every = self.runs()
            coming = [run for run in every if run.state in ("waiting", "running", "stopping")]
            for run in coming:
                same = (run.kind, run.study, run.words) == (kind, study, order.words)
                if run.state == "waiting" and same:
                    raise InputError("this run is in the queue already", "wait for its turn")
            if len(coming) > _MOST_WAITING:
                raise InputError(
                    f"{_MOST_WAITING} runs are waiting already", "wait, or stop one of them"
                )
            number = self._last_number() + 1
            asked = RunFiles(self.folder, f"{number:05d}")
            asked.ask(Request(number, kind, study, time.time(), order))
            self._forget(every)
            return asked.run()

    def stop(self, number: int) -> Run:
        """Ask a run to end; raises InputError when there is none of that number."""
        files_of = RunFiles(self.folder, f"{number:05d}")
        if not files_of.file("json").exists():
            raise InputError(f"there is no run {number}", "look at the list of runs")
        files_of.ask_to_stop()
        return files_of.run()

    def log(self, number: int) -> str:
        """What a run has printed."""
        return RunFiles(self.folder, f"{number:05d}").log()

    def _last_number(self) -> int:
        """The highest that any file of a run has, those included that cannot be read."""
        stems = (path.name.partition(".")[0] for path in self.folder.iterdir())
        return max((int(stem) for stem in stems if re.fullmatch("[0-9]{1,9}", stem)), default=0)

    def _look_after(self) -> None:
        while not self._over.wait(_LOOK_SECONDS):
            self._bury()
            with self._lock:
                every = self.runs()
                if any(run.state in ("running", "stopping") for run in every):
                    continue
                waiting = [run for run in every if run.state == "waiting"]
                if waiting:
                    # Where the disk is full now there may be room at the next look.
                    with suppress(OSError):
                        self._start(waiting[-1])

    def _bury(self) -> None:
        """Forget processes that are over, and say so for those that crashed."""
        for of_run, child in self._children:
            code = child.poll()
            if code is not None and not of_run.file("ended").exists():
                of_run.say_ended(code or 1)
        self._children = [one for one in self._children if one[1].returncode is None]

    def _start(self, run: Run) -> None:
        of_run = RunFiles(self.folder, f"{run.number:05d}")
        of_run.say_started()
        code = str(Path(str(files("studies"))).parent)
        path = os.pathsep.join([code, *filter(None, [os.environ.get("PYTHONPATH")])])
        with of_run.file("log").open("wb") as log:
            child = subprocess.Popen(
                [sys.executable, "-m", "studies.page.child", str(self.folder), of_run.number],
                stdin=subprocess.DEVNULL,
                stdout=log,
                stderr=subprocess.STDOUT,
                cwd=self.root,
                env={**os.environ, "PYTHONPATH": path, "PYTHONUNBUFFERED": "1"},
                start_new_session=True,
            )
        self._children.append((of_run, child))

    def _forget(self, every: list[Run]) -> None:
        """Remove the files of runs long over; their results stay."""
        over = [run for run in every if run.state in ("done", "stopped", "failed")]
        for run in over[_MOST_KEPT:]:
            for path in self.folder.glob(f"{run.number:05d}.*"):
                path.unlink(missing_ok=True)
