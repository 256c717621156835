"""What comes with the example ready to be shown, so that a first visit waits for no solver."""

import gzip
import json
from dataclasses import replace
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

from studies.page.folder import EXAMPLES
from studies.reader import data_of
from studies.study import Study, study_from, table_from
from studies.template import study_template

SHOWN = "shown.json.gz"
PRESS = "press.json.gz"
EXAMPLE = next(iter(EXAMPLES))


@cache
def example() -> Study:
    """The first example as a study."""
    data = data_of(study_template(EXAMPLES[EXAMPLE]), EXAMPLE)
    return study_from(table_from(data, EXAMPLE), Path(EXAMPLE))


def packed_shown(study: Study) -> dict[str, Any] | None:
    """The example's answer as the page shows it, if ``study`` is the example at any mesh setting.

    It says what ``answers.shown`` says of the packed results, without what that takes to import.
    """
    if replace(study, setting=example().setting) != example():
        return None
    found: dict[str, Any] | None = packed_json(SHOWN)
    return found


@cache
def packed_json(name: str) -> Any:
    """What a packed file of the example says; None when it is not there."""
    path = files("studies.demo") / name
    return json.loads(gzip.decompress(path.read_bytes())) if path.is_file() else None
