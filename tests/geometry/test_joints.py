"""Weld lines of whole blocks: every newton accounted for, and lines where beads are."""

from dataclasses import dataclass, replace

import numpy as np
import pytest
from blocks import S355, patterned

from fea.bearing import seat_on, seated
from fea.elasticity import vertex_stress_mpa
from fea.errors import SolveError
from fea.mesh import Floats
from fea.model import Model, modelled
from fea.seams import evened
from fea.solving import solved
from geometry.amounts import steels_of
from geometry.block import Block, Plate, Rib, Tube, Welds
from geometry.joints import Joints, joints_of
from geometry.mesher import MeshSizes, meshed
from geometry.skin import UNDERSIDE, UPPERSIDE
from geometry.weld_lines import WeldLine
from geometry.welds import weld_lengths_mm

LOAD, OFFSET = 30_000.0, 25.0
COARSE = MeshSizes(0.8, 1.1)


@dataclass(frozen=True)
class Case:
    block: Block
    model: Model
    joints: Joints
    applied: Floats
    stress: Floats
    values: dict[str, Floats]

    def line(self, name: str) -> WeldLine:
        return next(line for line in self.joints.plan.lines if line.name == name)

    def summed(self, name: str) -> Floats:
        """Pull, outward, along and couple of a whole line in N and N·mm."""
        line = self.line(name)
        lengths = np.full(len(line.points_mm), line.spacing_mm)
        if not line.closed:
            lengths[[0, -1]] /= 2
        return lengths @ self.values[name]


def _case(block: Block, offset: float = OFFSET, sizes: MeshSizes = COARSE) -> Case:
    mesh = meshed(block, sizes)
    model = modelled(mesh, steels_of(block, mesh))
    top, bottom = seat_on(model, UPPERSIDE), seat_on(model, UNDERSIDE)
    at = np.array([offset, 0.0])
    (solution,) = solved(model, (seated(model, "wrap", top, bottom, LOAD, at, np.zeros(2)),))
    joints = joints_of(block, model)
    stress = vertex_stress_mpa(model, solution.displacement_mm)
    applied = solution.problem.force_n + solution.reaction_n
    loads = joints.loads(model, stress, "wrap", applied, 1.0)
    values = {
        line.name: np.column_stack([load.pull, load.outward, load.along, load.couple])
        for line, load in zip(joints.plan.lines, loads, strict=True)
    }
    return Case(block, model, joints, applied, stress, values)


@pytest.fixture(scope="module")
def ribbed() -> Case:
    """Diagonal ribs, a nose rib below at the front, and the load towards the front."""
    block = patterned("corner-diagonal")
    nose = Rib("nose rib", (60.0, 0.0), (1.0, 0.0), 12.0, 6.0, "triangle", "bottom")
    return _case(replace(block, ribs=(*block.ribs, nose)))


@pytest.mark.parametrize("plate", ["bottom", "top"])
def test_the_lines_on_a_plate_carry_the_load_and_its_moment(ribbed: Case, plate: str) -> None:
    """Statics: a cut right through the block carries P, and P · e about its middle."""
    force = moment = 0.0
    for line in ribbed.joints.plan.lines:
        if not line.name.endswith(f"to {plate} plate"):
            continue
        pull = ribbed.values[line.name][:, 0]
        lengths = np.full(len(pull), line.spacing_mm)
        if not line.closed:
            lengths[[0, -1]] /= 2
        force += lengths @ pull
        moment += (lengths * np.array(line.points_mm)[:, 0]) @ pull
    assert force == pytest.approx(-LOAD, rel=1e-5)
    # Lines lie on the tube's outside, what crosses them further in: the couples are left out.
    assert moment == pytest.approx(-LOAD * OFFSET, rel=0.05)


def test_a_rib_is_in_balance_with_what_it_touches(ribbed: Case) -> None:
    """Statics of a free body: nothing else touches this rib, so its joints push it nowhere."""
    name = "front left rib"
    below, above = (ribbed.summed(f"{name} to {plate} plate") for plate in ("bottom", "top"))
    beside = ribbed.summed(f"{name} to tube")
    # Up, and away from the tube.
    assert below[0] - above[0] + beside[2] == pytest.approx(0.0, abs=1.0)
    assert below[2] + above[2] + beside[0] == pytest.approx(0.0, abs=1.0)


def test_left_and_right_are_alike(ribbed: Case) -> None:
    for name in ("front {} rib to top plate", "rear {} rib to tube"):
        left, right = (ribbed.summed(name.format(side)) for side in ("left", "right"))
        np.testing.assert_allclose(left[[0, 2]], right[[0, 2]], rtol=0.03)


