"""What is packed for the viewer: surfaces, outlines, numbers within half a step, harmless names."""

import base64
import gzip
import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from pretend import BODY_MM, CRUSH, YIELD_MPA, body, case_result, comparison, even_field, layout
from shapes import brick

from fea.mesh import Floats
from fea.model import modelled
from fea.steel import Steel
from studies.fields import Fields
from studies.results import LayoutFailure
from studies.units import OutputUnits
from studies.viewer import scenes
from studies.viewer.packing import Loaded, LoadView, Shape, packed, part_colour, script_json
from studies.viewer.scenes import (
    block_pack,
    comparison_pack,
    page_pack,
    viewer_script,
    viewer_style,
)
from studies.viewer.surfaces import skin_of_tets, surface, surface_of_mesh, thinned


def _unpacked(data: str, *streams: tuple[int, int, int]) -> list[Floats]:
    """Arrays (count, columns) of whole numbers, for each (count, columns, bytes a number)."""
    raw, at, found = gzip.decompress(base64.b64decode(data)), 0, []
    for count, columns, width in streams:
        planes = np.frombuffer(raw, np.uint8, count * columns * width, at).reshape(width, -1)
        at += planes.size
        folded = sum(planes[byte].astype(np.int64) << (8 * byte) for byte in range(width))
        steps = (folded >> 1) ^ -(folded & 1)
        found.append(np.cumsum(steps.reshape(columns, count), axis=1).T.astype(float))
    assert at == len(raw)
    return found


def test_the_skin_of_a_brick_is_closed_and_outlined_by_its_twelve_edges() -> None:
    mesh = brick((3, 2, 2), (60.0, 40.0, 30.0))
    found = surface_of_mesh(mesh)
    a, b, c = (found.points_mm[found.triangles[:, i]] for i in range(3))
    normals = np.cross(b - a, c - a)
    area = np.linalg.norm(normals, axis=1).sum() / 2.0
    assert area == pytest.approx(2.0 * (60 * 40 + 40 * 30 + 60 * 30))
    # Gauss: outward normals, so the enclosed volume is positive and the brick's.
    assert np.einsum("ij,ij->", (a + b + c) / 3.0, normals) / 6.0 == pytest.approx(60 * 40 * 30)
    ends = found.points_mm[found.lines]
    length = np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1).sum()
    assert length == pytest.approx(4.0 * (60 + 40 + 30))
    assert np.array_equal(mesh.points_mm[found.origin], found.points_mm)


def test_the_skin_from_tetrahedra_is_that_of_the_mesh() -> None:
    mesh = brick((3, 2, 2), (60.0, 40.0, 30.0))
    triangles, part = skin_of_tets(mesh.tets, mesh.part_of_tet)
    assert {frozenset(one) for one in triangles.tolist()} == {
        frozenset(one) for one in mesh.skin_facets.tolist()
    }
    assert len(part) == len(mesh.skin_facets)


def test_parts_are_outlined_and_stand_in_runs() -> None:
    # Two flat squares of two triangles each, of different parts, that share an edge.
    points = np.array([(x, y, 0.0) for x in (0.0, 1.0, 2.0) for y in (0.0, 1.0)])
    triangles = np.array([(0, 2, 3), (2, 4, 5), (0, 3, 1), (2, 5, 3)])
    found = surface(points, triangles, np.array([0, 1, 0, 1]))
    assert found.part.tolist() == [0, 0, 1, 1]
    outline = {frozenset(map(tuple, found.points_mm[line].tolist())) for line in found.lines}
    assert frozenset({(1.0, 0.0, 0.0), (1.0, 1.0, 0.0)}) in outline
    assert len(outline) == 7  # six at the rim, and the one between the parts


def test_a_thinned_surface_keeps_its_outline_and_stays_closed() -> None:
    mesh = brick((12, 8, 6), (60.0, 40.0, 30.0))
    whole = surface_of_mesh(mesh)
    thin = thinned(whole, 14.0)
    assert len(thin.points_mm) < 0.7 * len(whole.points_mm)
    assert np.array_equal(mesh.points_mm[thin.origin], thin.points_mm)
    ends = thin.points_mm[thin.lines]
    assert np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1).sum() == pytest.approx(
        4 * (60 + 40 + 30)
    )
    a, b, c = (thin.points_mm[thin.triangles[:, i]] for i in range(3))
    assert np.einsum("ij,ij->", (a + b + c) / 3.0, np.cross(b - a, c - a)) / 6.0 == pytest.approx(
        60 * 40 * 30
    )


