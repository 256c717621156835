"""Finished layouts kept in the output folder, so that nothing is computed twice.

A result is found again only by everything that determines it: the block, the loads, the mesh
setting, the versions of the packages that do numerics, and our own numeric code.
"""

import hashlib
import json
import os
from dataclasses import asdict
from functools import cache
from importlib.metadata import version
from importlib.resources import files
from pathlib import Path

from pydantic import TypeAdapter, ValidationError

from geometry.block import Layout
from geometry.mesher import Setting
from studies.loads import LoadCase
from studies.results import LayoutResult

_PACKAGES = ("gmsh", "numba", "numpy", "scipy", "shapely")
_RESULT = TypeAdapter(LayoutResult)


def result_key(layout: Layout, loads: tuple[LoadCase, ...], setting: Setting) -> str:
    """What a layout's result is kept under."""
    said = {
        "block": asdict(layout.block),
        "loads": [{"kind": type(load).__name__, **asdict(load)} for load in loads],
        "setting": setting,
        "numerics": numerics(),
    }
    return hashlib.sha256(json.dumps(said, sort_keys=True).encode()).hexdigest()[:32]


@cache
def numerics() -> str:
    """Versions of packages and a digest of our own code on which numbers depend."""
    digest = hashlib.sha256()
    for package in ("fea", "geometry"):
        for source in sorted(files(package).iterdir(), key=lambda item: item.name):
            if source.name.endswith(".py"):
                digest.update(source.name.encode() + source.read_bytes())
    judging = ("walls.py", "clamping/solving.py", "hand.py", "hand_plates.py")
    for name in ("solve.py", "fields.py", *judging):
        digest.update((files("studies") / name).read_bytes())
    return " ".join([digest.hexdigest(), *(f"{name} {version(name)}" for name in _PACKAGES)])


def kept_result(folder: Path, key: str) -> LayoutResult | None:
    """A finished result with all its files, or None."""
    try:
        result = _RESULT.validate_json((folder / f"{key}.json").read_bytes())
    except (OSError, ValidationError):
        return None
    fields = folder.parent / "fields"
    return result if all((fields / case.field_file).is_file() for case in result.cases) else None


def keep_result(folder: Path, key: str, result: LayoutResult) -> None:
    """Keep a finished result; the file appears whole or not at all."""
    folder.mkdir(parents=True, exist_ok=True)
    write_whole(folder / f"{key}.json", _RESULT.dump_json(result, indent=1))


def write_whole(path: Path, content: bytes) -> None:
    """Write a file so that nobody ever finds half of it, whatever happens meanwhile."""
    half_done = path.with_name(f"{path.name}.{os.getpid()}.part")
    try:
        with half_done.open("wb") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        half_done.replace(path)
    finally:
        half_done.unlink(missing_ok=True)
