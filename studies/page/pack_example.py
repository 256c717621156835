"""Compute the example and put its answer beside it: ``python -m studies.page.pack_example OUT``.

Run it after a change of what is computed; the long tests hold the answer against a new computation.
Finished layouts kept in OUT are not computed again.
"""

import gzip
import json
import sys
from datetime import date
from importlib.metadata import version
from importlib.resources import files
from pathlib import Path

from studies.compare import compared
from studies.page.answers import PACKED, PACKED_SETTING, RESULTS
from studies.page.views import VIEWS
from studies.reader import toml_data
from studies.store import question_key
from studies.study import study_from, table_from
from studies.viewer.packing import script_json
from studies.viewer.scenes import comparison_pack


def main() -> None:
    """Write the packed answer and its views into ``studies/demo``."""
    demo, out = Path(str(files("studies.demo"))), Path(sys.argv[1])
    path = demo / "trailer_risers.toml"
    data = {**toml_data(path), "mesh": PACKED_SETTING}
    study = study_from(table_from(data, path.name), path)
    comparison = compared(study, out, lambda name, what: print(f"{name}: {what}", flush=True))
    results = {
        question_key(layout, study.loads, study.setting, study.accuracy): row
        for layout, row in zip(study.layouts, comparison.results, strict=True)
    }
    made = (
        f"This example was computed beforehand, by Gussetry {version('gussetry')} on "
        f"{date.today():%d %B %Y}, with the mesh setting “{PACKED_SETTING}”."
    )
    said = {"made": made, "results": json.loads(RESULTS.dump_json(results))}
    text = json.dumps(said, separators=(",", ":")).encode()
    (demo / PACKED).write_bytes(gzip.compress(text, 9, mtime=0))
    pack = comparison_pack(comparison, out / "fields")
    assert pack is not None, "every layout must come out, with its fields"
    (demo / VIEWS).write_bytes(gzip.compress(script_json(pack).encode(), 9, mtime=0))


if __name__ == "__main__":
    main()
