"""A block's outside for drawing: each body where the block has it, level or tapered."""

from dataclasses import replace

import numpy as np
import pytest
from blocks import bare_block

from geometry.block import Block, Rib
from geometry.outline import Body, block_bodies
from geometry.patterns import PATTERNS, RibChoice, gusseted
from geometry.plan import plate_plan, tube_bore, tube_outside

_FREE = (Rib("nose rib", (60.0, 0.0), (1.0, 0.0), 12.0, 6.0, shape="triangle"),)


def _body(block: Block, name: str) -> Body:
    return next(body for body in block_bodies(block) if body.name == name)


def _area_mm2(body: Body) -> float:
    a, b, c = (body.points_mm[body.triangles[:, corner]] for corner in range(3))
    return float(np.linalg.norm(np.cross(b - a, c - a), axis=1).sum() / 2.0)


@pytest.mark.parametrize("pattern", PATTERNS)
def test_every_rib_and_fillet_stands_between_the_plates(pattern: str) -> None:
    block = gusseted(bare_block(), PATTERNS[pattern], RibChoice(6.0, free=_FREE))
    bodies = block_bodies(block)
    assert {rib.name for rib in block.ribs} <= {body.name for body in bodies}
    for body in bodies:
        assert np.isfinite(body.points_mm).all(), body.name
        assert body.triangles.max() < len(body.points_mm)
        assert body.edges.max() < len(body.points_mm)
        if body.look in ("rib", "weld"):
            z = body.points_mm[:, 2]
            assert block.tube_foot_mm - 1e-9 <= z.min()
            assert z.max() <= block.tube_head_mm + 1e-9


def test_the_tube_has_the_surface_of_a_tube() -> None:
    """Both ends, and both walls by their length from above times the height."""
    block = bare_block()
    outside, bore = tube_outside(block.tube), tube_bore(block.tube)
    walls_mm2 = (outside.length + bore.length) * block.tube.height_mm
    expected = walls_mm2 + 2.0 * (outside.area - bore.area)
    assert _area_mm2(_body(block, "tube")) == pytest.approx(expected, rel=1e-9)


def test_a_tapered_block_is_drawn_with_its_slope() -> None:
    block = replace(bare_block(), taper_deg=4.0)
    top, tube = _body(block, "top plate"), _body(block, "tube")
    x0, y0, x1, y1 = plate_plan(block, "top").bounds
    low, high = top.points_mm.min(axis=0), top.points_mm.max(axis=0)
    assert (low[1], high[1]) == pytest.approx((y0, y1))
    assert (low[0], high[0]) == pytest.approx((x0, x1), abs=block.top.thickness_mm * block.slope)
    assert low[2] == pytest.approx(block.head_at_mm(block.pivot_x_mm - _reach_mm(block, -1.0)))
    upper = tube.points_mm[tube.points_mm[:, 2] > block.tube_foot_mm + 1.0]
    assert upper[:, 2] == pytest.approx([block.head_at_mm(x) for x in upper[:, 0]])


def _reach_mm(block: Block, way: float) -> float:
    """From the pivot to the top plate's underside edge, level."""
    edge = block.top.centre_mm[0] + way * block.top.length_mm / 2 - block.pivot_x_mm
    return abs(edge) * block.tilt_cos
