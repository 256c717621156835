"""Runs asked for on the page: what was asked, how far it has come, how it ended.

A run's state is the files it has, so that it outlives page and server: ``NUMBER.json`` is the
request, ``.started`` that a server has started it, ``.began`` and ``.ended`` come from its own
process, which holds ``.alive`` while it lives, and touches it for systems where that cannot be
told; ``.stop`` asks it to end; ``.log`` is what it prints.
"""

import time
from contextlib import suppress
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import BinaryIO, Literal

from pydantic import TypeAdapter, ValidationError

from studies.page.holding import hold, is_held
from studies.page.orders import Kind, Order
from studies.progress import FINISHED, read_progress, seconds_left
from studies.whole_files import write_whole

State = Literal["waiting", "running", "stopping", "done", "stopped", "failed"]

_SILENT_SECONDS = 20.0
_SLOW_START_SECONDS = 60.0
_LONGEST_LOG = 200_000
_CRASHED = (
    "its process ended without a word; free some memory or take a coarser mesh, then run again: "
    "finished layouts are kept"
)
_UNHELD = "unheld"


@dataclass(frozen=True)
class Request:
    """What was asked for, and when."""

    number: int
    kind: Kind
    study: str
    asked: float
    order: Order


@dataclass(frozen=True)
class LayoutState:
    """What is being done with one layout."""

    name: str
    what: str
    finished: bool


@dataclass(frozen=True)
class Run:
    """A run as it stands. ``left_s`` is None while nothing can be said of it."""

    number: int
    kind: Kind
    study: str
    words: str
    state: State
    layouts: tuple[LayoutState, ...]
    gone_s: float
    left_s: float | None
    message: str


_REQUEST = TypeAdapter(Request)


class RunFiles:
    """The files of one run."""

    def __init__(self, folder: Path, number: str) -> None:
        self.folder, self.number = folder, number
        self._held: BinaryIO | None = None

    def file(self, kind: str) -> Path:
        """One of the run's files."""
        return self.folder / f"{self.number}.{kind}"

    def request(self) -> Request:
        """What was asked for; raises ValidationError or OSError if the file is gone."""
        return _REQUEST.validate_json(self.file("json").read_bytes())

    def ask(self, request: Request) -> None:
        """Write the request down."""
        write_whole(self.file("json"), _REQUEST.dump_json(request, indent=1))

    def say_begun(self) -> None:
        """The run's process is there, and this is it."""
        self.say_alive()
        with suppress(OSError):
            self._held = hold(self.file("alive"))
        # Whoever holds nothing says so: it is then told by its touch alone.
        self._note("began", str(time.time()) if self._held else f"{time.time()} {_UNHELD}")

    def let_go(self) -> None:
        """Hold this run's files no longer, as when its process ends."""
        if self._held:
            self._held.close()

    def say_alive(self) -> None:
        """The run's process is still there."""
        with suppress(OSError):
            self.file("alive").touch()

    def say_ended(self, code: int) -> None:
        """The run is over."""
        self._note("ended", str(code))

    def say_started(self) -> None:
        """A server is starting the run's process."""
        self._note("started", str(time.time()))

    def ask_to_stop(self) -> None:
        """Ask the run to end."""
        self._note("stop", "")

    def stop_asked(self) -> bool:
        """Whether it was asked to end."""
        return self.file("stop").exists()

    def _note(self, kind: str, text: str) -> None:
        write_whole(self.file(kind), text.encode())

    def state(self) -> tuple[State, str]:
        """How it stands, and why in one line if it failed."""
        if self.file("ended").exists():
            code = self._read("ended").strip()
            if code == "0":
                return "done", ""
            if code == "130":
                return "stopped", "stopped; finished layouts are kept"
            # A process that crashed has the signal's number, below zero, as its code.
            return "failed", _CRASHED if code.startswith("-") else self._last_words()
        if self.file("began").exists():
            if self._lives():
                return ("stopping" if self.stop_asked() else "running"), ""
            if self.file("ended").exists():
                return self.state()  # it ended well while we looked
            return "failed", _CRASHED
        if self.file("started").exists():
            if self._age("started") < _SLOW_START_SECONDS:
                return ("stopping" if self.stop_asked() else "running"), ""
            return "failed", "its process did not start; run again"
        return ("stopped", "taken out of the queue") if self.stop_asked() else ("waiting", "")

    def run(self) -> Run:
        """The run with its progress."""
        request, (state, message) = self.request(), self.state()
        steps = read_progress(self.log(), request.order.layouts)
        now = dict.fromkeys(request.order.layouts, "waiting")
        now |= {step.name: step.what for step in steps}
        gone = self._seconds(state)
        done = sum(what in ("done", "failed") for what in now.values())
        waiting = sum(what not in FINISHED for what in now.values())
        layouts = tuple(LayoutState(name, what, what in FINISHED) for name, what in now.items())
        left = seconds_left(gone, done, waiting)
        if left is None and request.order.expected_s > gone:
            left = request.order.expected_s - gone
        return Run(
            request.number,
            request.kind,
            request.study,
            request.order.words,
            state,
            layouts,
            gone,
            left if state == "running" else None,
            message,
        )

    def log(self) -> str:
        """What the run has printed."""
        return self._read("log")[-_LONGEST_LOG:]

    def _last_words(self) -> str:
        lines = [line.strip() for line in self.log().splitlines() if line.strip()]
        said = [line.removeprefix("gussetry: ") for line in lines if line.startswith("gussetry: ")]
        if said:
            return said[-1]
        failed = [line for line in lines if "could not be computed" in line]
        return failed[-1] if failed else "; ".join(lines[-1:]) or "ended without a word"

    def _seconds(self, state: State) -> float:
        said = self._read("began") or self._read("started")
        began = float(said.split()[0]) if said.strip() else time.time()
        ended = time.time()
        if state not in ("running", "stopping"):
            with suppress(OSError):
                ended = self.file("ended").stat().st_mtime
        return max(ended - began, 0.0)

    def _lives(self) -> bool:
        """Whether the run's process does."""
        if _UNHELD not in self._read("began"):
            held = is_held(self.file("alive"))
            if held is not None:
                return held
        return self._age("alive") < _SILENT_SECONDS

    def _age(self, kind: str) -> float:
        try:
            return time.time() - self.file(kind).stat().st_mtime
        except OSError:
            return float("inf")

    def _read(self, kind: str) -> str:
        try:
            return self.file(kind).read_text(encoding="utf-8", errors="replace")
        except OSError:
            return ""


def runs_in(folder: Path) -> list[Run]:
    """All runs there are, the latest first."""
    found = []
    for path in folder.glob("*.json"):
        with suppress(OSError, ValidationError, ValueError):
            files = RunFiles(folder, path.stem)
            over = files.file("ended").exists()
            found.append(_over(folder, path.stem) if over else files.run())
    return sorted(found, key=lambda run: run.number, reverse=True)


@lru_cache(maxsize=256)
def _over(folder: Path, number: str) -> Run:
    """A run that has ended stands for ever as it is."""
    return RunFiles(folder, number).run()
