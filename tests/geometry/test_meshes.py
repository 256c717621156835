"""Meshes of every pattern against hand formulas, and what the solver relies on."""

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from blocks import S355, bare_block, patterned
from random_studies import random_study

from fea.errors import MeshError
from fea.mesh import Floats, TaggedMesh
from geometry import mesher
from geometry.amounts import mass_kg, steels_of
from geometry.block import Block, Plate, Rib
from geometry.checks import check_block
from geometry.mesher import SETTINGS, MeshSizes, meshed, meshed_along
from geometry.patterns import PATTERNS, RibChoice, gusseted
from geometry.plan import rib_footprint
from geometry.skin import UNDERSIDE, UPPERSIDE
from geometry.slivers import FULL_ENOUGH, fullness
from geometry.stock import tube_properties
from studies.study import read_study

DEMO = Path(__file__).parents[2] / "studies/demo/bench_block.toml"
NAMED = [name for name in PATTERNS if name != "free"]


def tube_volume_mm3(block: Block) -> float:
    tube = block.tube
    section = tube_properties(
        tube.length_mm, tube.width_mm, tube.wall_mm, tube.corner_radius_mm, tube.inner_radius_mm
    )
    return section.area_mm2 * tube.height_mm


def hand_volume_mm3(block: Block) -> float:
    """Everything but the fillets, each solid by its formula."""
    volume = tube_volume_mm3(block)
    for plate in (block.bottom, block.top):
        volume += plate.length_mm * plate.width_mm * plate.thickness_mm
    if block.hole:
        volume -= math.pi / 4 * block.hole.diameter_mm**2 * block.top.thickness_mm
    if block.pin:
        volume += math.pi / 4 * block.pin.diameter_mm**2 * block.pin.length_mm
    taken = None
    for rib in block.ribs:
        plan = rib_footprint(block, rib)
        free = plan if taken is None else plan.difference(taken)
        taken = plan if taken is None else taken.union(plan)
        volume += free.area * block.tube.height_mm
    return volume


@pytest.mark.parametrize("pattern", NAMED)
def test_fused_volume_is_that_of_the_formulas(pattern: str) -> None:
    block = patterned(pattern, leg_mm=0.0)
    mesh = meshed(block, SETTINGS["quick"])
    by_hand = hand_volume_mm3(block)
    assert sum(part.volume_mm3 for part in mesh.parts) == pytest.approx(by_hand, rel=1e-4)
    assert mesh.tet_volumes_mm3.sum() == pytest.approx(by_hand, rel=0.005)
    assert mesh.part_volume_mm3("tube") == pytest.approx(tube_volume_mm3(block), rel=0.005)
    assert mass_kg(mesh, steels_of(block, mesh)) == pytest.approx(by_hand * 7.85e-6, rel=1e-4)
    _check_seats(block, mesh)


@pytest.mark.parametrize("pattern", NAMED)
def test_welded_parts_are_all_there(pattern: str) -> None:
    block = patterned(pattern)
    mesh = meshed(block, SETTINGS["quick"])
    names = {part.name for part in mesh.parts}
    assert {"bottom plate", "top plate", "tube", "pin"} <= names
    assert {rib.name for rib in block.ribs} <= names
    assert {"weld tube to bottom plate", "weld tube to top plate"} <= names
    for rib in block.ribs:
        if not rib.inside:
            assert f"weld {rib.name} to bottom plate" in names
            assert f"weld {rib.name} to top plate" in names
    assert sum(part.volume_mm3 for part in mesh.parts) > hand_volume_mm3(block)
    _check_seats(block, mesh)


def _check_seats(block: Block, mesh: TaggedMesh) -> None:
    under = mesh.facet_areas_mm2[mesh.facets_of(UNDERSIDE)].sum()
    over = mesh.facet_areas_mm2[mesh.facets_of(UPPERSIDE)].sum()
    assert block.pin is not None
    assert block.hole is not None
    # The pin's and the hole's circles are meshed as polygons.
    whole = block.bottom.length_mm * block.bottom.width_mm
    assert under == pytest.approx(whole - math.pi / 4 * block.pin.diameter_mm**2, rel=1e-3)
    assert over == pytest.approx(whole - math.pi / 4 * block.hole.diameter_mm**2, rel=1e-3)
    assert (mesh.facet_normals[mesh.facets_of(UPPERSIDE), 2] > 0.999).all()
    assert (mesh.facet_normals[mesh.facets_of(UNDERSIDE), 2] < -0.999).all()


