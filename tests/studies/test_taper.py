"""A tapered block from study file to papers: statics of every load, words, drawings, refusals."""

import io
import math
from pathlib import Path

import ezdxf
import numpy as np
import pytest
from shapely import Polygon
from tiny_study import TINY, tiny_study

from fea.errors import InputError
from fea.mesh import Floats
from fea.model import Model, modelled
from geometry.amounts import steels_of
from geometry.block import Block
from geometry.joints import joints_of
from geometry.mesher import MeshSizes, meshed
from geometry.pieces import pieces
from geometry.plan import on_top_face
from geometry.skin import UNDERSIDE, UPPERSIDE
from studies.command import main
from studies.hand import hand_checks
from studies.load_words import load_sentence
from studies.loads import CrushCase, LoadCase, PadCase, WrapCase
from studies.pressing.cautions import press_cautions
from studies.pressing.prediction import block_key
from studies.shop.dxf import dxf_text
from studies.shop.lists import cut_list, set_backs, ubolt_table
from studies.shop.model import Axle, Ubolt
from studies.shop.ubolt import ubolt_size
from studies.states import CaseState, states_on
from studies.stiff_seats import stiff_seats
from studies.study import Study, read_study
from studies.sweeps.designs import Design, planned
from studies.units import OutputUnits

LOADS: tuple[LoadCase, ...] = (
    CrushCase("crush", 1e5, 1.0, stiff_seats=True),
    CrushCase("gripped", 1e5, 1.0, friction=True),
    WrapCase("wrap", 1e5, 1.0, (10.0, 0.0), (1e4, 5e3), stiff_seats=True),
    PadCase("pad", 1e5, 1.0, (30.0, 20.0), (5.0, 5.0)),
    WrapCase("clamped", 1e4, 1.0, (10.0, 0.0), clamp_n=5e4),
)
TAN = math.tan(math.radians(4.0))
AXLE = """
[axle]
beam = ["50 mm", "50 mm"]
spring_width = "60 mm"
spring_height = "45 mm"
old_block_height = "30 mm"
[ubolt]
rod = "12 mm"
nut = "10 mm"
thread_past_nut = "10 mm"
"""


def study_with(folder: Path, taper: str, more: str = "", text: str = TINY) -> Study:
    """The tiny study with a taper."""
    before, plate = text.split("[top_plate]\n")
    path = folder / "tapered.toml"
    path.write_text(f'{before}[top_plate]\ntaper = "{taper}"\n{plate}{more}', encoding="utf-8")
    return read_study(path)


@pytest.fixture(scope="module")
def study(tmp_path_factory: pytest.TempPathFactory) -> Study:
    return study_with(tmp_path_factory.mktemp("study"), "4 deg", AXLE)


@pytest.fixture(scope="module")
def computed(study: Study) -> tuple[Block, Model, tuple[CaseState, ...]]:
    block = study.layouts[1].block
    mesh = meshed(block, MeshSizes(1.1, 1.7))
    model = modelled(mesh, steels_of(block, mesh))
    return block, model, states_on(model, block, LOADS, lambda _: None)


def carried(model: Model, face: str, force_n: Floats) -> tuple[Floats, Floats]:
    """Resultant of forces (N, 3) on a face, and its moment about the origin."""
    nodes = np.unique(model.space.skin_nodes[model.mesh.facets_of(face)])
    return force_n[nodes].sum(axis=0), np.cross(model.space.nodes_mm[nodes], force_n[nodes]).sum(0)


def test_every_load_is_upright_where_statics_puts_it(
    computed: tuple[Block, Model, tuple[CaseState, ...]],
) -> None:
    """Wrap and pad act at their places on the sloping face, shear at the height there."""
    block, model, states = computed
    middle, _ = on_top_face(block, (0.0, 0.0))
    for state in states:
        case = state.case
        force, moment = carried(model, UPPERSIDE, state.applied_n)
        answer, back = carried(model, UNDERSIDE, state.applied_n)
        shear = np.array(case.shear_n) if isinstance(case, WrapCase) else np.zeros(2)
        total_n = case.load_n + (case.clamp_n if isinstance(case, WrapCase) else 0.0)
        np.testing.assert_allclose(force + answer, 0.0, atol=1e-6 * total_n)
        np.testing.assert_allclose(moment + back, 0.0, atol=1e-6 * total_n * 60.0)
        assert force[2] == pytest.approx(-total_n, rel=1e-6)
        if case.name != "gripped":
            np.testing.assert_allclose(force[:2], shear, atol=1e-6 * total_n)
        if isinstance(case, WrapCase):
            x = middle + case.load_n / total_n * case.offset_mm[0]
            z = block.top_at_mm(x)
            wanted = np.cross([x, 0.0, z], [*shear, -total_n])
            np.testing.assert_allclose(moment, wanted, atol=1e-6 * total_n * 60.0)


