"""What a page keeps in its folder, mutated: whatever is read back is whole, or is not read.

    python tests/attacks/pages.py --count 2000 --seed 1

The folder holds a study, finished layouts with their fields, a prediction and runs, as a
session at the page leaves them. Each mutation damages one of these files; then the server is asked
all that the page asks. A figure that differs from the one kept must never be answered.
"""

import argparse
import json
import random
import resource
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE.parent / "helpers"), str(HERE.parents[1])]

from answered import NAME, answered  # noqa: E402
from inputs import Found, bounded, mutated_bytes, mutated_text, watched  # noqa: E402
from page_client import HOME, PageClient  # noqa: E402
from pretend_press import prediction  # noqa: E402
from starlette.testclient import TestClient  # noqa: E402

from studies.page import answers, runs  # noqa: E402
from studies.page.orders import Order  # noqa: E402
from studies.page.runs import Request, RunFiles  # noqa: E402
from studies.page.server import RUNS, page_app  # noqa: E402
from studies.pressing.choice import prediction_file  # noqa: E402
from studies.pressing.prediction import block_key, keep_prediction, kept_prediction  # noqa: E402
from studies.reader import data_of  # noqa: E402

_FINE = (200, 409, 422)


class Kept:
    """A folder as a session at the page leaves it, and what the page says of it undamaged."""

    def __init__(self, root: Path) -> None:
        self.root = root
        self.study = answered(root)
        self.data = data_of((root / NAME).read_text(encoding="utf-8"), NAME)
        folder = root / "out" / self.study.slug
        self.block = self.study.layouts[0].block
        self.predicted = prediction_file(root / "out", self.study, self.study.layouts[0])
        keep_prediction(self.predicted, prediction(block=block_key(self.block)))
        (folder / "report.html").write_text("<p>report")
        for number, ended in ((1, 0), (2, 1)):
            files = RunFiles(root / "out" / RUNS, f"{number:05d}")
            files.folder.mkdir(exist_ok=True)
            files.ask(Request(number, "compare", NAME, 1e9, _order()))
            files.file("log").write_text("   1.0 s  No gussets: meshing\ngussetry: no; do it again")
            files.say_started()
            files.say_begun()
            files.say_ended(ended)
            files.let_go()
        self.files = sorted(one for one in root.rglob("*") if one.is_file())

    @contextmanager
    def asked(self) -> Iterator["PageClient"]:
        """A client of the page; runs are not looked after, so that none is begun."""
        yield PageClient(TestClient(page_app(self.root), base_url=HOME))


def _order() -> Order:
    return Order(["compare", NAME, "--out", "out"], "Compare", ("No gussets",), 60.0)


def said_of(kept: Kept, page: PageClient) -> dict[str, Any]:
    """All that the page is told of the folder; AssertionError where it is told badly."""
    answers._read.cache_clear()
    runs._over.cache_clear()
    said: dict[str, Any] = {}
    for path, values in (
        ("/api/studies", {}),
        ("/api/study", {"name": NAME}),
        ("/api/files", {"name": NAME}),
        ("/api/runs", {}),
        ("/api/runs/1/log", {}),
        ("/results/tiny/report.html", {}),
    ):
        answer = page.client.get(path, params=values)
        assert answer.status_code in _FINE, f"{path}: {answer.status_code} {answer.text[:200]}"
        said[path] = answer.text
    mine = {"x-gussetry-token": page.token}
    for path in ("/api/answer", "/api/views", "/api/check"):
        asked = {"name": NAME, "data": kept.data}
        answer = page.client.post(path, json=asked, headers=mine)
        assert answer.status_code in _FINE, f"{path}: {answer.status_code} {answer.text[:200]}"
        said[path] = answer.text
    said["prediction"] = repr(kept_prediction(kept.predicted, kept.block))
    return said


def _figures(said: dict[str, Any]) -> dict[str, Any]:
    """The loads told of each layout."""
    found = json.loads(said["/api/answer"]).get("answer")
    loads = found["loads"] if found else []
    return {line["layout"]: line["first_yield"] for load in loads for line in load["lines"]}


def tried(kept: Kept, page: PageClient, whole: dict[str, Any], hurt: Path, data: bytes) -> str:
    """Damage one file, ask everything, mend it; AssertionError where a wrong figure is told."""
    before = hurt.read_bytes()
    hurt.write_bytes(data)
    try:
        said = said_of(kept, page)
        shown, right = _figures(said), _figures(whole)
        wrong = {name: load for name, load in shown.items() if load != right[name]}
        assert not wrong, f"told {wrong} for {right}"
        assert said["prediction"] in ("None", whole["prediction"]), "another prediction is read"
        assert hurt.read_bytes() == data, "a file was written to"
        return "taken" if shown == right else "left out"
    finally:
        hurt.write_bytes(before)


def attacked_pages(count: int, seed: int, kept: Kept) -> Found:
    """Try ``count`` mutations, each of one file."""
    counts: Counter[str] = Counter()
    bad: list[str] = []
    with kept.asked() as page:
        whole = said_of(kept, page)
        assert len(_figures(whole)) == 2
        for number in range(count):
            chance = random.Random(f"page {seed}/{number}")
            hurt = chance.choice(kept.files)
            before = hurt.read_bytes()
            if hurt.suffix in (".json", ".toml", ".log") and chance.random() < 0.5:
                text = mutated_text(before.decode(), chance)
                data = text.encode("utf-8", "surrogatepass")
            else:
                data = mutated_bytes(before, chance)

            def once(hurt: Path = hurt, data: bytes = data) -> str:
                return tried(kept, page, whole, hurt, data)

            name = hurt.relative_to(kept.root)
            counts[f"page {watched(once, bad, f'{seed}/{number} {name}')}"] += 1
            files = sorted(one for one in kept.root.rglob("*") if one.is_file())
            if files != kept.files:
                bad.append(f"{seed}/{number}: left {set(files) ^ set(kept.files)} behind")
                break
    return Found(counts, tuple(bad))


def main() -> int:
    """Run from the command line; 1 if anything ended badly."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--count", type=int, default=500)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    bounded()
    began = time.perf_counter()
    with tempfile.TemporaryDirectory() as place:
        root = Path(place) / "folder"
        root.mkdir()
        found = attacked_pages(options.count, options.seed, Kept(root))
        strange = [one.name for one in Path(place).iterdir() if one != root]
    bad = [*found.bad, *(f"left {name} outside" for name in strange)]
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0
    print(", ".join(f"{count} {what}" for what, count in sorted(found.counts.items())))
    print(f"{time.perf_counter() - began:.0f} s, {peak_mb:.0f} MB")
    print("\n".join(bad))
    return int(bool(bad))


if __name__ == "__main__":
    raise SystemExit(main())
