"""Random studies with one wrong thing each: every one refused by us, in one line, with exit code 2.

python tests/attacks/wrong_blocks.py --to 2000
"""

import argparse
import contextlib
import io
import re
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE.parent / "helpers"), str(HERE.parents[1])]

from broken_studies import broken_study  # noqa: E402
from random_studies import random_study  # noqa: E402

from fea.errors import InputError  # noqa: E402
from studies.command import main as gussetry  # noqa: E402
from studies.study import read_study  # noqa: E402

_LONGEST_LINE = 500


def is_whole(number: int, folder: Path) -> bool:
    """Whether study ``number`` can be built as long as nothing in it is made wrong."""
    path = folder / f"block-{number}.toml"
    path.write_text(random_study(number), encoding="utf-8")
    try:
        read_study(path)
    except InputError:
        return False
    finally:
        path.unlink()
    return True


def refused(number: int, folder: Path) -> tuple[str, str]:
    """What was made wrong, and what is amiss with the refusal: nothing, as a rule."""
    broken = broken_study(number)
    path = folder / f"block-{number}.toml"
    path.write_bytes(broken.text.encode("utf-8", "surrogatepass"))
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = gussetry(["papers", str(path), "--out", str(folder / "out")])
    path.unlink()
    if code != 2:
        return broken.what, f"exit code {code}"
    return broken.what, amiss(out.getvalue(), err.getvalue(), path.name, broken.blamed)


def amiss(out: str, err: str, name: str, blamed: tuple[str, ...]) -> str:
    """What a refusal lacks: one line that names file, key and remedy."""
    begins = f"gussetry: {name}: "
    if out or err.count("\n") != 1 or not err.endswith("\n"):
        return f"not one line: {out!r} {err!r:.300}"
    line = err[:-1]
    if not line.startswith(begins) or not line.isprintable() or len(line) > _LONGEST_LINE:
        return f"not plain: {line!r:.300}"
    problem, sign, remedy = line.removeprefix(begins).partition("; ")
    if not sign or len(remedy) < 4:
        return f"no remedy: {line}"
    key = re.split(r"[.\[:\s]", problem, maxsplit=1)[0]
    return "" if key in blamed else f"blames {key}: {line}"


def main() -> int:
    """Run from the command line; 1 if any was not refused as it should be."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--from", dest="first", type=int, default=0)
    parser.add_argument("--to", dest="last", type=int, default=200)
    parser.add_argument("--of", type=int, default=0, help="only so many, of those that were whole")
    options = parser.parse_args()
    began = time.perf_counter()
    counts: Counter[str] = Counter()
    bad = []
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        for number in range(options.first, options.last):
            if options.of and sum(counts.values()) == options.of:
                break
            if not is_whole(number, folder):
                continue
            what, wrong = refused(number, folder)
            counts[what] += 1
            if wrong:
                bad.append(f"{number} {what}: {wrong}")
        left = [path.name for path in folder.iterdir()]
    bad += [f"left {left} behind"] if left else []
    print(f"{sum(counts.values())} refusals of {len(counts)} kinds, {len(bad)} of them amiss")
    print(f"{time.perf_counter() - began:.0f} s")
    print("\n".join(bad))
    return int(bool(bad))


if __name__ == "__main__":
    raise SystemExit(main())