def test_weld_lines_carry_the_load_and_hand_sums_agree(
    computed: tuple[Block, Model, tuple[CaseState, ...]],
) -> None:
    """``loads`` refuses lines that do not carry together, to a millionth, what is applied."""
    block, model, states = computed
    joints = joints_of(block, model)
    for state in states:
        found = joints.loads(model, state.stress_mpa, state.case.name, state.applied_n, 1.0)
        assert len(found) == len(joints.plan.lines)
        yields_n = state.case.load_n / state.found.starts.utilisation
        if not isinstance(state.case, PadCase):
            for check in hand_checks(block, state.case, yields_n, state.stiffness_n_per_mm):
                assert check.believable, (state.case.name, check.figure, check.ratio)
    (line,) = (line for line in joints.plan.lines if line.name == "tube to top plate")
    assert line.beads[0].angle_deg == pytest.approx(94.0)
    for x, _, z in line.points_mm:
        assert z == pytest.approx(block.head_at_mm(x), abs=2e-3)


def test_stiff_seats_bear_on_the_slope(
    computed: tuple[Block, Model, tuple[CaseState, ...]],
) -> None:
    block, model, states = computed
    crush, _, wrap, *_ = stiff_seats(model, block, LOADS, None, "x", lambda _: None)
    assert crush is not None
    assert wrap is not None
    assert (crush.trouble, wrap.trouble) == ("", "")
    assert len(wrap.runs) == 2
    assert all(run.imbalance < 1e-6 for run in (*crush.runs, *wrap.runs))
    soft_n = states[0].case.load_n / states[0].found.starts.utilisation
    assert crush.runs[0].starts.load_n == pytest.approx(soft_n, rel=0.1)


def test_a_hundredth_of_a_degree_is_no_taper(tmp_path: Path) -> None:
    level = read_study_text(tmp_path, TINY).layouts[0].block
    leaning = study_with(tmp_path, "0.01 deg").layouts[0].block
    stiffness, yields = [], []
    for block in (level, leaning):
        mesh = meshed(block, MeshSizes(0.9, 1.4))
        model = modelled(mesh, steels_of(block, mesh))
        state, *_ = states_on(model, block, LOADS[1:2], lambda _: None)
        stiffness.append(state.stiffness_n_per_mm)
        yields.append(state.found.starts.utilisation)
    assert stiffness[1] == pytest.approx(stiffness[0], rel=0.003)
    assert yields[1] == pytest.approx(yields[0], rel=0.05)


def read_study_text(folder: Path, text: str) -> Study:
    path = folder / "tiny.toml"
    path.write_text(text, encoding="utf-8")
    return read_study(path)


def test_no_taper_and_none_of_it_are_one_block(tmp_path: Path) -> None:
    """Also to the book of press tests, whose older keys know of no taper."""
    plain = read_study_text(tmp_path, TINY)
    level = study_with(tmp_path, "0 deg")
    assert plain.layouts == level.layouts
    assert plain.loads == level.loads
    leaning = study_with(tmp_path, "-2 deg").layouts[0].block
    assert block_key(leaning) != block_key(plain.layouts[0].block)
    assert "taper_deg" not in repr(plain.loads)


def test_dxf_read_back_is_the_trapezoid(study: Study) -> None:
    read = 0
    for piece in pieces(study.layouts[1].block):
        if piece.outline is None:
            continue
        drawing = ezdxf.read(io.StringIO(dxf_text(piece, OutputUnits())))  # type: ignore[attr-defined]
        (ring,) = drawing.modelspace().query('LWPOLYLINE[layer=="OUTLINE"]')
        outline = Polygon([(x, y) for x, y, *_ in ring.get_points()])
        assert outline.symmetric_difference(piece.outline).area < 1e-6 * outline.area
        read += piece.kind == "rib" and len(piece.outline.exterior.coords) == 5
    # Ahead, behind, and the pair beside the tube.
    assert read == 3


def test_the_cut_list_has_saw_angle_and_both_sides(study: Study) -> None:
    table = cut_list(study.layouts[1].block, study.shop, study.units)
    rows = {row[0]: [cell.replace("\u00a0", " ") for cell in row] for row in table.rows}
    size, cut = rows["tube stub"][2:4]
    # 20 mm ± 20 mm × tan 4° = 1.4 mm.
    assert "21.4 mm long side, 18.6 mm short side" in size
    assert cut == "saw one end square, the other 4° off square; long side is the front wall"