def test_a_page_with_too_much_in_it_gets_thinner_surfaces(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    model = modelled(brick((16, 12, 10), BODY_MM), (Steel("test steel", YIELD_MPA, 500.0),))
    even_field(model, tmp_path / "0.vtu", 0.35, CRUSH.demand_multiple)
    one = comparison(layout("Body", case_result(CRUSH, 857e3, field_file="0.vtu")))
    whole = page_pack(one, Fields(tmp_path))
    most = len(whole) * 3 // 4
    monkeypatch.setattr(scenes, "MOST_BYTES", most)
    thin = page_pack(one, Fields(tmp_path))
    assert 0 < len(thin) <= most
    assert json.loads(whole)["thinned"] is False
    assert json.loads(thin)["thinned"] is True
    monkeypatch.setattr(scenes, "MOST_BYTES", 1000)
    assert page_pack(one, Fields(tmp_path)) == ""
    ahead = Fields(tmp_path)
    ahead.read_ahead(["missing.vtu", "0.vtu"])
    (tmp_path / "0.vtu").unlink()
    monkeypatch.undo()
    assert page_pack(one, Fields(tmp_path)) == ""
    # What was read ahead is not read again, and what could not be costs nothing else.
    assert page_pack(one, ahead) == whole


def test_numbers_come_back_within_half_a_step() -> None:
    generator = np.random.default_rng(3)
    skin = surface_of_mesh(brick((4, 3, 3), (60.0, 40.0, 30.0)))
    count = len(skin.points_mm)
    share, moved = generator.uniform(0, 1.3, count), generator.normal(0, 0.02, (count, 3))
    yields = generator.choice([235.0, 355.0], count)
    load = Loaded(share, moved, (1.0, 2.0, 3.0), "note")
    view = LoadView("Crush", "300 kN", 1.0, 1.3, 20.0)
    pack = packed([Shape("A", "", skin, ("tube",), (load,), yields)], [view])
    (one,) = pack["layouts"]
    places, triangles, lines, kinds, shares, moves = _unpacked(
        one["data"],
        *((count, 3, 2), (len(skin.triangles), 3, 4), (len(skin.lines), 2, 4)),
        *((count, 1, 2), (count, 1, 2), (count, 3, 2)),
    )
    assert np.array_equal(triangles, skin.triangles)
    assert np.array_equal(lines, skin.lines)
    half = 0.501
    assert np.abs(places * pack["step"] + pack["low"] - skin.points_mm).max() < half * pack["step"]
    (told,) = one["loads"]
    assert np.abs(shares[:, 0] * told["share_step"] - share).max() < half * told["share_step"]
    assert np.abs(moves * told["move_step"] - moved).max() < half * told["move_step"]
    assert np.array_equal(np.array(one["yields"])[kinds[:, 0].astype(int)], yields)
    # A step is too small to see: under a fiftieth of a millimetre, a quarter of a colour's width.
    assert pack["step"] < 0.02
    assert told["share_step"] < 1.3 / 1000


def test_a_comparison_is_packed_at_the_load_demanded(tmp_path: Path) -> None:
    model = body()
    even_field(model, tmp_path / "0.vtu", 0.35, CRUSH.demand_multiple)
    row = layout("Body", case_result(CRUSH, 857e3, field_file="0.vtu"))
    pack = comparison_pack(comparison(row, LayoutFailure("B", False, "x; y")), Fields(tmp_path))
    assert pack is not None
    (one,) = pack["layouts"]
    skin = surface_of_mesh(model.mesh)
    *_, kinds, shares, moves = _unpacked(
        one["data"],
        *((one["points"], 3, 2), (one["triangles"], 3, 4), (one["lines"], 2, 4)),
        *((one["points"], 1, 2), (one["points"], 1, 2), (one["points"], 3, 2)),
    )
    assert one["points"] == len(skin.points_mm)
    assert one["yields"] == [YIELD_MPA]
    assert not kinds.any()
    (told,) = one["loads"]
    assert np.allclose(shares * told["share_step"], 0.35, atol=2e-3)
    # Squeezed by stress / E: at the top by this much, at the load demanded.
    fall = 0.35 * YIELD_MPA / 210_000.0 * BODY_MM[2]
    assert np.abs(moves * told["move_step"]).max() == pytest.approx(fall, rel=2e-3)
    assert pack["loads"][0]["top"] == 0.4
    assert "857 kN ± 3 %, 2.86 × demand" in told["note"].replace("\N{NO-BREAK SPACE}", " ")


def test_without_fields_there_is_nothing_to_turn(tmp_path: Path) -> None:
    assert (
        comparison_pack(comparison(layout("A", case_result(CRUSH, 4e5))), Fields(tmp_path)) is None
    )
    assert comparison_pack(comparison(LayoutFailure("B", False, "x; y")), Fields(tmp_path)) is None


def test_bare_blocks_are_packed_in_the_colours_of_their_parts() -> None:
    pack = block_pack([("A", brick((2, 2, 2), (6.0, 4.0, 3.0)))], OutputUnits(length="in"))
    assert pack["loads"] == []
    assert pack["length"]["unit"] == "in"
    ((run,),) = (one["parts"] for one in pack["layouts"])
    assert (run["first"], run["count"]) == (0, pack["layouts"][0]["triangles"])
    assert part_colour("weld rib to tube") != part_colour("rib") != part_colour("tube")


@pytest.mark.parametrize(
    "name", ["</script><script>alert(1)</script>", "<!--", "a\u2028b", "&amp;"]
)
def test_names_cannot_leave_their_script(name: str) -> None:
    mesh = brick((1, 1, 1), (1.0, 1.0, 1.0))
    said = script_json(block_pack([(name, mesh)], OutputUnits()))
    assert not set("<>&\u2028") & set(said)
    back: Any = json.loads(said)
    assert back["layouts"][0]["name"] == name


def test_the_script_can_stand_inside_a_page() -> None:
    script = viewer_script()
    assert "</script" not in script.lower()
    assert "<!--" not in script
    assert "MIT License" in script
    assert "</style" not in viewer_style()
