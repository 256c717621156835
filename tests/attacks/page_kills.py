"""A page's server and the runs it starts, killed at random moments in one folder.

    python tests/attacks/page_kills.py --times 20

A run goes on when its server is killed; one that is killed itself is told as failed, never as done.
What was finished must not be lost or computed again, and the last run must tell the same as one
that nobody disturbed.
"""

import argparse
import json
import os
import random
import signal
import socket
import sys
import tempfile
import time
import urllib.request
from contextlib import suppress
from pathlib import Path
from typing import Any

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE.parent / "helpers"), str(HERE.parents[1])]

from kills import COMPARE, stamps, started  # noqa: E402
from tiny_study import PRESSED  # noqa: E402

_PATIENCE_SECONDS = 300.0
_LOOK_SECONDS = 0.2


class Page:
    """A server of a folder, in a process of its own, asked as the page asks it."""

    def __init__(self, folder: Path) -> None:
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            port = free.getsockname()[1]
        self.address = f"http://127.0.0.1:{port}"
        self.server = started(("page", ".", "--no-browser", "--port", str(port)), folder)
        self.token = ""
        self.token = _until(self._token)

    def _token(self) -> str | None:
        assert self.server.poll() is None, "the server ended by itself"
        with suppress(OSError):
            return str(self.asked("/api/start")["token"])
        return None

    def asked(self, path: str, **values: Any) -> Any:
        """What is answered, as data."""
        body = json.dumps(values).encode() if values else None
        headers = {"content-type": "application/json", "x-gussetry-token": self.token}
        request = urllib.request.Request(self.address + path, body, headers)
        with urllib.request.urlopen(request, timeout=60.0) as answer:
            return json.loads(answer.read())

    def runs(self) -> list[dict[str, Any]]:
        """All runs, the latest first."""
        found: list[dict[str, Any]] = self.asked("/api/runs")["runs"]
        return found

    def compare(self) -> None:
        """Ask for a comparison, unless one is waiting already."""
        if not any(run["state"] == "waiting" for run in self.runs()):
            self.asked("/api/runs", name="tiny.toml", kind="compare")

    def kill(self) -> None:
        """End the server without a word."""
        self.server.kill()
        self.server.wait()


def _until(found: Any) -> Any:
    until = time.monotonic() + _PATIENCE_SECONDS
    while time.monotonic() < until:
        if value := found():
            return value
        time.sleep(_LOOK_SECONDS)
    raise AssertionError("waited in vain")


def _runs_of(folder: Path) -> list[int]:
    """Processes whose command is a run of just this folder."""
    found = []
    for path in Path("/proc").glob("[0-9]*/cmdline"):
        with suppress(OSError):
            words = path.read_bytes().split(b"\0")
            if b"studies.page.child" in words and str(folder / "out" / ".runs").encode() in words:
                found.append(int(path.parent.name))
    return found


def _kill_runs(folder: Path) -> int:
    caught = 0
    for process in _runs_of(folder):
        with suppress(ProcessLookupError):
            os.killpg(process, signal.SIGKILL)
            caught += 1
    return caught


def page_killed(times: int, seed: int, folder: Path) -> int:
    """Kill server, run or both over and over; how often a run was. AssertionError if harmed."""
    folder = folder.resolve()
    whole, broken = folder / "whole", folder / "broken"
    for place in (whole, broken):
        place.mkdir()
        (place / "tiny.toml").write_text(PRESSED, encoding="utf-8")
    began = time.perf_counter()
    assert started(COMPARE.words, whole).wait(900) == 0
    seconds = time.perf_counter() - began
    wanted = COMPARE.told(whole)
    chance = random.Random(f"page/{seed}")
    caught = 0
    kept: dict[Path, int] = {}
    try:
        for _ in range(times):
            page = Page(broken)
            try:
                page.compare()
                time.sleep(chance.uniform(0.0, seconds))
                which = chance.choice(("server", "run", "both"))
                if which != "server":
                    caught += _kill_runs(broken)
                if which == "run":
                    # The server lives on and must still answer.
                    page.runs()
            finally:
                page.kill()
            now = stamps(broken, COMPARE.kept)
            for path, stamp in kept.items():
                assert now.get(path) == stamp, f"{path.name} was lost or computed again"
            kept = now
            COMPARE.told(broken)
        _finished(broken)
    finally:
        _kill_runs(broken)
    assert COMPARE.told(broken) == wanted, f"the page tells another story after {times} kills"
    return caught


def _finished(folder: Path) -> None:
    """One more run to its end, with a server left alone; what was killed is told as failed."""
    page = Page(folder)
    try:
        page.compare()
        number = page.runs()[0]["number"]

        def over() -> bool:
            return all(run["state"] in ("done", "failed") for run in page.runs())

        _until(over)
        states = {run["number"]: run["state"] for run in page.runs()}
        assert states[number] == "done", page.asked(f"/api/runs/{number}/log")
        ended = sorted((folder / "out" / ".runs").glob("*.ended"))
        well = {int(path.stem) for path in ended if path.read_text().strip() == "0"}
        told = {number for number, state in states.items() if state == "done"}
        assert told == well & set(states), f"told as done: {told}; ended well: {well}"
    finally:
        page.kill()


def main() -> int:
    """Run from the command line; 1 if anything was harmed."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--times", type=int, default=20, help="how often something is killed")
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as place:
        try:
            caught = page_killed(options.times, options.seed, Path(place))
        except AssertionError as error:
            print(f"page: {error}")
            return 1
    print(f"page: killed {options.times} times, a run {caught} times; unharmed")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