def test_lines_are_as_long_as_their_beads(ribbed: Case) -> None:
    lengths = weld_lengths_mm(ribbed.block)
    for line in ribbed.joints.plan.lines:
        bead = lengths[f"weld {line.name}"]
        # Beads that start at a round corner are counted without its arc.
        assert len(line.beads) * line.length_mm == pytest.approx(bead, rel=0.01), line.name


def test_lines_name_places_and_parts(ribbed: Case) -> None:
    line = ribbed.line("tube to top plate")
    assert {"front wall", "left wall", "rear right corner"} <= set(line.places)
    for (x, y, z), place in zip(line.points_mm, line.places, strict=True):
        assert z == 52.0
        assert place != "front wall" or x > 59.0
        assert place != "rear right corner" or (x < -48.0 and y < -28.0)
    assert [part.thickness_mm for part in line.parts] == [8.0, 6.0]
    foot = ribbed.line("front left rib to tube")
    # A rib 6 mm thick meets the round corner of 12 mm at 90° + asin(3/12); half the arc of a 5 mm
    # leg takes its toe further round.
    opening = 90.0 + np.degrees(np.arcsin(3 / 12) + 5 / 12 / 2)
    assert [bead.angle_deg for bead in foot.beads] == pytest.approx([opening] * 2, abs=0.3)
    assert sorted(bead.arm_mm for bead in foot.beads) == pytest.approx([-3.0, 3.0])
    nose = ribbed.line("nose rib to tube")
    assert nose.points_mm[0][2] == 8.0
    assert nose.points_mm[-1][2] == 45.0
    assert not any(line.name == "nose rib to top plate" for line in ribbed.joints.plan.lines)


def test_forces_that_do_not_add_up_are_refused(ribbed: Case) -> None:
    with pytest.raises(SolveError, match="differ from the load"):
        ribbed.joints.loads(ribbed.model, 1.00001 * ribbed.stress, "wrap", ribbed.applied, 1.0)


def test_a_factor_scales_what_crosses(ribbed: Case) -> None:
    tripled = ribbed.joints.loads(ribbed.model, ribbed.stress, "wrap", ribbed.applied, 3.0)
    np.testing.assert_allclose(
        tripled[0].pull, 3 * ribbed.values["tube to bottom plate"][:, 0], atol=2e-4
    )


def test_ribs_inside_have_lines_but_no_beads() -> None:
    block = patterned("inner-cross")
    case = _case(replace(block, ribs=block.ribs[:1]), sizes=MeshSizes(1.0, 1.4))
    inner = [line for line in case.joints.plan.lines if line.name.startswith("inner")]
    assert [line.name for line in inner] == [
        "inner lengthwise rib to bottom plate",
        "inner lengthwise rib to top plate",
        "inner lengthwise rib to tube, rear wall",
        "inner lengthwise rib to tube, front wall",
    ]
    assert not any(line.leg_mm or line.reached for line in inner)
    # Pressed towards the front, the rib pushes on the front wall and not on the rear one.
    assert case.summed(inner[3].name)[0] < 10 * case.summed(inner[2].name)[0]


def test_a_tall_stub_between_thick_plates_is_the_handbook_line() -> None:
    """Weld as a line, q = P/L ± P e x / I, I of a rounded rectangle by hand.

    Blodgett, *Design of Welded Structures*, 1966, section 7.4 (from memory) has the sharp one.
    """
    length, width, r, e = 120.0, 80.0, 12.0, 20.0
    plate = Plate(150.0, 110.0, 40.0, S355)
    tube = Tube(length, width, 6.0, r, 150.0, S355)
    case = _case(Block(tube, plate, plate, (), S355, Welds()), offset=e)
    line, values = case.line("tube to bottom plate"), case.values["tube to bottom plate"]
    pull = evened(values, line.spacing_mm, True, 30.0)[:, 0]
    perimeter = 2 * (length + width) + (2 * np.pi - 8) * r
    assert line.length_mm == pytest.approx(perimeter, rel=1e-3)
    centre = length / 2 - r
    arcs = 4 * r * (centre**2 * np.pi / 2 + 2 * centre * r + r**2 * np.pi / 4)
    inertia = 2 * (width - 2 * r) * (length / 2) ** 2 + 2 * (length - 2 * r) ** 3 / 12 + arcs
    x, y, _ = np.array(line.points_mm).T
    for way in (1.0, -1.0):
        middle = int(np.argmax(way * x - 0.1 * np.abs(y)))
        assert pull[middle] == pytest.approx(
            -LOAD / perimeter - LOAD * e * x[middle] / inertia, rel=0.05
        )