def test_set_backs_on_the_top_plate_are_measured_along_it(study: Study) -> None:
    """A tube of 40 mm takes 40 / cos 4° = 40.1 mm of the plate: 9.95 mm, 0.392 in, are left."""
    table = set_backs(study.layouts[0].block, OutputUnits(length="mm"))
    by_side = {row[0]: row for row in table.rows}
    assert by_side["front"][1].startswith("10\u00a0mm")
    assert by_side["front"][2].endswith("(0.392\u00a0in)")
    assert by_side["left"][2].startswith("10\u00a0mm")
    assert by_side["left"][3] == "flush"


def test_u_bolts_are_as_long_as_the_thick_end_asks() -> None:
    """Legs stand (60 + 12) / 2 = 36 mm from the hole: 36 tan 4° = 2.52 mm up, and as much down."""
    axle = Axle(False, 50.0, 50.0, 0.0, 60.0, 45.0, None)
    ubolt = Ubolt(12.0, (), 0.0, 10.0, 10.0, False, 12.0)
    level, tapered = (ubolt_size(axle, ubolt, 36.0, slope) for slope in (0.0, -TAN))
    assert tapered.leg_mm - level.leg_mm == pytest.approx(2.517, abs=0.001)
    assert tapered.uneven_mm == pytest.approx(5.035, abs=0.001)
    assert (level.uneven_mm, level.stack_mm[1][0]) == (0.0, "block")


def test_papers_say_what_the_taper_asks(
    tmp_path: Path, study: Study, capsys: pytest.CaptureFixture[str]
) -> None:
    assert study_with(tmp_path, "4 deg", AXLE).layouts
    path = tmp_path / "tapered.toml"
    assert main(["papers", str(path), "--layout", "no gussets", "--out", str(tmp_path)]) == 0
    (page,) = tmp_path.rglob("papers.html")
    text = page.read_text(encoding="utf-8").replace("\u00a0", " ")
    for words in (
        "Tapered by 4°, higher at the front",
        "wedge of 4° on it, thick end to the rear",
        "saw at 4°",
        "taper washers",
        "less stack at the leg by the thin end",
    ):
        assert words in text, words
    table = ubolt_table(study.layouts[0].block, study.shop, study.units)
    assert table is not None
    assert "block, at the thick end's leg" in [row[0] for row in table.rows]
    capsys.readouterr()


def test_words_tell_of_the_wedge(study: Study) -> None:
    assert "through a wedge of 4° that fits its taper" in load_sentence(
        study.loads[0], OutputUnits()
    )
    assert not any("wedge" in caution for caution in press_cautions("1 kN"))
    assert any("thick end" in caution for caution in press_cautions("1 kN", 4.0))


WRONG = {
    "too steep": ("12 deg", "", ["top_plate.taper", "'12 deg'", "-10 deg to 10 deg"]),
    "no unit": ("3", "", ["top_plate.taper", "no unit", '"30 deg"']),
    "a length": ("3 mm", "", ["top_plate.taper", "angle"]),
    "low end": ("-9 deg", "", ["top_plate.taper", "front"]),
    "clamped with shear": (
        "3 deg",
        '[clamp]\nbolt = "M12"\ngrade = "8.8"\ntorque = "60 N m"\n[[loads]]\nkind = "wrap"\n'
        'name = "Wrap"\ntoward = "front"\noffset = "5 mm"\nshear = "1 kN"\nclamped = true\n',
        ["loads['Wrap'].shear", "leave shear out"],
    ),
}


@pytest.mark.parametrize("case", WRONG)
def test_what_is_wrong_is_told_in_one_line(case: str, tmp_path: Path) -> None:
    taper, more, said = WRONG[case]
    text = TINY.replace('height = "20 mm"', 'height = "4 mm"') if case == "low end" else TINY
    with pytest.raises(InputError) as caught:
        study_with(tmp_path, taper, more, text)
    line = str(caught.value)
    assert line.startswith("tapered.toml: ")
    assert "\n" not in line
    for words in said:
        assert words in line, line


def test_a_sweep_varies_the_taper(tmp_path: Path) -> None:
    path = tiny_study(tmp_path)
    plan = planned(path, ["top_plate.taper = -2 to 2 by 2 deg"], None, 100)
    tapers = [one.layout.block.taper_deg for one in plan.designs if isinstance(one, Design)]
    assert sorted(set(tapers)) == [-2.0, 0.0, 2.0]
