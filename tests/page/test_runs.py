"""Runs outlive page and server, one at a time, and tell how they stand."""

import os
import signal
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, get_args

import pytest
from page_client import PageClient, page_client
from tiny_study import TINY

from studies.command import COMMANDS
from studies.page import runs
from studies.page.orders import Kind, Order, order
from studies.page.problems import checked
from studies.page.runs import Request, RunFiles
from studies.progress import Step, progress_line, read_progress, seconds_left
from studies.reader import data_of
from studies.usage import chosen

_PATIENCE_SECONDS = 240.0


def _tiny() -> dict[str, Any]:
    """One tiny layout under one load."""
    data = data_of(TINY, "tiny")
    return {**data, "layouts": data["layouts"][:1]}


def _until(page: PageClient, number: int, fits: Callable[[dict[str, Any]], bool]) -> dict[str, Any]:
    until = time.monotonic() + _PATIENCE_SECONDS
    run: dict[str, Any] = {}
    while time.monotonic() < until:
        run = next(one for one in page.get("/api/runs")["runs"] if one["number"] == number)
        if fits(run):
            return run
        time.sleep(0.1)
    raise AssertionError(f"never came: {run}, {page.get(f'/api/runs/{number}/log')}")


def test_runs_wait_for_each_other_and_outlive_the_server(tmp_path: Path) -> None:
    with page_client(tmp_path) as page:
        page.save("long.toml", {**_tiny(), "mesh": "fine", "accuracy": "1 %"})
        page.save("tiny.toml", _tiny())
        assert (
            "not saved"
            in page.post("/api/runs", 422, name="bench_block.toml", kind="compare")["problem"]
        )
        page.post("/api/runs", name="long.toml", kind="compare")
        page.post("/api/runs", name="tiny.toml", kind="compare")
        again = page.post("/api/runs", 422, name="tiny.toml", kind="compare")
        assert "in the queue already" in again["problem"]
        run = _until(page, 1, lambda run: any(one["what"] != "waiting" for one in run["layouts"]))
        assert run["state"] == "running"
        assert [one["name"] for one in run["layouts"]] == ["No gussets"]
        assert page.get("/api/runs")["runs"][0]["state"] == "waiting"
    with page_client(tmp_path) as page:
        assert page.get("/api/runs")["runs"][1]["state"] == "running"
        page.post("/api/runs/1/stop")
        stopped = _until(page, 1, lambda run: run["state"] not in ("running", "stopping"))
        assert stopped["state"] == "stopped"
        _until(page, 2, lambda run: run["state"] == "running")
        page.post("/api/runs/2/stop")
        _until(page, 2, lambda run: run["state"] == "stopped")


@pytest.mark.long
def test_what_a_run_has_computed_is_found_by_what_the_study_says(tmp_path: Path) -> None:
    with page_client(tmp_path) as page:
        page.save("tiny.toml", _tiny())
        page.post("/api/runs", name="tiny.toml", kind="compare")
        done = _until(page, 1, lambda run: run["state"] in ("done", "failed"))
        assert done["state"] == "done", page.get("/api/runs/1/log")
        assert all(one["finished"] for one in done["layouts"])
        said = page.post("/api/answer", name="tiny.toml", data=_tiny())["answer"]
        assert (said["missing"], said["made"], said["setting"]) == ([], "", "quick")
        (load,) = said["loads"]
        assert [line["layout"] for line in load["lines"]] == ["No gussets"]
        assert max(line["band"][1] for line in load["lines"]) == 1.0
        views = page.post("/api/views", name="tiny.toml", data=_tiny())
        assert [one["name"] for one in views["layouts"]] == ["No gussets"]
        other = {**_tiny(), "demand": 6}
        assert page.post("/api/answer", name="tiny.toml", data=other)["answer"] is None
        files = {one["name"] for one in page.get("/api/files", name="tiny.toml")["files"]}
        assert {"report.html", "comparison.csv"} <= files
        found = page.client.get("/results/tiny/comparison.csv")
        assert found.text.count("No gussets") >= 1


def test_what_a_run_cannot_do_is_told_in_its_own_words(tmp_path: Path) -> None:
    with page_client(tmp_path) as page:
        page.save("tiny.toml", _tiny())
        page.post("/api/runs", name="tiny.toml", kind="press")
        run = _until(page, 1, lambda run: run["state"] in ("done", "failed"))
        assert run["state"] == "failed"
        assert run["message"].startswith("tiny.toml: press: is missing")
        assert "there is no run 7" in page.post("/api/runs/7/stop", 422)["problem"]
        assert page.post("/api/runs", 422, name="tiny.toml", kind="format c:")
        unknown = page.post("/api/runs", 422, name="tiny.toml", kind="papers", layout="--out=/")
        assert "no layout is called" in unknown["problem"]


