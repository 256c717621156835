"""Commands killed at random moments, over and over in one folder, then run to their end.

    python tests/attacks/kills.py --times 20

What was finished must not be lost or computed again, nothing half written may be left or read, and
the last run must tell the same as one that nobody disturbed.
"""

import argparse
import json
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE.parent / "helpers"), str(HERE.parents[1])]

from tiny_study import PRESSED  # noqa: E402

from studies.records.rows import all_tests  # noqa: E402

_UNTOLD = ("seconds", "begun", "when")


@dataclass(frozen=True)
class Victim:
    """A command to kill, and what it tells in the end; ``kept`` are files finished on the way."""

    name: str
    words: tuple[str, ...]
    told: Callable[[Path], Any]
    kept: str = ""


def _same(value: Any) -> Any:
    """``value`` without what differs from run to run."""
    if isinstance(value, dict):
        return {key: _same(inner) for key, inner in value.items() if key not in _UNTOLD}
    return [_same(inner) for inner in value] if isinstance(value, list) else value


def _json(pattern: str) -> Callable[[Path], Any]:
    def read(folder: Path) -> Any:
        # What is kept ends in a seal, which is no part of its data.
        texts = [path.read_text() for path in sorted(folder.glob(pattern))]
        return [_same(json.JSONDecoder().raw_decode(text)[0]) for text in texts]

    return read


def _tests(folder: Path) -> Any:
    return [one.test.note for one in all_tests(folder / "press-tests.sqlite")]


COMPARE = Victim(
    "compare", ("compare", "tiny.toml"), _json("out/tiny/comparison.json"), "out/tiny/store/*"
)
VICTIMS = (
    COMPARE,
    Victim(
        "sweep",
        ("sweep", "tiny.toml", "--vary", "tube.wall = 5, 6 mm"),
        _json("out/tiny/sweep*/*.json"),
        "out/tiny/store/*",
    ),
    Victim("press", ("press", "tiny.toml"), _json("out/tiny/press/**/*.json")),
)


def started(words: tuple[str, ...], folder: Path) -> "subprocess.Popen[bytes]":
    """The command in a session of its own, so that all its processes can be killed at once."""
    paths = os.pathsep.join([str(HERE.parents[1]), str(HERE.parent / "helpers")])
    return subprocess.Popen(
        [sys.executable, "-m", "studies.command", *words],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": paths},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )


def _finished(words: tuple[str, ...], folder: Path) -> float:
    began = time.perf_counter()
    code = started(words, folder).wait(900)
    if code != 0:
        raise AssertionError(f"{words[0]} ended with {code}")
    return time.perf_counter() - began


def stamps(folder: Path, pattern: str) -> dict[Path, int]:
    """When each finished file was written."""
    every = folder.glob(pattern) if pattern else ()
    return {
        path: path.stat().st_mtime_ns for path in every if path.is_file() and path.suffix != ".part"
    }


def killed(victim: Victim, times: int, seed: int, folder: Path) -> None:
    """Kill ``victim`` while it runs, so many times; AssertionError if harmed."""
    whole, broken = folder / "whole", folder / "broken"
    for place in (whole, broken):
        place.mkdir()
        (place / "tiny.toml").write_text(PRESSED, encoding="utf-8")
    seconds = _finished(victim.words, whole)
    wanted = victim.told(whole)
    assert wanted, f"{victim.name} told nothing"
    chance = random.Random(f"{victim.name}/{seed}")
    caught = 0
    kept: dict[Path, int] = {}
    while caught < times:
        run = started(victim.words, broken)
        with suppress(subprocess.TimeoutExpired):
            run.wait(chance.uniform(0.0, seconds))
        if run.poll() is not None:
            # It was done before: the same as the undisturbed one. The next begins from nothing.
            assert run.returncode == 0, f"{victim.name} ended with {run.returncode}"
            assert victim.told(broken) == wanted, f"{victim.name} tells another story"
            shutil.rmtree(broken / "out")
            kept = {}
            continue
        caught += 1
        # Every other time the parent alone: its workers must notice and end by themselves.
        if chance.random() < 0.5:
            os.killpg(run.pid, signal.SIGKILL)
        else:
            run.kill()
        run.wait()
        now = stamps(broken, victim.kept)
        for path, stamp in kept.items():
            assert now.get(path) == stamp, f"{path.name} was lost or computed again"
        kept = now
        victim.told(broken)
    _finished(victim.words, broken)
    assert victim.told(broken) == wanted, f"{victim.name} tells another story after {times} kills"


def recorded(times: int, seed: int, folder: Path) -> None:
    """Kill the command that adds a test while it runs, so many times.

    Each test that it confirmed must be in the book, and whole; AssertionError if not.
    """
    (folder / "tiny.toml").write_text(PRESSED, encoding="utf-8")
    words = ("record", "add", "tiny.toml", "--by", "A. Welder", "--reading", "100 bar", "0.1 mm")
    seconds = _finished((*words, "--note", "first"), folder)
    chance = random.Random(f"record/{seed}")
    sure, caught, number = ["first"], 0, 0
    while caught < times:
        number += 1
        run = started((*words, "--note", f"note {number}"), folder)
        with suppress(subprocess.TimeoutExpired):
            run.wait(chance.uniform(0.5, 1.1) * seconds)
        run.kill()
        code = run.wait()
        caught += code != 0
        told = _tests(folder)
        assert [note for note in told if note in sure] == sure, "a confirmed test was lost"
        assert code != 0 or told[-1] == f"note {number}", "a confirmed test is not there"
        sure = told


def main() -> int:
    """Run from the command line; 1 if any command was harmed."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--times", type=int, default=20, help="how often each is killed")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", choices=[*(one.name for one in VICTIMS), "record"])
    options = parser.parse_args()
    harmed = 0
    for name in (*(one.name for one in VICTIMS), "record"):
        if options.only not in (None, name):
            continue
        with tempfile.TemporaryDirectory() as place:
            try:
                victim = next((one for one in VICTIMS if one.name == name), None)
                if victim:
                    killed(victim, options.times, options.seed, Path(place))
                else:
                    recorded(options.times, options.seed, Path(place))
                print(f"{name}: killed {options.times} times at work; unharmed")
            except AssertionError as error:
                harmed += 1
                print(f"{name}: {error}")
    return int(harmed > 0)


if __name__ == "__main__":
    raise SystemExit(main())
