"""Runs that are killed, find the disk full, or meet another run in the same folder."""

import json
import os
import random
import resource
import signal
import subprocess
import sys
import time
from concurrent.futures import Executor, Future
from pathlib import Path
from typing import Any

import pytest
from leaking import leaking
from pretend import CRUSH, case_result
from pretend import layout as pretended
from tiny_study import tiny_study

from studies import runner
from studies.results import LayoutResult
from studies.runner import Elsewhere, Job, finished
from studies.store import keep_result, kept_result
from studies.study import read_study
from studies.whole_files import clear_half_done, sealed, unsealed, whole_file

_RUN = [sys.executable, "-m", "studies.command", "compare"]


def _started(study: Path, out: Path, **options: Any) -> "subprocess.Popen[str]":
    return subprocess.Popen(
        [*_RUN, str(study), "--out", str(out), "--no-pictures"],
        stdout=subprocess.DEVNULL,
        text=True,
        **{"stderr": subprocess.DEVNULL, **options},
    )


def _table(out: Path) -> Any:
    rows = json.loads((out / "tiny" / "comparison.json").read_text())["rows"]
    return [{**row, "seconds": 0.0} for row in rows]


@pytest.mark.long
def test_a_run_killed_again_and_again_gives_the_same_table(tmp_path: Path) -> None:
    study = tiny_study(tmp_path)
    assert _started(study, tmp_path / "whole").wait(300) == 0
    out, store = tmp_path / "killed", tmp_path / "killed" / "tiny" / "store"
    chance = random.Random(7)
    kept: dict[Path, int] = {}
    for _ in range(5):
        run = _started(study, out)
        time.sleep(chance.uniform(1.0, 9.0))
        run.send_signal(signal.SIGKILL)
        run.wait()
        for path, stamp in kept.items():
            assert path.stat().st_mtime_ns == stamp, "a finished layout was computed again"
        kept = {path: path.stat().st_mtime_ns for path in store.glob("*.json")}
        for path in kept:
            assert kept_result(store, path.stem) is not None
    last = _started(study, out)
    assert last.wait(300) == 0
    assert _table(out) == _table(tmp_path / "whole")


@pytest.mark.long
def test_a_full_disk_is_one_line_and_a_rerun_with_room_finishes(tmp_path: Path) -> None:
    study = tiny_study(tmp_path)

    def no_room() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (100_000, 100_000))

    run = _started(study, tmp_path, preexec_fn=no_room, stderr=subprocess.PIPE)
    _, said = run.communicate(timeout=300)
    assert run.returncode == 2
    last = said.splitlines()[-1]
    assert last.startswith("gussetry: ")
    assert "make room" in last
    assert "Traceback" not in said
    assert _started(study, tmp_path).wait(300) == 0


@pytest.mark.long
def test_two_runs_in_one_folder(tmp_path: Path) -> None:
    study = tiny_study(tmp_path)
    runs = [_started(study, tmp_path / "both") for _ in range(2)]
    assert [run.wait(400) for run in runs] == [0, 0]
    assert _started(study, tmp_path / "one").wait(300) == 0
    assert _table(tmp_path / "both") == _table(tmp_path / "one")
    assert not list(tmp_path.rglob("*.part"))


def test_a_write_that_is_broken_off_leaves_the_old_file(tmp_path: Path) -> None:
    path = tmp_path / "table.csv"
    path.write_text("old")

    def broken_off() -> None:
        with whole_file(path) as half_done:
            half_done.write_text("ne")
            raise RuntimeError

    with pytest.raises(RuntimeError):
        broken_off()
    assert path.read_text() == "old"
    assert [one.name for one in tmp_path.iterdir()] == ["table.csv"]