def test_a_ring_weld_has_the_volume_of_a_swept_triangle() -> None:
    """Leg² / 2 times its centroid's path, a third of a leg off the tube (Pappus)."""
    block = bare_block(5.0)
    mesh = meshed(block, SETTINGS["quick"])
    tube = block.tube
    straight = 2 * (tube.length_mm + tube.width_mm) - 8 * tube.corner_radius_mm
    path = straight + 2 * math.pi * (tube.corner_radius_mm + 5.0 / 3)
    weld = mesh.parts[mesh.part_index("weld tube to top plate")]
    assert weld.volume_mm3 == pytest.approx(12.5 * path, rel=1e-3)


def test_two_elements_or_more_through_every_thickness() -> None:
    """At the normal setting no element reaches from face to face of a plate, wall or rib."""
    block = patterned("mid-wall", leg_mm=0.0)
    mesh = meshed(block, SETTINGS["normal"])
    tube = block.tube
    spans = {
        "bottom plate": (lambda p: p[:, 2], 0.0, block.tube_foot_mm),
        "top plate": (lambda p: p[:, 2], block.tube_head_mm, block.height_mm),
        "front rib": (lambda p: p[:, 1], -3.0, 3.0),
    }
    for name, (across, low, high) in spans.items():
        tets = mesh.tets[mesh.part_of_tet == mesh.part_index(name)]
        where = across(mesh.points_mm)[tets]
        through = (np.abs(where - low) < 1e-6).any(axis=1) & (np.abs(where - high) < 1e-6).any(
            axis=1
        )
        assert through.mean() < 0.001, name
    tets = mesh.tets[mesh.part_of_tet == mesh.part_index("tube")]
    x = mesh.points_mm[tets][..., 0]
    straight = (np.abs(mesh.points_mm[tets][..., 1]) < tube.width_mm / 2 - 15.0).all(axis=1)
    outer = (np.abs(x - tube.length_mm / 2) < 1e-6).any(axis=1)
    inner = (np.abs(x - tube.length_mm / 2 + tube.wall_mm) < 1e-6).any(axis=1)
    assert outer[straight].any()
    assert (outer & inner & straight).sum() < 0.001 * straight.sum() + 1


def test_the_same_block_gives_the_same_mesh() -> None:
    first, second = (meshed(patterned("overhang"), SETTINGS["quick"]) for _ in range(2))
    np.testing.assert_array_equal(first.points_mm, second.points_mm)
    np.testing.assert_array_equal(first.tets, second.tets)


@pytest.mark.parametrize("side", ["bottom", "top"])
def test_a_triangle_rib_stands_on_one_plate(side: str) -> None:
    rib = Rib("nose rib", (60.0, 8.0), (1.0, 0.0), 13.0, 6.0, "triangle", side)  # type: ignore[arg-type]
    block = replace(bare_block(4.0), ribs=(rib,))
    check_block(block)
    mesh = meshed(block, SETTINGS["quick"])
    names = {part.name for part in mesh.parts}
    other = {"bottom": "top", "top": "bottom"}[side]
    assert f"weld nose rib to {side} plate" in names
    assert f"weld nose rib to {other} plate" not in names
    tall, nose = 44.0 - 4.0 - 2.0, 6.0
    solid = mesh.parts[mesh.part_index("nose rib")]
    assert solid.volume_mm3 == pytest.approx(13.0 * 6.0 * (tall + nose) / 2, rel=1e-6)


@pytest.mark.parametrize(
    "change",
    [
        {"pin": None, "hole": None},
        {"top": Plate(170.0, 120.0, 12.0, S355, (8.0, -3.0))},
        {"bottom": Plate(130.0, 90.0, 6.0, S355)},
    ],
    ids=["no pin or hole", "larger top plate off centre", "smaller bottom plate"],
)
def test_other_blocks_mesh_too(change: dict[str, object]) -> None:
    block = replace(bare_block(4.0), **change)  # type: ignore[arg-type]
    check_block(block)
    mesh = meshed(block, SETTINGS["quick"])
    assert mesh.tet_volumes_mm3.sum() > hand_volume_mm3(block) * 0.995


@pytest.mark.parametrize("radius_mm", [0.0, 6.0, 9.0, 18.0])
def test_any_corner_radius_meshes(radius_mm: float) -> None:
    block = patterned("corner-diagonal", leg_mm=0.0)
    block = replace(bare_block(4.0), tube=replace(block.tube, corner_radius_mm=radius_mm))
    check_block(block)
    mesh = meshed(block, SETTINGS["quick"])
    assert mesh.part_volume_mm3("tube") == pytest.approx(tube_volume_mm3(block), rel=0.01)


