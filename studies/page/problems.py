"""A form's values checked as a study file is, every problem with the place it belongs to."""

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from fea.errors import InputError
from studies.reader import RefusedKeyError
from studies.refusals import Location, every_refusal
from studies.schema import StudyTable
from studies.study import Study, study_from

_BLOCK_ALONE = (
    "units", "steel", "tube", "bottom_plate", "top_plate", "pin", "hole", "welds", "layouts",
)  # fmt: skip
_LISTS = ("layouts", "loads", "shelf")


@dataclass(frozen=True)
class Problem:
    """What is wrong with one value, and what to do; an empty ``location`` is the whole study."""

    location: Location
    problem: str
    remedy: str


@dataclass(frozen=True)
class Checked:
    """A study if the values make one, else what is wrong.

    ``drawable`` is a study to draw the block from: the same one, or one of the block's own values
    while those of loads, press or shop are still wrong; None while the block itself is.
    """

    study: Study | None
    drawable: Study | None
    problems: tuple[Problem, ...]


def checked(data: dict[str, Any], file_name: str) -> Checked:
    """Check ``data`` as ``read_study`` would check a file that says the same."""
    try:
        study = study_from(StudyTable.model_validate(data), Path(file_name))
    except ValidationError as error:
        problems = tuple(
            Problem(one.location, one.problem.lstrip(" =:."), one.remedy)
            for one in every_refusal(data, error)
        )
    except RefusedKeyError as error:
        problems = (Problem(located(error.key, data), error.alone, error.remedy),)
    except InputError as error:
        problems = (Problem((), error.problem, error.remedy),)
    else:
        return Checked(study, study, ())
    return Checked(None, _block_alone(data, file_name), problems)


def _block_alone(data: dict[str, Any], file_name: str) -> Study | None:
    """The study with only its block and layouts, and a stand-in for every load."""
    alone = {key: data[key] for key in _BLOCK_ALONE if key in data}
    alone |= {"title": "x", "rated_load": "1 kN", "demand": 1}
    alone["loads"] = [{"kind": "crush", "name": "x"}]
    try:
        return study_from(StudyTable.model_validate(alone), Path(file_name))
    except (ValidationError, InputError):
        return None


def located(key: str, data: dict[str, Any]) -> Location:
    """``layouts['Mid-wall ribs'].pattern`` as steps into the data: ``("layouts", 3, "pattern")``.

    >>> located("steel.all (for tube)", {})
    ('steel', 'all')
    """
    key = key.partition(" (for ")[0]
    for name in _LISTS:
        entries = data.get(name)
        if not key.startswith(f"{name}[") or not isinstance(entries, list):
            continue
        for index, entry in enumerate(entries):
            if not isinstance(entry, dict):
                continue
            for said in (f"{name}[{entry.get('name')!r}]", f"{name}[{index + 1}]"):
                if key == said or key.startswith(f"{said}."):
                    rest = key.removeprefix(said).strip(".")
                    return (name, index, *_known(rest, entry))
        return (name,)
    return tuple(key.split("."))


def _known(rest: str, entry: dict[str, Any]) -> tuple[str, ...]:
    """The steps below an entry; a rib's own are told beside the list of ribs."""
    steps = tuple(rest.split(".")) if rest else ()
    return steps[:1] if steps[:1] == ("ribs",) and isinstance(entry.get("ribs"), list) else steps
