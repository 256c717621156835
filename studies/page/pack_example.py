"""Compute the example and put its answer beside it: ``python -m studies.page.pack_example OUT``.

Run it after a change of what is computed; the long tests hold the answer against a new computation.
Finished layouts and press curves kept in OUT are not computed again. ``--words`` writes anew only
the words for the results that are packed: for a change of what is said of them.
"""

import gzip
import json
import sys
from dataclasses import replace
from datetime import date
from importlib.metadata import version
from importlib.resources import files
from pathlib import Path
from typing import Any

from studies.compare import compared
from studies.fields import Fields
from studies.page.answers import PACKED, PACKED_SETTING, RESULTS, answer, shown
from studies.page.example import PRESS, SHOWN, example
from studies.page.views import VIEWS
from studies.pressing.compute import predicted
from studies.pressing.crush import crush_layout
from studies.pressing.prediction import prediction_json
from studies.results import Comparison
from studies.store import question_key
from studies.study import Study
from studies.viewer.packing import script_json
from studies.viewer.scenes import comparison_pack

_CURVES = 2
"""Layouts whose press curve is packed too: the baseline and the first with gussets."""

_DEMO = Path(str(files("studies.demo")))


def main() -> None:
    """Write the packed answer, its views, words and press curves into ``studies/demo``."""
    if sys.argv[1] != "--words":
        _compute(Path(sys.argv[1]))
    found = answer(example(), Path("nowhere"))
    assert found is not None, "the packed results are of another example: compute it anew"
    _write(SHOWN, json.dumps(shown(found)))


def _compute(out: Path) -> None:
    study = replace(example(), setting=PACKED_SETTING)
    comparison = compared(study, out, _heard)
    _write(PACKED, _results(study, comparison))
    pack = comparison_pack(comparison, Fields(out / "fields"))
    assert pack is not None, "every layout must come out, with its fields"
    _write(VIEWS, script_json(pack))
    _write(PRESS, json.dumps(_curves(study, out)))


def _results(study: Study, comparison: Comparison) -> str:
    results = {
        question_key(layout, study.loads, study.setting, study.accuracy): row
        for layout, row in zip(study.layouts, comparison.results, strict=True)
    }
    made = (
        f"This example was computed beforehand, by Gussetry {version('gussetry')} on "
        f"{date.today():%d %B %Y}, with the mesh setting “{PACKED_SETTING}”."
    )
    said = {"made": made, "results": json.loads(RESULTS.dump_json(results))}
    return json.dumps(said, separators=(",", ":"))


def _curves(study: Study, out: Path) -> list[Any]:
    return [
        json.loads(
            prediction_json(predicted(study, one, out, _heard, False, crush_layout).prediction)
        )
        for one in study.layouts[:_CURVES]
    ]


def _heard(name: str, what: str) -> None:
    print(f"{name}: {what}", flush=True)


def _write(name: str, text: str) -> None:
    (_DEMO / name).write_bytes(gzip.compress(text.encode(), 9, mtime=0))


if __name__ == "__main__":
    main()
