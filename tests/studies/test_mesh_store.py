"""Meshes kept for other steels and loads: the same as made, never a damaged one, bounded."""

import os
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from tiny_study import tiny_study

from fea.mesh import TaggedMesh
from geometry.block import Block
from geometry.mesher import SETTINGS, MeshSizes
from studies import mesh_store
from studies.mesh_store import mesh_key, stored_mesh, stored_meshes, trim
from studies.study import read_study

QUICK = SETTINGS["quick"]


@pytest.fixture
def block(tmp_path: Path) -> Block:
    return read_study(tiny_study(tmp_path)).layouts[0].block


def _counted(monkeypatch: pytest.MonkeyPatch) -> list[Block]:
    """The blocks that the mesher is asked for from now on."""
    made: list[Block] = []
    really = mesh_store.meshed_each

    def counting(block: Block, every: Sequence[MeshSizes]) -> tuple[TaggedMesh, ...]:
        made.extend([block] * len(every))
        return really(block, every)

    monkeypatch.setattr(mesh_store, "meshed_each", counting)
    return made


def _same(one: TaggedMesh, other: TaggedMesh) -> bool:
    arrays = ("points_mm", "tets", "part_of_tet", "skin_facets", "skin_tet", "face_of_skin")
    alike = all(np.array_equal(getattr(one, name), getattr(other, name)) for name in arrays)
    return alike and one.parts == other.parts and one.faces == other.faces


def test_another_steel_takes_the_mesh_from_the_store(
    block: Block, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = _counted(monkeypatch)
    first = stored_mesh(block, QUICK, tmp_path)
    steel = replace(block.tube.steel, name="S235", yield_mpa=235.0)
    softer = replace(block, tube=replace(block.tube, steel=steel), rib_steel=steel)
    second = stored_mesh(softer, QUICK, tmp_path)
    assert len(made) == 1
    assert _same(first, second)
    assert not list(tmp_path.glob("*.part"))


def test_two_meshes_from_the_same_solids_are_those_made_alone(
    block: Block, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    coarser = QUICK.refined(0.7)
    alone = stored_mesh(block, QUICK, tmp_path / "alone")
    both = stored_meshes(block, (coarser, QUICK), tmp_path / "both")
    assert _same(both[1], alone)
    assert len(both[0].tets) < len(alone.tets)
    made = _counted(monkeypatch)
    again = stored_meshes(block, (coarser, QUICK), tmp_path / "alone")
    assert len(made) == 1
    assert all(_same(one, other) for one, other in zip(again, both, strict=True))


def test_what_shapes_the_mesh_makes_another_key(block: Block) -> None:
    taller = replace(block, tube=replace(block.tube, height_mm=21.0))
    keys = {
        mesh_key(block, QUICK),
        mesh_key(taller, QUICK),
        mesh_key(block, SETTINGS["normal"]),
        mesh_key(replace(block, welds=replace(block.welds, tube_top_mm=3.0)), QUICK),
    }
    assert len(keys) == 4


@pytest.mark.parametrize("damage", ["half", "empty", "flipped"])
def test_a_damaged_mesh_is_made_again(
    damage: str, block: Block, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = stored_mesh(block, QUICK, tmp_path)
    path = tmp_path / f"{mesh_key(block, QUICK)}.npz"
    content = bytearray(path.read_bytes())
    if damage == "half":
        content = content[: len(content) // 2]
    elif damage == "empty":
        content = bytearray()
    else:
        content[len(content) // 3] ^= 0xFF
    path.write_bytes(content)
    made = _counted(monkeypatch)
    assert _same(stored_mesh(block, QUICK, tmp_path), first)
    assert len(made) == 1


def test_a_full_disk_costs_only_the_store(
    block: Block, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(mesh_store, "_keep", full)
    assert len(stored_mesh(block, QUICK, tmp_path / "meshes").tets) > 1000


def test_the_store_stays_small(tmp_path: Path) -> None:
    for age, name in enumerate(("young", "middle", "old")):
        path = tmp_path / f"{name}.npz"
        path.write_bytes(bytes(1000))
        os.utime(path, (1e9 - age, 1e9 - age))
    trim(tmp_path, 2500)
    assert {path.stem for path in tmp_path.iterdir()} == {"young", "middle"}
    trim(tmp_path, 0)
    assert not list(tmp_path.iterdir())
