"""Finished layouts kept in the output folder, so that nothing is computed twice.

A result is found again only by everything that determines it: the block, the loads, the mesh
setting, the versions of the packages that do numerics, and our own numeric code.
"""

import ast
import hashlib
import json
from collections.abc import Iterable
from dataclasses import asdict
from functools import cache
from importlib.metadata import version
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter, ValidationError

from geometry.block import Layout
from geometry.mesher import Setting
from studies.loads import LoadCase
from studies.results import LayoutResult
from studies.whole_files import sealed, unsealed
from studies.whole_files import whole_file as whole_file
from studies.whole_files import write_whole as write_whole

_PACKAGES = ("gmsh", "numba", "numpy", "scipy", "shapely")
_OURS = ("fea", "geometry", "studies")
_LATER = {"pin_hole_mm"}
_RESULT = TypeAdapter(LayoutResult)


def result_key(
    layout: Layout,
    loads: tuple[LoadCase, ...],
    setting: Setting,
    accuracy: float | None = None,
) -> str:
    """What a layout's result is kept under."""
    return _digest({**_question(layout, loads, setting, accuracy), "numerics": numerics()})


def question_key(
    layout: Layout,
    loads: tuple[LoadCase, ...],
    setting: Setting,
    accuracy: float | None = None,
) -> str:
    """What is asked of a layout, whatever code and packages answer it."""
    return _digest(_question(layout, loads, setting, accuracy))


def _question(
    layout: Layout, loads: tuple[LoadCase, ...], setting: Setting, accuracy: float | None
) -> dict[str, Any]:
    return {
        "block": asdict(layout.block),
        "loads": [_asked(load) for load in loads],
        "setting": setting,
        "accuracy": accuracy,
    }


def _asked(load: LoadCase) -> dict[str, Any]:
    """A load as data, less what it got later and does not use: answers to it stay answers."""
    said = {"kind": type(load).__name__, **asdict(load)}
    return {key: value for key, value in said.items() if value or key not in _LATER}


def _digest(said: dict[str, Any]) -> str:
    return hashlib.sha256(json.dumps(said, sort_keys=True).encode()).hexdigest()[:32]


@cache
def numerics(start: str = "studies.solve") -> str:
    """Versions of packages and a digest of our own code that numbers from ``start`` depend on."""
    code = digest_of(sources(start))
    return " ".join([code, *(f"{name} {version(name)}" for name in _PACKAGES)])


def digest_of(modules: Iterable[str]) -> str:
    """A digest of the source text of modules of ours, given by their dotted names."""
    digest = hashlib.sha256()
    for name in sorted(modules):
        digest.update(name.encode() + _source(name))
    return digest.hexdigest()


def sources(start: str) -> set[str]:
    """Our modules that ``start`` brings in, itself included, whichever way round."""
    found: set[str] = set()
    waiting = [start]
    while waiting:
        name = waiting.pop()
        if name in found:
            continue
        found.add(name)
        waiting += _brought_in(name)
    return found


@cache
def _brought_in(name: str) -> tuple[str, ...]:
    """Those of our modules that one imports from, wherever in it."""
    names = []
    for step in ast.walk(ast.parse(_source(name))):
        if isinstance(step, ast.ImportFrom) and step.module:
            names += [step.module, *(f"{step.module}.{alias.name}" for alias in step.names)]
    return tuple(one for one in names if _is_ours(one))


def _is_ours(name: str) -> bool:
    return name.partition(".")[0] in _OURS and "." in name and _file_of(name).is_file()


def _source(name: str) -> bytes:
    return _file_of(name).read_bytes()


def _file_of(name: str) -> Traversable:
    package, *steps = name.split(".")
    return files(package).joinpath(*steps[:-1], f"{steps[-1]}.py")


def kept_result(folder: Path, key: str, with_fields: bool = True) -> LayoutResult | None:
    """A finished result, with all its field files unless it may come without them; or None."""
    fields = folder.parent / "fields"
    for name in (f"{key}.json", f"{key}.bare.json"):
        try:
            result = _RESULT.validate_json(unsealed((folder / name).read_bytes()) or b"")
        except (OSError, ValidationError):
            continue
        names = [case.field_file for case in result.cases]
        names += [run.touch_file for case in result.cases if case.stiff for run in case.stiff.runs]
        files_there = all(_is_whole(fields, one) for one in names)
        if files_there or not with_fields:
            return result
    return None


def _is_whole(fields: Path, name: str) -> bool:
    return bool(name) and (fields / name).is_file()


def keep_result(folder: Path, key: str, result: LayoutResult) -> None:
    """Keep a finished result; one without fields does not take the place of one with them."""
    bare = not all(case.field_file for case in result.cases)
    folder.mkdir(parents=True, exist_ok=True)
    name = f"{key}.bare.json" if bare else f"{key}.json"
    write_whole(folder / name, sealed(_RESULT.dump_json(result, indent=1)))