def shape_quality(mesh: TaggedMesh) -> Floats:
    """Mean-ratio quality of each tetrahedron, 1 when regular (Liu & Joe 1994, from memory)."""
    corners = mesh.points_mm[mesh.tets]
    squares = sum(
        ((corners[:, i] - corners[:, j]) ** 2).sum(axis=1) for i in range(4) for j in range(i)
    )
    return np.asarray(12.0 * (3.0 * mesh.tet_volumes_mm3) ** (2 / 3) / squares)


def test_a_nearly_sharp_bore_corner_brings_no_slivers() -> None:
    """A bore radius of half a millimetre in a 10 mm wall; sized by its arc it gave 8 % slivers."""
    block = bare_block(0.0)
    tube = replace(block.tube, wall_mm=10.0, corner_radius_mm=10.5, length_mm=60.0, width_mm=50.0)
    block = replace(block, tube=tube)
    check_block(block)
    assert (shape_quality(meshed(block, SETTINGS["quick"])) < 0.05).mean() < 1e-4


@pytest.mark.parametrize("pattern", ["corner-diagonal", "wall-extensions"])
def test_few_poor_tetrahedra_at_the_welds(pattern: str) -> None:
    quality = shape_quality(meshed(patterned(pattern), SETTINGS["quick"]))
    assert (quality < 0.05).mean() < 1e-3


def test_a_rib_may_start_from_the_drawn_sharp_corner() -> None:
    """Its end is fitted to the round: a bar from the chord across it, less the circle's segment."""
    diagonal = (math.sqrt(0.5), math.sqrt(0.5))
    rib = Rib("corner rib", (60.0, 40.0), diagonal, 12.0, 6.0)
    block = replace(bare_block(0.0), ribs=(rib,))
    check_block(block)
    mesh = meshed(block, SETTINGS["quick"])
    # Measured from the round's centre, 12√2 mm behind the sharp corner; the chord is 6 mm long.
    half = math.asin(3.0 / 12.0)
    segment = 12.0**2 * (half - math.sin(half) * math.cos(half))
    run = 12.0 + 12.0 * math.sqrt(2.0) - math.sqrt(12.0**2 - 3.0**2)
    by_hand = (6.0 * run - segment) * block.tube.height_mm
    assert mesh.parts[mesh.part_index("corner rib")].volume_mm3 == pytest.approx(by_hand, rel=1e-6)


def test_the_inch_block_meshes_in_every_layout() -> None:
    for layout in read_study(DEMO).layouts:
        mesh = meshed(layout.block, SETTINGS["quick"])
        assert mesh.tet_volumes_mm3.sum() > 0.995 * hand_volume_mm3_without_triangles(layout.block)


def hand_volume_mm3_without_triangles(block: Block) -> float:
    full = tuple(rib for rib in block.ribs if rib.shape == "full")
    return hand_volume_mm3(replace(block, ribs=full))


@pytest.mark.parametrize(
    ("number", "in_vain"), [(1006, (1.0,)), pytest.param(5277, (1.0, 1.2), marks=pytest.mark.long)]
)
def test_where_the_mesher_gives_up_it_is_asked_again(
    tmp_path: Path, number: int, in_vain: tuple[float, ...]
) -> None:
    """Slightly smaller elements do for a rib's foot, another way with a tapered tube's corner."""
    path = tmp_path / "block.toml"
    path.write_text(random_study(number), encoding="utf-8")
    block, sizes = read_study(path).layouts[0].block, MeshSizes(0.9, 1.4)
    for finer in in_vain:
        with pytest.raises(MeshError, match="gave up"):
            meshed_along(block, (sizes.refined(finer),), (1,))
    assert meshed(block, sizes).mirror_axes == (1,)


def _small(leg_mm: float, tube_mm: tuple[float, float], rib: Rib) -> Block:
    """A low block with one rib, and nothing else to mesh."""
    bare = bare_block(leg_mm)
    plate = replace(bare.top, length_mm=80.0, width_mm=44.0)
    length_mm, width_mm = tube_mm
    tube = replace(bare.tube, length_mm=length_mm, width_mm=width_mm, height_mm=16.0)
    return replace(bare, tube=tube, bottom=plate, top=plate, ribs=(rib,), hole=None, pin=None)


