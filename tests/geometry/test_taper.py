"""Tapered blocks: solids by hand formulas, pieces that weigh and fit as the solids, refusals."""

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from blocks import S355, bare_block

from fea.errors import BlockError
from fea.mesh import TaggedMesh
from geometry.block import Block, Hole, Pin, Plate, Rib
from geometry.cad import gmsh_session
from geometry.checks import check_block
from geometry.mesher import MeshSizes, _assembled_solids, meshed
from geometry.patterns import PATTERNS, RibChoice, gusseted
from geometry.pieces import pieces, pieces_mass_kg, weld_mass_kg
from geometry.places import place_in_words
from geometry.plan import on_top_face
from geometry.ribs import FIT_GAP_MM, cut_rib
from geometry.skin import UPPERSIDE
from geometry.step import step_bytes
from geometry.stock import tube_properties
from geometry.tube_line import walked_round
from geometry.welds import round_tube_mm, weld_lengths_mm

COARSE = MeshSizes(1.0, 1.5)
RIBS = (
    Rib("nose rib", (60.0, 10.0), (1.0, 0.0), 12.0, 6.0, "triangle", "top"),
    Rib("foot rib", (60.0, -15.0), (1.0, 0.0), 12.0, 6.0, "triangle", "bottom"),
    Rib("askew rib", (-20.0, 40.0), (0.6, 0.8), 11.0, 6.0),
    Rib("tail rib", (-60.0, 0.0), (-1.0, 0.0), 12.0, 6.0),
)


def tapered(angle_deg: float, leg_mm: float = 5.0) -> Block:
    """The plain block of the other tests, tilted."""
    return replace(bare_block(leg_mm), taper_deg=angle_deg)


BLOCKS = {
    "ribs of every kind": replace(tapered(3.0), ribs=RIBS),
    "hole off the middle, rear high": replace(
        tapered(-6.0),
        hole=Hole(18.0, (12.0, 3.0)),
        pin=Pin(16.0, 12.0, S355, (12.0, 3.0)),
        top=Plate(160.0, 112.0, 10.0, S355, (3.0, 1.0)),
    ),
}


@pytest.fixture(scope="module", params=BLOCKS)
def solid(request: pytest.FixtureRequest) -> tuple[Block, TaggedMesh]:
    block = BLOCKS[request.param]
    check_block(block)
    return block, meshed(block, COARSE)


def test_volumes_are_those_of_prisms_of_mean_height() -> None:
    """A prism cut aslant holds its section times its height at the section's centroid."""
    block = replace(tapered(3.0, 0.0), ribs=RIBS[3:], hole=Hole(18.0, (10.0, 0.0)), pin=None)
    check_block(block)
    mesh = meshed(block, COARSE)
    rise = math.tan(math.radians(3.0))
    area = tube_properties(120.0, 80.0, 6.0, 12.0, 6.0).area_mm2
    # The height given holds at the hole, 10 mm ahead of the tube's middle.
    by_hand = {
        "tube": area * (44.0 - 10.0 * rise),
        "tail rib": 12.0 * 6.0 * (44.0 - 76.0 * rise),
        "bottom plate": 150.0 * 110.0 * 8.0,
        "top plate": (150.0 * 110.0 - math.pi * 81.0) * 8.0,
    }
    for name, volume in by_hand.items():
        assert mesh.parts[mesh.part_index(name)].volume_mm3 == pytest.approx(volume, rel=1e-6), name
        assert mesh.part_volume_mm3(name) == pytest.approx(volume, rel=0.005), name


def test_the_cut_list_weighs_what_the_mesh_weighs(solid: tuple[Block, TaggedMesh]) -> None:
    block, mesh = solid
    kg = {part.name: 7850e-9 * part.volume_mm3 for part in mesh.parts}
    whole = pieces_mass_kg(block) + weld_mass_kg(block)
    assert whole == pytest.approx(sum(kg.values()), rel=0.001)
    assert whole == pytest.approx(7850e-9 * mesh.tet_volumes_mm3.sum(), rel=0.005)
    for piece in pieces(block):
        for part in piece.parts:
            assert piece.mass_kg == pytest.approx(kg[part], rel=5e-4), part


def test_the_top_face_is_tilted_and_whole(solid: tuple[Block, TaggedMesh]) -> None:
    block, mesh = solid
    facets = mesh.facets_of(UPPERSIDE)
    turn = math.radians(block.taper_deg)
    normal = np.array([-math.sin(turn), 0.0, math.cos(turn)])
    np.testing.assert_allclose(
        mesh.facet_normals[facets], np.tile(normal, (len(facets), 1)), atol=1e-9
    )
    assert block.hole is not None
    whole = block.top.length_mm * block.top.width_mm - math.pi / 4 * block.hole.diameter_mm**2
    assert mesh.facet_areas_mm2[facets].sum() == pytest.approx(whole, rel=1e-3)
    assert not any(face.name.endswith("inside") for face in mesh.faces)
    # Upright through the hole's centre, the block is as high as the plates and the stub.
    where = mesh.points_mm[np.unique(mesh.skin_facets[facets])]
    height = block.bottom.thickness_mm + 44.0 + block.top.thickness_mm / math.cos(turn)
    rise = math.tan(turn) * (where[:, 0] - block.hole.centre_mm[0])
    np.testing.assert_allclose(where[:, 2], height + rise, atol=1e-6)


