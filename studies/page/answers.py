"""What has been computed of a study, found by what the study says: nothing is computed here."""

import gzip
import json
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from functools import cache, lru_cache
from importlib.resources import files
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter

from geometry.block import Layout
from geometry.mesher import Setting
from studies.cautions import cautions_for
from studies.load_words import load_sentence
from studies.loads import ClampCase
from studies.naming import result_for
from studies.results import Comparison, LayoutResult
from studies.store import kept_result, question_key, result_key
from studies.study import Study
from studies.tables import HEADINGS, Line, lines, remarks, verdicts

_SETTINGS: tuple[Setting, ...] = ("fine", "normal", "quick")
PACKED = "answer.json.gz"
PACKED_SETTING: Setting = "quick"
RESULTS = TypeAdapter(dict[str, LayoutResult])


@dataclass(frozen=True)
class Answer:
    """Computed layouts of a study at one mesh setting, and those still to be computed.

    ``made`` says where they come from when it was not a run in this folder. ``mark`` is another
    whenever a figure in it may be.
    """

    comparison: Comparison
    missing: tuple[str, ...]
    setting: Setting
    made: str
    mark: str


@dataclass(frozen=True)
class Packed:
    """Results that come with the program: by question, and when and with what they were made."""

    results: dict[str, LayoutResult]
    made: str


def answer(study: Study, folder: Path) -> Answer | None:
    """What ``folder`` holds of ``study``, at its own mesh setting or else the finest there is."""
    for setting in (study.setting, *(one for one in _SETTINGS if one != study.setting)):
        found = _at(study, setting, folder)
        if found is not None:
            return found
    return None


def _at(study: Study, setting: Setting, folder: Path) -> Answer | None:
    store, asked, made = folder / "store", (study.loads, setting, study.accuracy), ""
    keys: list[str] = []
    rows: list[LayoutResult | None] = []
    if store.is_dir():
        keys = [result_key(one, *asked) for one in study.layouts]
        rows = [_kept(store, key) for key in keys]
    if not any(rows):
        keys = [question_key(one, *asked) for one in study.layouts]
        rows = [packed().results.get(key) for key in keys]
        made = packed().made
        if not any(rows):
            return None
    there = tuple(
        _past_yield(result_for(row, layout), layout, setting, store)
        for row, layout in zip(rows, study.layouts, strict=True)
        if row is not None
    )
    missing = tuple(
        layout.name for row, layout in zip(rows, study.layouts, strict=True) if row is None
    )
    comparison = Comparison(
        title=study.title,
        units=study.units,
        setting=setting,
        rated_load_n=study.rated_load_n,
        loads=study.loads,
        rows=there,
        weld_rules=study.weld_rules,
        accuracy=study.accuracy,
    )
    mark = "-".join(key[:8] for key, row in zip(keys, rows, strict=True) if row is not None)
    return Answer(comparison, missing, setting, made, mark)


def _past_yield(row: LayoutResult, layout: Layout, setting: Setting, store: Path) -> LayoutResult:
    """The row with what was computed on yielding steel, where anything was."""
    if not any(any(store.glob(f"*-{kind}.json")) for kind in ("past", "press")):
        return row
    # Imported here: it brings in the solver, and most folders hold nothing of the kind.
    from studies.past_yield import with_past_yield

    return with_past_yield(row, layout.block, setting, store)


def _kept(store: Path, key: str) -> LayoutResult | None:
    for name in (f"{key}.json", f"{key}.bare.json"):
        try:
            changed = (store / name).stat().st_mtime_ns
        except OSError:
            continue
        return _read(store, key, changed)
    return None


@lru_cache(maxsize=256)
def _read(store: Path, key: str, _changed: int) -> LayoutResult | None:
    return kept_result(store, key, with_fields=False)


@cache
def packed() -> Packed:
    """The results of the example that come with the program."""
    path = files("studies.demo") / PACKED
    if not path.is_file():
        return Packed({}, "")
    said = json.loads(gzip.decompress(path.read_bytes()))
    results = RESULTS.validate_python(said["results"])
    return Packed(results, said["made"])


def shown(found: Answer) -> dict[str, Any]:
    """An answer as the page shows it: sentences, and for each load a table of text."""
    comparison = found.comparison
    units = comparison.units
    table = lines(comparison)
    return {
        "title": comparison.title,
        "setting": found.setting,
        "made": found.made,
        "mark": found.mark,
        "missing": found.missing,
        "verdicts": verdicts(comparison),
        "remarks": remarks(comparison),
        "cautions": cautions_for(any(isinstance(load, ClampCase) for load in comparison.loads)),
        "headings": HEADINGS,
        "masses": {row.name: units.show_mass(row.mass_kg) for row in comparison.results},
        "loads": [
            {
                "name": load.name,
                "sentence": load_sentence(load, units),
                "demanded": units.show_force(load.demanded_n),
                "lines": list(_bars(comparison, index, table)),
            }
            for index, load in enumerate(comparison.loads)
        ],
    }


def _bars(comparison: Comparison, index: int, table: list[Line]) -> Iterator[dict[str, Any]]:
    """The lines of one load, each with its bar, the bar's error band and the demand
    as shares of the longest."""
    every = [line for line in table if line.load == comparison.loads[index].name]
    cases = [row.cases[index] for row in comparison.results]
    highest_n = [(1.0 + case.bands.starts) * case.starts.load_n for case in cases]
    furthest_n = max([comparison.loads[index].demanded_n, *highest_n])
    for row, case, line in zip(comparison.results, cases, every, strict=True):
        bar, band = case.starts.load_n / furthest_n, case.bands.starts
        yield asdict(line) | {
            "layout": row.name,
            "baseline": row.baseline,
            "times": case.ratio,
            "bar": bar,
            "band": (max(1.0 - band, 0.0) * bar, (1.0 + band) * bar),
            "demand": case.case.demanded_n / furthest_n,
        }