@pytest.mark.skipif(sys.platform != "linux", reason="finds the run's process as Linux tells it")
def test_a_crash_of_a_run_is_told_and_the_next_one_begins(tmp_path: Path) -> None:
    with page_client(tmp_path) as page:
        page.save("tiny.toml", _tiny())
        page.post("/api/runs", name="tiny.toml", kind="compare")
        page.post("/api/runs", name="tiny.toml", kind="press")
        _until(page, 1, lambda _: (tmp_path / "out" / ".runs" / "00001.began").exists())
        mine = "".join(one.read_text() for one in Path("/proc/self/task").glob("*/children"))
        lines = {
            one: Path(f"/proc/{one}/cmdline").read_bytes().split(b"\0") for one in mine.split()
        }
        (run,) = (
            one for one, line in lines.items() if str(tmp_path / "out/.runs").encode() in line
        )
        os.kill(int(run), signal.SIGSEGV)
        crashed = _until(page, 1, lambda run: run["state"] != "running")
        assert crashed["state"] == "failed"
        assert crashed["message"].startswith("its process ended without a word")
        _until(page, 2, lambda run: run["state"] in ("running", "failed"))
        page.post("/api/runs/2/stop")


@pytest.fixture
def files(tmp_path: Path) -> Iterator[RunFiles]:
    files = RunFiles(tmp_path, "00001")
    files.ask(
        Request(
            1, "compare", "a.toml", time.time(), Order(["compare"], "Compare", ("A", "B"), 900.0)
        )
    )
    yield files
    files.let_go()


def test_states_are_read_from_files(files: RunFiles) -> None:
    assert files.state() == ("waiting", "")
    files.say_started()
    assert files.state()[0] == "running"
    files.say_begun()
    assert files.state()[0] == "running"
    files.ask_to_stop()
    assert files.state()[0] == "stopping"
    files.say_ended(130)
    assert files.state()[0] == "stopped"


def test_a_run_taken_out_of_the_queue_is_stopped(files: RunFiles) -> None:
    files.ask_to_stop()
    assert files.state() == ("stopped", "taken out of the queue")


def test_a_run_lives_as_long_as_its_process_whatever_the_clock(
    files: RunFiles, monkeypatch: pytest.MonkeyPatch
) -> None:
    files.say_begun()
    now = time.time()
    for jump_s in (0.0, 1e6, -1e6):
        monkeypatch.setattr(time, "time", lambda jump_s=jump_s: now + jump_s)
        assert files.state()[0] == "running"
    files.let_go()
    for jump_s in (0.0, 1e6, -1e6):
        monkeypatch.setattr(time, "time", lambda jump_s=jump_s: now + jump_s)
        assert files.state()[0] == "failed"


def test_a_run_whose_process_died_is_told(files: RunFiles, monkeypatch: pytest.MonkeyPatch) -> None:
    # Where files cannot be held, a run is told by its touch.
    monkeypatch.setattr(runs, "hold", lambda _: None)
    files.say_begun()
    assert files.state()[0] == "running"
    os.utime(files.file("alive"), (time.time() - 60, time.time() - 60))
    state, message = files.state()
    assert state == "failed"
    assert "finished layouts are kept" in message


def test_progress_is_read_as_it_is_told(files: RunFiles) -> None:
    steps = (Step(0.5, "A", "meshing"), Step(12.3, "A", "done"), Step(99.0, "B: b", "solving"))
    text = "\n".join(map(progress_line, steps))
    names = ("A", "B", "B: b")
    assert read_progress(f"Warning: x\n{text}\nreport: y", names) == steps
    assert seconds_left(30.0, 2, 4) == 60.0
    assert seconds_left(30.0, 0, 4) is None
    files.say_begun()
    assert files.run().left_s == pytest.approx(900.0, abs=5.0)
    files.file("log").write_text("\n".join(map(progress_line, steps[:2])))
    run = files.run()
    assert run.left_s == pytest.approx(run.gone_s, abs=1.0)
    assert [(one.name, one.what, one.finished) for one in run.layouts] == [
        ("A", "done", True),
        ("B", "waiting", False),
    ]


@pytest.mark.parametrize("kind", get_args(Kind))
def test_what_is_asked_for_is_a_command_that_there_is(kind: Kind) -> None:
    study = checked(_tiny(), "tiny.toml").study
    assert study is not None
    wanted = order(kind, study, Path("/somewhere/tiny.toml"), "No gussets", curve=True)
    command, options = chosen(COMMANDS, wanted.arguments)
    assert command.name == kind
    assert (options.study, options.out) == (Path("tiny.toml"), Path("out"))
    if kind in ("press", "papers", "figures"):
        # The press takes several.
        assert options.layout == (["No gussets"] if kind == "press" else "No gussets")