def test_the_step_file_holds_the_same_steel(tmp_path: Path) -> None:
    block = replace(tapered(3.0), ribs=RIBS[2:])
    with gmsh_session("volumes") as gmsh:
        _, volumes = _assembled_solids(gmsh, block)
        made = sum(float(gmsh.model.occ.getMass(3, tag)) for tags in volumes for tag in tags)
    path = tmp_path / "block.step"
    path.write_bytes(step_bytes(block))
    with gmsh_session("read back") as gmsh:
        read = gmsh.model.occ.importShapes(str(path))
        total = sum(float(gmsh.model.occ.getMass(*tag)) for tag in read)
    assert total == pytest.approx(made, rel=1e-6)


def test_a_full_rib_is_a_trapezoid_under_the_slope() -> None:
    block = replace(tapered(3.0), ribs=RIBS)
    rise = math.tan(math.radians(3.0))
    tail = cut_rib(block, RIBS[3])
    low, high = 44.0 - 72.0 * rise, 44.0 - 60.0 * rise
    assert tail.outline.area == pytest.approx(12.0 * (low + high) / 2)
    assert tail.size_mm == pytest.approx((12.0, high))
    assert (tail.top_gap_mm, tail.top_bevel_mm) == (0.0, 0.0)
    # Across the slope one face is lower: by 0.8 of the thickness here, at most a gap.
    askew = cut_rib(block, RIBS[2])
    assert askew.top_gap_mm == pytest.approx(0.8 * 6.0 * rise)


def test_a_thick_rib_across_a_steep_slope_is_ground() -> None:
    rib = Rib("left rib", (0.0, 40.0), (0.0, 1.0), 12.0, 12.0)
    block = replace(tapered(9.0, 3.0), ribs=(rib,))
    check_block(block)
    cut, rise = cut_rib(block, rib), math.tan(math.radians(9.0))
    assert cut.top_bevel_mm == pytest.approx(12.0 * rise)
    assert cut.top_bevel_mm > FIT_GAP_MM
    assert cut.size_mm[1] == pytest.approx(44.0 + 6.0 * rise)
    assert cut.volume_mm3 == pytest.approx(12.0 * 12.0 * 44.0)


@pytest.mark.parametrize("angle_deg", [3.0, -3.0])
def test_a_lean_the_other_way_is_the_same_block_turned_round(angle_deg: float) -> None:
    block = gusseted(tapered(angle_deg), PATTERNS["corner-diagonal"], RibChoice(6.0))
    there = gusseted(tapered(-angle_deg), PATTERNS["corner-diagonal"], RibChoice(6.0))
    assert sorted(weld_lengths_mm(block).values()) == pytest.approx(
        sorted(weld_lengths_mm(there).values())
    )
    # Ribs at the high end are one piece, left and right; those at the low end another.
    kinds = {piece.name: piece.quantity for piece in pieces(block) if piece.kind == "rib"}
    assert kinds == {"rib A": 2, "rib B": 2}
    front = "front" if angle_deg > 0 else "rear"
    (stub,) = (piece for piece in pieces(block) if piece.slant)
    assert stub.slant is not None
    assert stub.slant.long_side == front
    side = 60.0 * math.tan(math.radians(3.0))
    assert (stub.slant.long_mm, stub.slant.short_mm) == pytest.approx((44 + side, 44 - side))


def test_the_weld_round_a_slanting_end_is_longer() -> None:
    """By the polygon walked round, and for a sharp tube by hand: two sides over the cosine."""
    block = tapered(10.0)
    walk = walked_round(block.tube, (), block.slope)
    assert round_tube_mm(block.tube, block.slope) == pytest.approx(walk.length_mm, rel=1e-4)
    sharp = replace(block.tube, corner_radius_mm=0.0)
    by_hand = 240.0 / math.cos(math.radians(10.0)) + 160.0
    assert round_tube_mm(sharp, block.slope) == pytest.approx(by_hand)


def test_a_place_on_the_slope_is_named_as_on_a_level_plate() -> None:
    block = tapered(8.0)
    for x in (70.0, -70.0):
        over = np.array([x, 0.0, block.top_at_mm(x)])
        assert "top plate, upperside" in place_in_words(block, "top plate", over)
        assert "near the top" in place_in_words(
            block, "tube", np.array([math.copysign(60.0, x), 0.0, block.head_at_mm(x) - 5.0])
        )
    turn = math.radians(8.0)
    x, _ = on_top_face(block, (75.0, 0.0))
    assert x == pytest.approx(75.0 * math.cos(turn) - 8.0 * math.sin(turn))


REFUSED = {
    "too steep": (tapered(12.0), ["too steep", "-10 deg to 10 deg"]),
    "not a number": (tapered(math.nan), ["too steep"]),
    "no room for fillets at the rear": (
        replace(tapered(8.0), tube=replace(bare_block().tube, height_mm=18.0)),
        ["the tube's rear side", "smaller angle", "tube height of at least"],
    ),
    "the other way": (
        replace(tapered(-8.0), tube=replace(bare_block().tube, height_mm=18.0)),
        ["the tube's front side"],
    ),
    "plates meet": (
        replace(
            tapered(10.0, 0.0),
            tube=replace(bare_block().tube, height_mm=15.0),
            top=Plate(190.0, 110.0, 8.0, S355),
        ),
        ["the top plate's rear edge"],
    ),
    "a rib too low for its welds": (
        replace(
            tapered(9.0, 3.0),
            tube=replace(bare_block().tube, height_mm=17.5),
            ribs=(Rib("tail rib", (-60.0, 0.0), (-1.0, 0.0), 11.9, 6.0),),
        ),
        ["tail rib, where it is lowest"],
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", REFUSED)
def test_what_leaves_no_room_is_refused(case: str) -> None:
    block, said = REFUSED[case]
    with pytest.raises(BlockError) as caught:
        check_block(block)
    assert caught.value.key == "top_plate.taper"
    for words in said:
        assert words in str(caught.value)
