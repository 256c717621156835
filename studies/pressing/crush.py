"""Crush a layout as the shop's press would: from its block to the curve and the yielded skin."""

from collections.abc import Callable

from fea.bearing import Patch
from fea.crush import crushed
from fea.curve import Crushed
from fea.mesh import TaggedMesh
from fea.model import modelled
from fea.platens import Press as Platens
from geometry.amounts import steels_of
from geometry.block import Block, Layout
from geometry.mesher import SETTINGS, MeshSizes, Setting, meshed
from geometry.skin import UNDERSIDE, UPPERSIDE
from geometry.visible import visible_skin
from geometry.walls import walls_of
from studies.loads import CrushCase
from studies.pressing.gauge import NoseSize

COARSER = 1.4
"""How many times coarser the second mesh is from which a curve's mesh bands come."""

_CURVE_SIZES: dict[Setting, MeshSizes] = {
    "quick": SETTINGS["quick"].refined(1.0 / COARSER),
    "normal": SETTINGS["quick"],
    "fine": SETTINGS["normal"],
}
"""Plastic strain evens stress out, so that a curve needs less fine a mesh than first yield does."""


def curve_sizes(setting: Setting) -> MeshSizes:
    """Element sizes of a press curve at a mesh setting."""
    return _CURVE_SIZES[setting]


_PIN_CLEARANCE = 1.1
"""The hole that the pin goes through below, over the pin's diameter (common practice, no source)"""


def crush_layout(
    layout: Layout,
    case: CrushCase,
    nose_mm: NoseSize,
    sizes: MeshSizes,
    say: Callable[[str], None],
) -> tuple[TaggedMesh, Crushed]:
    """Press a layout on a full platen below, the pin through a hole in it, under a ram above.

    The ram's nose stands in the middle of the top plate; None covers the whole of it. Raises
    MeshError or SolveError when the layout cannot be meshed or pressed.
    """
    block = layout.block
    say("meshing")
    mesh = meshed(block, sizes)
    model = modelled(mesh, steels_of(block, mesh))
    press = platens_for(block, case, nose_mm)
    say("crushing it step by step")
    seen = visible_skin(block, mesh, press.nose)
    return mesh, crushed(model, press, seen, slender=slender_words(block))


def platens_for(block: Block, case: CrushCase, nose_mm: NoseSize = None) -> Platens:
    """A full platen below, with a hole for the pin; above it the ram's nose or a full platen."""
    hole_mm = _PIN_CLEARANCE * block.pin.diameter_mm if block.pin else 0.0
    nose = Patch(nose_mm, block.top.centre_mm) if nose_mm else None
    return Platens(UNDERSIDE, UPPERSIDE, nose, hole_mm, case.friction)


def slender_words(block: Block) -> str:
    """Which wall is most past its limit and may buckle; empty where all are stocky."""
    slender = [wall for wall in walls_of(block) if wall.slender]
    if not slender:
        return ""
    worst = max(slender, key=lambda wall: wall.slenderness / wall.limit)
    return (
        f"{worst.name} is {worst.slenderness:.0f} times as wide as thick and may buckle once it "
        f"yields (limit {worst.limit:.0f})"
    )
