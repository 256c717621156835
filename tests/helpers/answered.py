"""A folder in which all that commands ask of a tiny study is answered by made-up results."""

from pathlib import Path

from pretend import body, case_result, even_field, layout
from tiny_study import PRESSED

from studies.store import keep_result, result_key
from studies.study import Study, read_study

NAME = "tiny.toml"
FIRST_YIELD_N = 70_000.0
"""Of the first layout; the second one's is twice that."""


def answered(root: Path) -> Study:
    """The study, written into ``root``, with finished layouts and their fields below ``out``."""
    path = root / NAME
    path.write_text(PRESSED, encoding="utf-8")
    study = read_study(path)
    folder = root / "out" / study.slug
    for number, one in enumerate(study.layouts, start=1):
        field = f"{number:02d}.vtu"
        even_field(body(), folder / "fields" / field, 0.5, 5.0)
        case = case_result(study.loads[0], FIRST_YIELD_N * number, field_file=field)
        key = result_key(one, study.loads, study.setting)
        keep_result(folder / "store", key, layout(one.name, case, baseline=one.baseline))
    return study
