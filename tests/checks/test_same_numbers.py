"""The same study gives the same numbers, however many threads and processes, kept or fresh."""

import json
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from tiny_study import TINY

WRAP = """
[[loads]]
kind = "wrap"
name = "Wrap"
toward = "front"
offset = "6 mm"
"""
LEEWAY = 1e-9
_THREADS = ("OMP_NUM_THREADS", "NUMBA_NUM_THREADS", "OPENBLAS_NUM_THREADS")
_UNTOLD = ("seconds", "slug", "field_file")


def _rows(
    folder: Path, threads: int, cores: int, layouts: slice = slice(None), *words: str
) -> list[dict[str, Any]]:
    """What a run tells of each layout; it has so many cores, and each library so many threads."""
    folder.mkdir(exist_ok=True)
    head, *rest = TINY.split("[[layouts]]")
    *others, last = rest
    plain = [*others, last.partition("[[loads]]")[0]][layouts]
    loads = "[[loads]]" + last.partition("[[loads]]")[2]
    text = head + "".join(f"[[layouts]]{one}" for one in plain) + loads + WRAP
    (folder / "tiny.toml").write_text(text, encoding="utf-8")

    def on_cores() -> None:
        os.sched_setaffinity(0, sorted(os.sched_getaffinity(0))[:cores])

    ran = subprocess.run(
        [sys.executable, "-m", "studies.command", "compare", "tiny.toml", "--no-pictures", *words],
        cwd=folder,
        env={
            **os.environ,
            "PYTHONPATH": os.pathsep.join(sys.path),
            **dict.fromkeys(_THREADS, str(threads)),
        },
        preexec_fn=on_cores,
        capture_output=True,
        text=True,
        check=False,
    )
    assert ran.returncode == 0, ran.stderr
    found: list[dict[str, Any]] = json.loads(
        (folder / "out" / "tiny" / "comparison.json").read_text()
    )["rows"]
    return found


def _numbers(value: Any, path: str = "") -> Iterator[tuple[str, Any]]:
    if isinstance(value, dict):
        for key, inner in value.items():
            if key not in _UNTOLD:
                yield from _numbers(inner, f"{path}.{key}")
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            yield from _numbers(inner, f"{path}[{index}]")
    else:
        yield path, value


def _same(rows: list[dict[str, Any]], wanted: list[dict[str, Any]]) -> None:
    got, right = dict(_numbers(rows)), dict(_numbers(wanted))
    assert got.keys() == right.keys()
    for path, value in right.items():
        if isinstance(value, float) and not path.endswith(".residual"):
            assert got[path] == pytest.approx(value, rel=LEEWAY, abs=LEEWAY), path
        elif not path.endswith((".residual", ".iterations")):
            assert got[path] == value, path


@pytest.mark.long
@pytest.mark.skipif(
    not hasattr(os, "sched_getaffinity") or len(os.sched_getaffinity(0)) < 2,
    reason="takes two cores that can be chosen",
)
def test_the_same_study_gives_the_same_numbers(tmp_path: Path) -> None:
    first = _rows(tmp_path / "two processes", threads=1, cores=2)
    assert len(first) == 2
    kept = _rows(tmp_path / "two processes", threads=1, cores=2)
    assert kept == first
    _same(_rows(tmp_path / "two processes", 1, 2, slice(None), "--fresh"), first)
    _same(_rows(tmp_path / "one process", threads=1, cores=1), first)
    # One layout alone has both cores to itself.
    _same(_rows(tmp_path / "two threads", 2, 2, slice(0, 1)), first[:1])
