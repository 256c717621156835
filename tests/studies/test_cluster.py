"""A sweep on a local Dask cluster that loses a worker; and clusters that cannot be used."""

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest
from tiny_study import tiny_study

from fea.errors import InputError
from studies import cluster
from studies.cluster import on_cluster
from studies.command import main
from studies.sweeps.designs import planned
from studies.sweeps.run import swept
from studies.sweeps.table import sweep_csv


@pytest.mark.long
@pytest.mark.filterwarnings("default")
def test_a_sweep_outlives_one_of_its_workers(tmp_path: Path) -> None:
    distributed = pytest.importorskip("distributed")
    plan = planned(tiny_study(tmp_path), ["tube.wall = 5, 6, 7 mm"], None, 100)
    killed: list[int] = []
    with (
        distributed.LocalCluster(
            n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
        ) as machines,
        on_cluster(machines.scheduler_address) as found,
        distributed.Client(machines.scheduler_address, set_as_default=False) as watching,
    ):
        pids = watching.run(os.getpid)

        def ended(_: int, how: str) -> None:
            if how == "done" and not killed:
                killed.append(next(iter(pids.values())))
                os.kill(killed[0], signal.SIGKILL)

        there = swept(plan, tmp_path / "there", lambda *_: None, ended, elsewhere=found)
    here = swept(plan, tmp_path / "here", lambda *_: None, lambda *_: None)
    assert killed
    assert not there.left_out
    assert len(list((tmp_path / "there" / "store").glob("*.json"))) == 6
    assert sweep_csv(there) == sweep_csv(here)


MORE = """
[[layouts]]
name = "Diagonal ribs"
pattern = "corner-diagonal"
rib_thickness = "6 mm"
[[layouts]]
name = "Thicker diagonal ribs"
pattern = "corner-diagonal"
rib_thickness = "8 mm"
"""


@pytest.mark.long
@pytest.mark.filterwarnings("default")
def test_the_command_outlives_one_of_its_workers(tmp_path: Path) -> None:
    distributed = pytest.importorskip("distributed")
    study = tiny_study(tmp_path, MORE)
    command = [sys.executable, "-m", "studies.command", "compare", str(study), "--no-pictures"]
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
    ) as machines:
        address = machines.scheduler_address
        with distributed.Client(address, set_as_default=False) as watching:
            pids = list(watching.run(os.getpid).values())
        there = tmp_path / "there"
        run = subprocess.Popen([*command, "--out", str(there), "--dask", address])
        while not list((there / "tiny" / "store").glob("*.json")):
            assert run.poll() is None
            time.sleep(0.05)
        os.kill(pids[0], signal.SIGKILL)
        assert run.poll() is None, "it was over before the worker died"
        assert run.wait(300) == 0
    here = tmp_path / "here"
    subprocess.run([*command, "--out", str(here)], check=True, timeout=300)
    rows = _rows(there)
    assert len(rows) == 4
    assert rows == _rows(here)


def _rows(out: Path) -> Any:
    rows = json.loads((out / "tiny" / "comparison.json").read_text())["rows"]
    return [{**row, "seconds": 0.0} for row in rows]


def test_nobody_there_is_one_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    pytest.importorskip("distributed")
    monkeypatch.setattr(cluster, "_SECONDS_TO_ANSWER", 1)
    study = str(tiny_study(tmp_path))
    assert main(["compare", study, "--out", str(tmp_path), "--dask", "tcp://127.0.0.1:9"]) == 2
    err = capsys.readouterr().err
    assert err.count("\n") == 1
    assert "--dask 'tcp://127.0.0.1:9': no scheduler" in err


def test_without_the_extra_is_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(InputError, match=r"pip install 'gussetry\[dask\]'"), on_cluster("tcp://x"):
        pass


class _Client:
    """A cluster whose workers answer with these versions."""

    def __init__(self, answers: dict[str, Any]) -> None:
        self.answers = answers

    def run(self, *_: Any, **__: Any) -> dict[str, Any]:
        return self.answers


@pytest.mark.parametrize(
    ("answers", "said"),
    [
        ({}, "no worker has joined"),
        ({"tcp://a": "another numpy"}, "the worker tcp://a has other versions"),
        ({"tcp://a": ModuleNotFoundError("studies")}, "the worker tcp://a has other versions"),
    ],
)
def test_workers_that_would_give_other_numbers_are_refused(
    answers: dict[str, Any], said: str
) -> None:
    with pytest.raises(InputError, match=said):
        cluster._checked_workers(_Client(answers), "tcp://x")
