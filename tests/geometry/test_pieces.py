"""The cut list against the meshed solids; ribs that fit; the STEP file read back."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from blocks import bare_block, patterned
from shapely import Polygon

from geometry.block import Block, Rib
from geometry.cad import gmsh_session
from geometry.mesher import _assembled_solids
from geometry.patterns import PATTERNS
from geometry.pieces import pieces, pieces_mass_kg, weld_mass_kg
from geometry.plan import along, rib_footprint, tube_outside
from geometry.ribs import FIT_GAP_MM, cut_rib, same_cut
from geometry.step import step_bytes

WITH_RIBS = [name for name in PATTERNS if name not in ("plain", "free")]


def _nosed() -> Block:
    """Two triangle ribs, one of them askew, beside a full one."""
    ribs = (
        Rib("nose rib", (60.0, 10.0), (1.0, 0.0), 12.0, 6.0, "triangle", "top"),
        Rib("tail rib", (-60.0, 10.0), (-1.0, 0.0), 12.0, 6.0, "triangle", "top"),
        Rib("foot rib", (60.0, -15.0), (1.0, 0.0), 12.0, 6.0, "triangle", "bottom"),
        Rib("askew rib", (0.0, 40.0), (0.6, 0.8), 11.0, 6.0),
    )
    return replace(bare_block(), ribs=ribs)


BLOCKS = {name: patterned(name) for name in PATTERNS if name != "free"} | {"nosed": _nosed()}


def _volumes_mm3(block: Block) -> dict[str, float]:
    with gmsh_session("volumes") as gmsh:
        parts, volumes = _assembled_solids(gmsh, block)
        return {
            part.name: sum(float(gmsh.model.occ.getMass(3, tag)) for tag in tags)
            for part, tags in zip(parts, volumes, strict=True)
        }


@pytest.fixture(scope="module", params=BLOCKS)
def solid(request: pytest.FixtureRequest) -> tuple[Block, dict[str, float]]:
    block = BLOCKS[request.param]
    return block, _volumes_mm3(block)


def test_the_cut_list_weighs_what_the_solids_weigh(solid: tuple[Block, dict[str, float]]) -> None:
    """The pieces come from flat outlines, the solids from OpenCASCADE.

    Pieces agree to what the polygons round corners leave out; weld metal as well as square
    corners tell, so that the whole is within half a percent.
    """
    block, volumes = solid
    kg = {name: 7850e-9 * volume for name, volume in volumes.items()}
    steel = sum(mass for name, mass in kg.items() if not name.startswith("weld"))
    assert pieces_mass_kg(block) == pytest.approx(steel, rel=3e-4)
    whole = pieces_mass_kg(block) + weld_mass_kg(block)
    assert whole == pytest.approx(sum(kg.values()), rel=0.005)
    by_part = {part: piece for piece in pieces(block) for part in piece.parts}
    assert set(by_part) == {name for name in kg if not name.startswith("weld")}
    for part, piece in by_part.items():
        assert piece.mass_kg == pytest.approx(kg[part], rel=1e-3), part


def test_the_step_file_holds_the_same_steel(
    solid: tuple[Block, dict[str, float]], tmp_path: Path
) -> None:
    block, volumes = solid
    path = tmp_path / "block.step"
    path.write_bytes(step_bytes(block))
    with gmsh_session("read back") as gmsh:
        read = gmsh.model.occ.importShapes(str(path))
        total = sum(float(gmsh.model.occ.getMass(*tag)) for tag in read)
    assert total == pytest.approx(sum(volumes.values()), rel=1e-6)


def test_writing_step_prints_nothing(capfd: pytest.CaptureFixture[str]) -> None:
    step_bytes(BLOCKS["plain"])
    assert capfd.readouterr().out == ""


@pytest.mark.parametrize("name", [*WITH_RIBS, "nosed"])
def test_a_rib_cut_from_its_outline_fits(name: str) -> None:
    """Cut square, it slides in without grinding and no gap is too wide; else it has the steel."""
    block = BLOCKS[name]
    tube = tube_outside(block.tube)
    for rib in block.ribs:
        cut = cut_rib(block, rib)
        assert min(cut.gap_mm, cut.dress_mm) == 0.0
        if rib.inside:
            continue
        start, half = rib.length_mm - cut.size_mm[0], rib.thickness_mm / 2
        reach = [
            along(rib, at, aside)
            for at, aside in (
                (start, half),
                (rib.length_mm, half),
                (rib.length_mm, -half),
                (start, -half),
            )
        ]
        plan, fitted = Polygon(reach), rib_footprint(block, rib)
        for earlier in block.ribs[: block.ribs.index(rib)]:
            fitted = fitted.difference(rib_footprint(block, earlier))
        if cut.dress_mm:
            assert cut.dress_mm > FIT_GAP_MM
            assert fitted.difference(plan).area < 0.01 * fitted.area
            assert fitted.distance(tube) < 0.01
        else:
            assert plan.intersection(tube).area < 0.01
            assert cut.gap_mm <= FIT_GAP_MM
            # What the gap leaves to the weld, and no more.
            assert fitted.difference(plan).area <= cut.gap_mm * rib.thickness_mm + 0.01


def test_the_gap_at_a_round_corner_is_the_rise_of_the_arc() -> None:
    """A diagonal rib t thick on a corner of radius R stands R − √(R² − t²/4) off at its faces."""
    block = BLOCKS["corner-diagonal"]
    rise = 12.0 - np.sqrt(12.0**2 - 3.0**2)
    assert cut_rib(block, block.ribs[0]).gap_mm == pytest.approx(rise, abs=0.01)


def test_mirror_images_are_one_piece_when_turning_the_plate_over_makes_them_so() -> None:
    quantities = {
        name: {piece.name: piece.quantity for piece in pieces(block) if piece.kind == "rib"}
        for name, block in BLOCKS.items()
    }
    assert quantities["plain"] == {}
    assert quantities["mid-wall"] == {"rib": 4}
    assert quantities["corner-diagonal"] == {"rib": 4}
    assert quantities["wall-extensions"] == {"rib A": 4, "rib B": 4}
    assert quantities["inner-cross"] == {"rib A": 1, "rib B": 2}
    # A square-cut triangle under the top plate is the one on the bottom plate turned over.
    assert quantities["nosed"] == {"rib A": 3, "rib B": 1}


def test_a_dressed_end_makes_left_and_right_differ_where_the_rib_has_an_up_and_a_down() -> None:
    """A triangle ground on its left face cannot be turned into one ground on its right."""
    ribs = tuple(
        Rib(f"{side} rib", (55.0, y), (1.0, 0.0), 15.0, 6.0, "triangle", "top")
        for side, y in (("left", 35.5), ("right", -35.5))
    )
    block = replace(bare_block(), ribs=ribs)
    left, right = (cut_rib(block, rib) for rib in ribs)
    assert left.dress_mm > FIT_GAP_MM
    assert not same_cut(left, right)
    full = replace(block, ribs=tuple(replace(rib, shape="full") for rib in ribs))
    assert same_cut(*(cut_rib(full, rib) for rib in full.ribs))