def test_a_rib_may_reach_a_hair_into_a_round_corner() -> None:
    """By 0.01 mm a side: there its end and the round part by a hundred-thousandth of one."""
    rib = Rib("inner", (-19.0, 0.0), (1.0, 0.0), 38.0, 6.02, inside=True)
    block, sizes = _small(0.0, (50.0, 30.0), rib), MeshSizes(0.9, 1.4)
    with pytest.raises(MeshError, match="gave up"):
        meshed_along(block, (sizes,), (0, 1))
    mesh = meshed(block, sizes)
    assert mesh.mirror_axes == (0, 1)
    assert fullness(mesh.points_mm, mesh.tets).min() > 0.1
    # Edges made one bring its sides back to where the round begins, 0.01 mm each; else the rib is
    # what was drawn, 38 mm between the walls.
    exact = 38.0 * 6.02 * block.tube.height_mm
    volume_mm3 = mesh.part_volume_mm3("inner")
    assert (6.0 / 6.02 - 1e-3) * exact < volume_mm3 < 1.001 * exact


def test_a_fillet_may_be_a_hair_longer_than_its_rib() -> None:
    rib = Rib("fin", (20.0, 0.0), (1.0, 0.0), 5.0987, 6.0)
    block, sizes = _small(5.1, (40.0, 30.0), rib), MeshSizes(0.9, 1.4)
    (as_drawn,) = meshed_along(block, (sizes,), (1,))
    assert fullness(as_drawn.points_mm, as_drawn.tets).min() < 1e-4
    mesh = meshed(block, sizes)
    assert fullness(mesh.points_mm, mesh.tets).min() > FULL_ENOUGH
    volume_mm3 = as_drawn.tet_volumes_mm3.sum()
    assert mesh.tet_volumes_mm3.sum() == pytest.approx(volume_mm3, rel=1e-4)


def test_a_rib_side_a_hair_past_a_round_corner_leaves_no_needles() -> None:
    """It meets the bore's round within nanometres of where that begins; no steel goes with it."""
    plain = bare_block(leg_mm=0.0)
    low = replace(plain.tube, width_mm=30.0, height_mm=10.0)
    plate = replace(plain.top, length_mm=130.0, width_mm=50.0)
    block = replace(plain, tube=low, bottom=plate, top=plate, pin=None, hole=None)
    level_mm = low.width_mm / 2 - low.corner_radius_mm
    choice = RibChoice(2.0 * (level_mm + 0.037))
    block, sizes = gusseted(block, PATTERNS["inner-cross"], choice), MeshSizes(0.9, 1.4)
    (poor,) = meshed_along(block, (sizes,), (0, 1))
    assert fullness(poor.points_mm, poor.tets).min() < 1e-4
    mesh = meshed(block, sizes)
    assert fullness(mesh.points_mm, mesh.tets).min() > FULL_ENOUGH
    assert mesh.mirror_axes == (0, 1)
    assert mesh.tet_volumes_mm3.sum() == pytest.approx(hand_volume_mm3(block), rel=0.005)
    for rib in block.ribs:
        by_hand = rib.length_mm * rib.thickness_mm * low.height_mm
        assert mesh.part_volume_mm3(rib.name) == pytest.approx(by_hand, rel=1e-3)


def test_a_rib_ending_a_hair_past_a_fillets_toe_leaves_no_needles(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """As short as ribs may be, its end lies beside the toe of the fillet round the tube.

    What would take steel away with the edges is left undone.
    """
    plain = bare_block()
    low = replace(plain.tube, width_mm=50.0, height_mm=30.0)
    plate = replace(plain.top, width_mm=80.0, thickness_mm=12.0)
    rib = Rib("short rib", (60.0, 0.0), (1.0, 0.0), plain.welds.tube_top_mm + 0.02, 8.0)
    block = replace(plain, tube=low, bottom=plate, top=plate, pin=None, hole=None, ribs=(rib,))
    check_block(block)
    mesh = meshed(block, MeshSizes(0.9, 1.4))
    assert fullness(mesh.points_mm, mesh.tets).min() > FULL_ENOUGH
    monkeypatch.setattr(mesher, "_GLUED_SHARES", (0.0, 0.2))
    poor = meshed(block, MeshSizes(0.9, 1.4))
    assert fullness(poor.points_mm, poor.tets).min() < 0.02
    for part in poor.parts:
        assert mesh.part_volume_mm3(part.name) == pytest.approx(part.volume_mm3, rel=0.01)
