"""Many random blocks, meshed and solved: how many pass every check, and which do not.

    python tests/attacks/many_blocks.py --from 0 --to 6000 --kept out/attacks

Where the process dies or hangs, that study is written down as a failure and the next one begun.
Findings are kept line by line, so that a run can be broken off and taken up again.
"""

import argparse
import json
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path
from typing import Any

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE.parent / "helpers"), str(HERE.parents[1])]

from random_studies import random_study  # noqa: E402

SIZES = (0.9, 1.4)
"""Elements as shares of the local thickness: coarse, since the block is tried, not its load."""

_SECONDS_EACH = 180
"""Of the processor's time: beside other work a block takes longer without being at fault."""

_HANGS_AFTER_S = 1800


def attempt(number: int, folder: Path) -> dict[str, Any]:
    """What becomes of study ``number``: refused, passed or failed, and in which words."""
    from fea.errors import GussetryError, InputError
    from fea.model import modelled
    from geometry.amounts import mass_kg, steels_of
    from geometry.mesher import MeshSizes, meshed
    from studies.states import states_on
    from studies.study import read_study

    path = folder / f"block-{number}.toml"
    path.write_text(random_study(number), encoding="utf-8")
    began = time.perf_counter()

    def found(verdict: str, words: str = "", unknowns: int = 0) -> dict[str, Any]:
        seconds = round(time.perf_counter() - began, 2)
        return {
            "number": number,
            "verdict": verdict,
            "words": words,
            "unknowns": unknowns,
            "seconds": seconds,
        }

    try:
        study = read_study(path)
    except InputError as error:
        words = str(error)
        plain = words.startswith(path.name) and ";" in words and words.isprintable()
        return found("refused" if plain else "refused badly", words)
    finally:
        path.unlink()
    block = study.layouts[0].block
    try:
        mesh = meshed(block, MeshSizes(*SIZES))
        model = modelled(mesh, steels_of(block, mesh))
        states = states_on(model, block, study.loads, lambda _what: None)
    except GussetryError as error:
        return found("failed", f"{type(error).__name__}: {error}")
    for state in states:
        if not 0.0 < state.found.starts.utilisation < 1e6 or not state.stiffness_n_per_mm > 0.0:
            return found("failed", f"{state.case.name}: {state.found.starts.utilisation:g}")
    if not mass_kg(mesh, model.steels) > 0.0:
        return found("failed", "no mass")
    return found("passed", unknowns=model.space.unknowns)


def _failed(number: int, words: str) -> dict[str, Any]:
    return {"number": number, "verdict": "failed", "words": words}


def run_here(numbers: range, log: Path) -> None:
    """Try the studies one after another, each written down before the next begins."""
    signal.signal(signal.SIGALRM, signal.SIG_DFL)
    signal.signal(signal.SIGPROF, signal.SIG_DFL)
    with tempfile.TemporaryDirectory() as folder, log.open("a", encoding="utf-8") as out:
        for number in numbers:
            signal.setitimer(signal.ITIMER_PROF, _SECONDS_EACH)
            signal.alarm(_HANGS_AFTER_S)
            try:
                row = attempt(number, Path(folder))
            except Exception as error:  # noqa: BLE001  what no one foresaw is what is looked for
                row = _failed(number, f"{type(error).__name__}: {error}")
            print(json.dumps(row), file=out, flush=True)


def rows_in(log: Path) -> list[dict[str, Any]]:
    """What has been written down so far."""
    return [json.loads(line) for line in log.read_text().splitlines()] if log.exists() else []


def run(first: int, last: int, log: Path) -> None:
    """Try all studies from ``first`` to before ``last``; takes up where the log ends."""
    log.parent.mkdir(parents=True, exist_ok=True)
    while (begin := max([first - 1, *(row["number"] for row in rows_in(log))]) + 1) < last:
        child = subprocess.run(
            [sys.executable, __file__, "--child", str(begin), str(last), str(log)]
        )
        done = max([begin - 1, *(row["number"] for row in rows_in(log))])
        if child.returncode and done + 1 < last:
            row = _failed(done + 1, f"process ended {child.returncode}")
            with log.open("a", encoding="utf-8") as out:
                print(json.dumps(row), file=out)


def told(rows: list[dict[str, Any]]) -> str:
    """Counts by verdict, and every failure."""
    counts = Counter(row["verdict"] for row in rows)
    lines = [", ".join(f"{count} {verdict}" for verdict, count in sorted(counts.items()))]
    bad = [row for row in rows if row["verdict"] not in ("passed", "refused")]
    return "\n".join([*lines, *(f"{row['number']}: {row['words']}" for row in bad)])


def main() -> int:
    """Run from the command line; 1 if any block failed."""
    if sys.argv[1:2] == ["--child"]:
        first, last, log = sys.argv[2:]
        run_here(range(int(first), int(last)), Path(log))
        return 0
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--from", dest="first", type=int, default=0)
    parser.add_argument("--to", dest="last", type=int, default=100)
    parser.add_argument("--kept", type=Path, default=Path("out") / "attacks" / "blocks")
    options = parser.parse_args()
    log = options.kept / f"{options.first}-{options.last}.jsonl"
    run(options.first, options.last, log)
    rows = rows_in(log)
    print(told(rows))
    return int(any(row["verdict"] not in ("passed", "refused") for row in rows))


if __name__ == "__main__":
    raise SystemExit(main())