def test_only_halves_that_nobody_writes_are_cleared(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    dead = subprocess.Popen([sys.executable, "-c", ""])
    dead.wait()
    old, lives, others = (
        tmp_path / f"a.vtu.{process}-0123abcd.part" for process in (dead.pid, os.getpid(), "x")
    )
    young = tmp_path / f"b.vtu.{dead.pid}-0123abcd.part"
    for path in (old, young, lives, others):
        path.write_text("half")
    for path in (old, lives, others):
        os.utime(path, (1e9, 1e9))
    clear_half_done(tmp_path)
    assert sorted(tmp_path.iterdir()) == sorted((young, lives, others))
    # A clock put forward makes all of them old, but not those of a process that lives.
    now = time.time()
    monkeypatch.setattr(time, "time", lambda: now + 1e6)
    clear_half_done(tmp_path)
    assert sorted(tmp_path.iterdir()) == sorted((lives, others))


def test_a_kept_result_that_was_changed_is_none(tmp_path: Path) -> None:
    result = pretended("Ribs", case_result(CRUSH, 5e5, field_file="x.vtu"))
    keep_result(tmp_path, "k", result)
    kept = (tmp_path / "k.json").read_bytes()
    assert unsealed(kept) is not None
    assert unsealed(sealed(b"")) == b""
    for wrong in (kept.replace(b"500000.0", b"600000.0"), kept[:-1], kept + b"\n", b"", b"\n"):
        assert wrong != kept
        assert unsealed(wrong) is None
        (tmp_path / "k.json").write_bytes(wrong)
        assert kept_result(tmp_path, "k", with_fields=False) is None


def test_a_result_without_fields_serves_only_those_who_need_none(tmp_path: Path) -> None:
    store, bare = tmp_path / "store", pretended("Ribs", case_result(CRUSH, 5e5))
    keep_result(store, "k", bare)
    assert kept_result(store, "k") is None
    assert kept_result(store, "k", with_fields=False) == bare
    whole = pretended("Ribs", case_result(CRUSH, 5e5, field_file="x.vtu"))
    (tmp_path / "fields").mkdir()
    (tmp_path / "fields" / "x.vtu").write_text("field")
    keep_result(store, "k", whole)
    keep_result(store, "k", bare)
    assert kept_result(store, "k") == whole
    (tmp_path / "fields" / "x.vtu").unlink()
    assert kept_result(store, "k") is None


class _Counting(Executor):
    """Hands out futures that finish one at a time, and counts how many are out at once."""

    def __init__(self) -> None:
        self.out: list[tuple[Future[Any], Any, Any]] = []
        self.most = 0

    def submit(self, fn: Any, /, *args: Any, **_: Any) -> "Future[Any]":
        future: Future[Any] = Future()
        self.out.append((future, fn, args))
        self.most = max(self.most, len(self.out))
        if len(self.out) == 3:
            self.finish_one()
        return future

    def finish_one(self) -> None:
        future, fn, args = self.out.pop(0)
        future.set_result(fn(*args))


def test_only_a_few_layouts_are_on_their_way(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    study = read_study(tiny_study(tmp_path))

    def at_once(job: Job) -> LayoutResult:
        assert job.fields is not None
        (job.fields / f"{job.name}.vtu").write_bytes(job.name.encode())
        return pretended(job.name, case_result(CRUSH, 5e5, field_file=f"{job.name}.vtu"))

    monkeypatch.setattr(runner, "computed", at_once)
    fields = tmp_path / "fields"
    fields.mkdir()
    jobs = [Job(str(n), study.layouts[0], study.loads, "quick", str(n), fields) for n in range(40)]
    executor = _Counting()
    found = []
    for job, row in finished(jobs[:39], lambda *_: None, Elsewhere(executor, 3)):
        found.append(row.name)
        assert row.name == job.name
        # Fields came back by value: what wrote them saw another folder.
        assert (fields / f"{job.name}.vtu").read_bytes() == job.name.encode()
        if len(found) >= 37 and executor.out:
            executor.finish_one()
    assert sorted(found, key=int) == [str(n) for n in range(39)]
    assert executor.most == 3


def test_workers_are_replaced_before_their_memory_creeps_up(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    study = read_study(tiny_study(tmp_path))
    monkeypatch.setattr(runner, "computed", leaking)
    monkeypatch.setattr(runner, "_JOBS_EACH", 2)
    monkeypatch.setattr(os, "sched_getaffinity", lambda _: {0}, raising=False)
    jobs = [Job(str(n), study.layouts[0], study.loads, "quick", str(n)) for n in range(4)]
    found: list[Any] = [row for _, row in finished(jobs, lambda *_: None)]
    processes, done, most_kb = zip(*found, strict=True)
    assert done == (1, 2, 1, 2)
    assert len(set(processes)) == 2
    # What the first two leaked is not with the second process.
    assert most_kb[3] < most_kb[1] + 30_000
    assert most_kb[1] > most_kb[0] + 30_000
