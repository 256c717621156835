"""The stub as one section: against an independent section library and textbook rectangles."""

import math
from dataclasses import replace

import numpy as np
import pytest
from blocks import S355, bare_block, patterned
from sectionproperties.analysis import Section
from sectionproperties.pre import Geometry
from shapely import MultiPolygon, box, unary_union

from fea.steel import Steel
from geometry.patterns import PATTERNS
from geometry.section import (
    Piece,
    axial_stiffness_n,
    elastic_load_n,
    moments,
    plastic_load_n,
    stub_pieces,
)

PATTERN_NAMES = [name for name in PATTERNS if name != "free"]


def _bar(length_mm: float, width_mm: float, steel: Steel = S355) -> tuple[Piece, ...]:
    half = box(-length_mm / 2, -width_mm / 2, length_mm / 2, width_mm / 2)
    return (Piece("bar", half, steel.yield_mpa, steel.e_mpa),)


@pytest.mark.parametrize("name", PATTERN_NAMES)
def test_an_independent_section_library_agrees(name: str) -> None:
    """sectionproperties meshes tube and ribs together and integrates: area, I and the product."""
    pieces = stub_pieces(patterned(name))
    whole = unary_union([piece.outline for piece in pieces])
    section = Section(Geometry(whole).create_mesh(mesh_sizes=[20.0]))
    section.calculate_geometric_properties()
    ours = np.sum([list(vars(moments(piece.outline)).values()) for piece in pieces], axis=0)
    area, x, y, xx, yy, xy = (float(value) for value in ours)
    assert area == pytest.approx(section.get_area(), rel=1e-6)
    across_x, across_y, product = section.get_ic()
    assert yy - y**2 / area == pytest.approx(across_x, rel=1e-6)
    assert xx - x**2 / area == pytest.approx(across_y, rel=1e-6)
    assert xy - x * y / area == pytest.approx(product, abs=1e-6 * across_x)


def test_two_apart_and_a_hole_count() -> None:
    """Parallel axes by hand: two 10 × 20 bars 100 apart; a 40 × 40 square less a 20 × 20 one."""
    pair = moments(MultiPolygon([box(-55, -10, -45, 10), box(45, -10, 55, 10)]))
    assert pair.area_mm2 == pytest.approx(400.0)
    assert pair.xx_mm4 == pytest.approx(2 * (20 * 10**3 / 12 + 200 * 50.0**2))
    frame = moments(box(-20, -20, 20, 20).difference(box(-10, -10, 10, 10)))
    assert frame.yy_mm4 == pytest.approx((40.0**4 - 20.0**4) / 12)


def test_a_bar_yields_by_the_textbook() -> None:
    """Rectangle b × d pressed at e: P (1/A + 6 e / (b d²)) = fy; doubly off the middle adds up."""
    bar, fy = _bar(60.0, 40.0), S355.yield_mpa
    assert elastic_load_n(bar, (0.0, 0.0)) == pytest.approx(fy * 2400.0)
    at_10 = fy / (1 / 2400.0 + 10.0 * 6 / (40 * 60.0**2))
    assert elastic_load_n(bar, (10.0, 0.0)) == pytest.approx(at_10)
    both = fy / (1 / 2400.0 + 10.0 * 6 / (40 * 60.0**2) + 5.0 * 6 / (60 * 40.0**2))
    assert elastic_load_n(bar, (-10.0, 5.0)) == pytest.approx(both)


def test_a_bar_carries_by_plastic_theory() -> None:
    """Rectangle: m + n² = 1, m = 4 P e/(b d² fy), n = P/(b d fy) (any text on plastic design)."""
    bar, e_mm = _bar(60.0, 40.0), 20.0
    a = 4 * e_mm / 60.0
    n = (-a + math.sqrt(a**2 + 4)) / 2
    carried = plastic_load_n(bar, (e_mm, 0.0))
    assert carried == pytest.approx(n * 2400.0 * S355.yield_mpa, rel=0.01)
    assert plastic_load_n(bar, (0.0, 0.0)) == pytest.approx(2400.0 * S355.yield_mpa, rel=1e-6)


@pytest.mark.parametrize("name", PATTERN_NAMES)
def test_plastic_is_never_below_elastic(name: str) -> None:
    pieces = stub_pieces(patterned(name))
    for at in ((0.0, 0.0), (35.0, 0.0), (0.0, -15.0), (20.0, 20.0)):
        elastic, plastic = elastic_load_n(pieces, at), plastic_load_n(pieces, at)
        assert elastic <= 1.001 * plastic
        assert plastic < 2.0 * elastic


def test_a_weak_piece_yields_first_and_a_soft_one_carries_less() -> None:
    halves = [box(-30, -20, 0, 20), box(0, -20, 30, 20)]
    strong = Piece("a", halves[0], 400.0, 210_000.0)
    weak = Piece("b", halves[1], 200.0, 210_000.0)
    assert elastic_load_n((strong, weak), (0.0, 0.0)) == pytest.approx(200.0 * 2400)
    soft = replace(strong, outline=halves[1], e_mpa=70_000.0)
    assert axial_stiffness_n((strong, soft)) == pytest.approx(1200 * 280_000.0)


def test_only_ribs_that_reach_both_plates_count() -> None:
    full = patterned("mid-wall")
    ribs = tuple(replace(rib, shape="triangle") for rib in full.ribs)
    assert len(stub_pieces(full)) == 5
    assert len(stub_pieces(replace(full, ribs=ribs))) == 1
    assert stub_pieces(bare_block())[0].name == "tube"
