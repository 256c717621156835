"""What broken-off writes leave behind, and how many layouts are on their way at once."""

import os
from concurrent.futures import Executor, Future
from pathlib import Path
from typing import Any

import pytest
from pretend import CRUSH, case_result
from pretend import layout as pretended
from tiny_study import tiny_study

from studies import runner
from studies.results import LayoutResult
from studies.runner import Elsewhere, Job, finished
from studies.store import clear_half_done, keep_result, kept_result, whole_file
from studies.study import read_study


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


def test_only_old_halves_are_cleared(tmp_path: Path) -> None:
    old, young = tmp_path / "a.1.part", tmp_path / "b.2.part"
    for path in (old, young):
        path.write_text("half")
    os.utime(old, (1e9, 1e9))
    clear_half_done(tmp_path)
    assert list(tmp_path.iterdir()) == [young]


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
