"""Blocks that are their own mirror image are meshed by a part of them, and nothing else changes."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from blocks import bare_block, patterned

from fea.errors import MeshError
from fea.mesh import check_mesh
from geometry import mesher
from geometry.block import Block, Hole, Rib
from geometry.mesher import MeshSizes, Spot, meshed, meshed_along
from geometry.mirroring import mirror_axes

SIZES = MeshSizes(1.0, 1.3)


def _with_ribs(*ribs: Rib) -> Block:
    return replace(bare_block(), ribs=ribs)


FRONT = Rib("nose", (60.0, 10.0), (1.0, 0.0), 10.0, 6.0)
SIDE = replace(FRONT, start_mm=(60.0, 12.0))
TRIANGLE = replace(FRONT, name="low", start_mm=(60.0, 0.0), shape="triangle", side="bottom")


@pytest.mark.parametrize(
    ("block", "axes"),
    [
        (patterned("plain"), (0, 1)),
        (patterned("wall-extensions"), (0, 1)),
        (patterned("inner-cross"), (0, 1)),
        (replace(bare_block(), taper_deg=2.0), (1,)),
        (replace(bare_block(), hole=Hole(18.0, (0.0, 3.0))), (0,)),
        (replace(bare_block(), hole=Hole(18.0, (1.0, 3.0))), ()),
        (_with_ribs(FRONT), ()),
        (_with_ribs(replace(FRONT, start_mm=(60.0, 0.0))), (1,)),
        (_with_ribs(SIDE, replace(SIDE, name="twin", start_mm=(60.0, -12.0))), (1,)),
        (_with_ribs(FRONT, replace(TRIANGLE, name="twin", start_mm=(60.0, -10.0))), ()),
        (_with_ribs(TRIANGLE, replace(TRIANGLE, name="up", start_mm=(-60.0, 0.0))), (1,)),
        # The fillets of the two all but touch on the mirror.
        (
            _with_ribs(
                replace(FRONT, start_mm=(60.0, 8.5)),
                replace(FRONT, name="twin", start_mm=(60.0, -8.5)),
            ),
            (),
        ),
    ],
)
def test_mirrors_are_where_the_block_has_them(block: Block, axes: tuple[int, ...]) -> None:
    assert mirror_axes(block) == axes


@pytest.mark.parametrize("pattern", ["corner-diagonal", "mid-wall", "inner-cross"])
def test_parts_and_faces_are_those_of_the_whole(pattern: str) -> None:
    block = patterned(pattern)
    mirrored = meshed(block, SIZES)
    (whole,) = meshed_along(block, (SIZES,), ())
    assert (mirrored.mirror_axes, whole.mirror_axes) == ((0, 1), ())
    assert [part.name for part in mirrored.parts] == [part.name for part in whole.parts]
    assert {face.name for face in mirrored.faces} == {face.name for face in whole.faces}
    for one, other in zip(mirrored.parts, whole.parts, strict=True):
        assert one.thickness_mm == other.thickness_mm
        assert one.volume_mm3 == pytest.approx(other.volume_mm3, rel=1e-6)
        middles = [
            mesh.points_mm[mesh.tets[mesh.part_of_tet == mesh.part_index(one.name)]].mean((0, 1))
            for mesh in (mirrored, whole)
        ]
        np.testing.assert_allclose(*middles, atol=1.0)


def test_every_image_is_exact() -> None:
    mesh = meshed(replace(bare_block(), taper_deg=2.0), SIZES)
    assert mesh.mirror_axes == (1,)
    (image,) = mesh.images
    np.testing.assert_array_equal(mesh.points_mm[image], mesh.points_mm * [1.0, -1.0, 1.0])
    np.testing.assert_array_equal(image[image], np.arange(len(image)))
    moved = mesh.points_mm.copy()
    moved[np.argmax(moved[:, 1]), 2] += 1e-6
    with pytest.raises(MeshError, match="mirror image"):
        check_mesh(replace(mesh, points_mm=moved))


def test_a_place_made_finer_is_so_on_both_sides() -> None:
    block = patterned("plain")
    spot = Spot((-57.0, -37.0, 30.0), 3.0, 1.0)
    plain, finer = meshed(block, SIZES), meshed(block, SIZES.finer_at((spot,)))
    for sx, sy in ((1, 1), (1, -1), (-1, 1), (-1, -1)):
        counts = [
            (np.linalg.norm(mesh.points_mm - [57.0 * sx, 37.0 * sy, 30.0], axis=1) < 3.0).sum()
            for mesh in (plain, finer)
        ]
        assert counts[1] > 2 * counts[0] + 10


def test_what_fails_in_part_is_meshed_whole(monkeypatch: pytest.MonkeyPatch) -> None:
    def refused(*_: object) -> None:
        raise MeshError("no", "no")

    kept: Callable[..., object] = refused
    monkeypatch.setattr(mesher, "kept_side", kept)
    assert meshed(patterned("plain"), SIZES).mirror_axes == ()
