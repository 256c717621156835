"""Meshes kept in the output folder, so that one block is meshed once for all steels and loads.

A mesh is found again only by everything that determines it: the block's sizes, the element sizes,
the versions of the packages that mesh, and our own geometry code. The folder stays below
``MOST_BYTES``: the meshes that were not used for longest go first.
"""

import hashlib
import json
import os
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import asdict, is_dataclass
from functools import cache
from importlib.metadata import version
from pathlib import Path
from typing import Any

import numpy as np

from fea.errors import MeshError
from fea.mesh import Face, Part, TaggedMesh, check_mesh
from fea.steel import Steel
from geometry.block import Block
from geometry.mesher import MeshSizes, meshed_each
from studies.kept_arrays import kept_arrays, packed_arrays
from studies.store import digest_of, sources
from studies.whole_files import write_whole

MOST_BYTES = 500_000_000

_PACKAGES = ("gmsh", "numpy", "scipy", "shapely")
_ARRAYS = ("points_mm", "tets", "part_of_tet", "skin_facets", "skin_tet", "face_of_skin")


def mesh_key(block: Block, sizes: MeshSizes) -> str:
    """What a mesh is kept under; steels do not count."""
    said = {"block": _without_steel(block), "sizes": asdict(sizes), "made by": _makers()}
    return hashlib.sha256(json.dumps(said, sort_keys=True).encode()).hexdigest()[:32]


def stored_mesh(block: Block, sizes: MeshSizes, folder: Path | None) -> TaggedMesh:
    """The mesh of a block, from ``folder`` if it is there; else made, and kept if there is room.

    Raises MeshError when no mesh comes out.
    """
    return stored_meshes(block, (sizes,), folder)[0]


def stored_meshes(
    block: Block, every: Sequence[MeshSizes], folder: Path | None
) -> tuple[TaggedMesh, ...]:
    """As ``stored_mesh`` for each of some sizes; those not kept are made from the same solids."""
    if folder is None:
        return meshed_each(block, every)
    paths = [folder / f"{mesh_key(block, sizes)}.npz" for sizes in every]
    kept = [_kept(path) for path in paths]
    missing = [sizes for sizes, mesh in zip(every, kept, strict=True) if mesh is None]
    made = iter(meshed_each(block, missing) if missing else ())
    meshes = []
    for path, found in zip(paths, kept, strict=True):
        mesh = found
        if mesh is None:
            mesh = next(made)
            # Without room for a mesh the run goes on; what must be written will say so itself.
            with suppress(OSError):
                folder.mkdir(parents=True, exist_ok=True)
                _keep(path, mesh)
                trim(folder, MOST_BYTES)
        meshes.append(mesh)
    return tuple(meshes)


def is_stored(folder: Path, key: str) -> bool:
    """Whether the mesh is there."""
    return (folder / f"{key}.npz").is_file()


def trim(folder: Path, most_bytes: int) -> None:
    """Remove the meshes unused for longest until the rest take no more than ``most_bytes``."""
    found = []
    for path in folder.glob("*.npz"):
        with suppress(FileNotFoundError):
            found.append((path.stat().st_mtime, path.stat().st_size, path))
    total = sum(size for _, size, _ in found)
    for _, size, path in sorted(found):
        if total <= most_bytes:
            return
        path.unlink(missing_ok=True)
        total -= size


def _keep(path: Path, mesh: TaggedMesh) -> None:
    arrays = {name: getattr(mesh, name) for name in _ARRAYS}
    named = {"parts": [asdict(part) for part in mesh.parts]}
    named["faces"] = [asdict(face) for face in mesh.faces]
    named["mirrors"] = [{"axis": axis} for axis in mesh.mirror_axes]
    write_whole(path, packed_arrays({"names": np.array(json.dumps(named)), **arrays}))


def _kept(path: Path) -> TaggedMesh | None:
    """A mesh read back and checked as if just made; None when it is not there or damaged."""
    found = kept_arrays(path)
    if found is None:
        return None
    named = json.loads(str(found.pop("names")))
    mesh = TaggedMesh(
        **found,
        parts=tuple(Part(**one) for one in named["parts"]),
        faces=tuple(Face(**one) for one in named["faces"]),
        mirror_axes=tuple(int(one["axis"]) for one in named["mirrors"]),
    )
    try:
        check_mesh(mesh)
    except MeshError:
        return None
    with suppress(OSError):
        os.utime(path)
    return mesh


def _without_steel(value: Any) -> Any:
    if isinstance(value, Steel):
        return None
    if is_dataclass(value):
        return {name: _without_steel(getattr(value, name)) for name in value.__dataclass_fields__}
    if isinstance(value, tuple):
        return [_without_steel(one) for one in value]
    return value


@cache
def _makers() -> str:
    code = digest_of(sources("geometry.mesher"))
    return " ".join([code, *(f"{name} {version(name)}" for name in _PACKAGES)])
