"""Study files and books of press tests, mutated: each is taken or refused in one line of our own.

    python tests/attacks/inputs.py --count 10000 --seed 1

Watched are tracebacks, hangs, memory, and files that appear outside the folder worked in. A number
and a seed give the same mutation again.
"""

import argparse
import random
import resource
import signal
import sqlite3
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from types import FrameType

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE.parent / "helpers"), str(HERE.parents[1])]

from pretend_press import prediction, press_test  # noqa: E402

from fea.errors import InputError  # noqa: E402
from studies.records.book import opened  # noqa: E402
from studies.records.rows import added, all_tests  # noqa: E402
from studies.study import read_study  # noqa: E402
from studies.sweeps.designs import planned  # noqa: E402

MOST_SECONDS = 10.0
MOST_BYTES = 3_000_000_000
_SPLICES = (
    "-1 mm", "1e300 mm", "0", "nan", "inf", '"', "[[", "]]", "=", "\n[tube]\n", "\0", "\ufeff",
    "../../x", "/etc/passwd", "CON", "x" * 70_000, "9" * 5_000, "1/0 in", "1-1/3 ft", "true",
    "\u202e", "\U0001f529", "'", "{a={a={a={}}}}", "[" * 3_000, "1 mm" * 50, "1979-05-27", "#",
)  # fmt: skip
"""What is put into texts: signs of the language, limits of numbers, paths, odd letters."""


class _Hung(BaseException):
    """Taking longer than anyone would wait."""


@dataclass(frozen=True)
class Found:
    """How many mutations ended in which way, and those that ended badly."""

    counts: Counter[str]
    bad: tuple[str, ...]


def bounded() -> None:
    """Let this process have so much memory and no more: past it, a mutation ends badly."""
    resource.setrlimit(resource.RLIMIT_AS, (MOST_BYTES, MOST_BYTES))


def mutated_text(text: str, chance: random.Random) -> str:
    """``text`` after one to three mutations."""
    for _ in range(chance.randint(1, 3)):
        lines = text.split("\n")
        one, other = chance.randrange(len(lines)), chance.randrange(len(lines))
        at = chance.randrange(len(text) + 1)
        kind = chance.randrange(7)
        if kind == 0:
            del lines[one]
            text = "\n".join(lines)
        elif kind == 1:
            lines.insert(one, lines[other])
            text = "\n".join(lines)
        elif kind == 2:
            lines[one], lines[other] = lines[other], lines[one]
            text = "\n".join(lines)
        elif kind == 3:
            text = text[:at] + chance.choice(_SPLICES) + text[at + chance.randint(0, 6) :]
        elif kind == 4:
            key, sign, _ = lines[one].partition("=")
            lines[one] = f"{key}{sign} {chance.choice(_SPLICES)}"
            text = "\n".join(lines)
        elif kind == 5:
            key, sign, _ = lines[one].partition("=")
            lines[one] = key + sign + lines[other].partition("=")[2]
            text = "\n".join(lines)
        else:
            text = text[:at] + chr(chance.choice((0, 9, 34, 45, 48, 57, 0x7F, 0x2603))) + text[at:]
    return text


def mutated_bytes(data: bytes, chance: random.Random) -> bytes:
    """``data`` with bytes changed, cut off, doubled or zeroed."""
    changed = bytearray(data)
    for _ in range(chance.randint(1, 6)):
        if not changed:
            break
        at, span = chance.randrange(len(changed)), chance.randint(1, 400)
        kind = chance.randrange(4)
        if kind == 0:
            changed[at] = chance.randrange(256)
        elif kind == 1:
            del changed[at:]
        elif kind == 2:
            changed[at : at + span] = bytes(len(changed[at : at + span]))
        else:
            changed[at:at] = changed[at : at + span]
    return bytes(changed)


def try_study(path: Path) -> str:
    """Read a study, and what a sweep of it would be."""
    try:
        study = read_study(path)
        planned(path, ("tube.wall = 5, 6, 8 mm",), None, 200)
    except InputError as error:
        words = str(error)
        if not words.isprintable() or len(words) > 1_000 or path.name not in words:
            raise AssertionError(f"not one plain line: {words[:300]!r}") from error
        return "refused"
    assert study.layouts
    return "taken"


def try_book(path: Path) -> str:
    """Read all tests of a book; a refused one must be left as it is."""
    before = path.read_bytes()
    try:
        with opened(path):
            pass
        all_tests(path)
    except InputError as error:
        words = str(error)
        if not words.isprintable() or len(words) > 1_000 or path.name not in words:
            raise AssertionError(f"not one plain line: {words[:300]!r}") from error
        assert path.read_bytes() == before, "a refused book was changed"
        return "refused"
    return "taken"


def whole_book(path: Path) -> bytes:
    """A book that holds tests, as the record command writes it."""
    for share in (0.1, 0.5, 1.0):
        added(path, press_test((0.1, share), predicted=prediction()))
    return path.read_bytes()


def watched(act: Callable[[], str], bad: list[str], named: str) -> str:
    """What ``act`` says; "bad", and a line more in ``bad``, when it fails or takes too long."""

    def ring(_number: int, _frame: FrameType | None) -> None:
        raise _Hung

    signal.signal(signal.SIGALRM, ring)
    signal.setitimer(signal.ITIMER_REAL, MOST_SECONDS)
    try:
        return act()
    except _Hung:
        bad.append(f"{named}: took longer than {MOST_SECONDS:g} s")
    except Exception as error:  # noqa: BLE001  what no one foresaw is what is looked for
        bad.append(f"{named}: {type(error).__name__}: {str(error)[:300]}")
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0.0)
    return "bad"


def attacked(count: int, seed: int, folder: Path, book: bytes | None) -> Found:
    """Try ``count`` mutations: of study files, and every fourth of a book where one is given."""
    demo = files("studies.demo")
    texts = [one.read_text(encoding="utf-8") for one in demo.iterdir() if one.name.endswith("toml")]
    counts: Counter[str] = Counter()
    bad: list[str] = []
    study, records = folder / "mutated.toml", folder / "book.sqlite"
    for number in range(count):
        chance = random.Random(f"{seed}/{number}")
        if book is not None and number % 4 == 3:
            records.write_bytes(mutated_bytes(book, chance))
            ended = watched(lambda: try_book(records), bad, f"{seed}/{number} book")
            counts[f"book {ended}"] += 1
        else:
            text = mutated_text(chance.choice(texts), chance)
            study.write_bytes(text.encode("utf-8", "surrogatepass"))
            ended = watched(lambda: try_study(study), bad, f"{seed}/{number} study")
            counts[f"study {ended}"] += 1
        strange = [one.name for one in folder.iterdir() if one not in (study, records)]
        if strange:
            bad.append(f"{seed}/{number}: left {strange} behind")
            break
    return Found(counts, tuple(bad))


def main() -> int:
    """Run from the command line; 1 if anything ended badly."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--count", type=int, default=1_000)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    bounded()
    began = time.perf_counter()
    with tempfile.TemporaryDirectory() as first, tempfile.TemporaryDirectory() as second:
        book = whole_book(Path(second) / "whole.sqlite")
        found = attacked(options.count, options.seed, Path(first), book)
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0
    print(", ".join(f"{count} {what}" for what, count in sorted(found.counts.items())))
    print(f"{time.perf_counter() - began:.0f} s, {peak_mb:.0f} MB, SQLite {sqlite3.sqlite_version}")
    print("\n".join(found.bad))
    return int(bool(found.bad))


if __name__ == "__main__":
    raise SystemExit(main())
