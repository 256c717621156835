"""Figures of ``bands.py`` beside those of soft seats: between stiff seats, and buckling loads."""

import hashlib
import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from blocks import bare_block

from fea.model import modelled
from geometry.amounts import steels_of
from geometry.block import Block
from geometry.mesher import MeshSizes, meshed
from geometry.patterns import PATTERNS, RibChoice, gusseted
from studies.loads import CrushCase, LoadCase, WrapCase, with_stiff_seats
from studies.mesh_store import mesh_key
from studies.states import states_on
from studies.stiff_seats import stiff_seats
from studies.walls import wall_result

Figures = dict[tuple[str, str], float]
"""What a mesh says, by load case and kind of figure."""

Loads = tuple[LoadCase, ...]
Blocks = dict[str, tuple[Block, Loads]]
FiguresOf = Callable[[Block, Loads, MeshSizes, Path], Figures]

_THIN_LOADS = (
    CrushCase("Crush", 30_000.0, 3.0),
    WrapCase("Wrap", 30_000.0, 3.0, (30.0, 0.0)),
    WrapCase("Lean", 30_000.0, 3.0, (0.0, 15.0)),
)


def stiff_seat_figures(block: Block, loads: Loads, sizes: MeshSizes, keep: Path) -> Figures:
    """First yield and highest pressures, a case for each way steel rubs on the seats."""
    return _kept("stiff", _between_stiff_seats, block, with_stiff_seats(loads, True), sizes, keep)


def buckling_loads(block: Block, loads: Loads, sizes: MeshSizes, keep: Path) -> Figures:
    """The buckling load of each case."""
    return _kept("buckling", _buckling, block, loads, sizes, keep)


def thin_blocks() -> Blocks:
    """Blocks with walls or ribs past their limits."""
    bare = bare_block(0.0)

    def stub(wall_mm: float, height_mm: float) -> Block:
        tube = replace(
            bare.tube, wall_mm=wall_mm, corner_radius_mm=2.0 * wall_mm, height_mm=height_mm
        )
        return replace(bare, tube=tube)

    def ribbed(block: Block, pattern: str, rib_mm: float) -> Block:
        return gusseted(block, PATTERNS[pattern], RibChoice(rib_mm))

    made = {
        "thin walls": stub(2.0, 44.0),
        "thin walls, tall": stub(2.5, 120.0),
        "thin ribs at the corners": ribbed(stub(2.5, 60.0), "corner-diagonal", 2.0),
        "thin cross": ribbed(stub(3.0, 80.0), "inner-cross", 1.5),
    }
    return {name: (block, _THIN_LOADS) for name, block in made.items()}


def _between_stiff_seats(block: Block, loads: Loads, sizes: MeshSizes) -> Figures:
    mesh = meshed(block, sizes)
    model = modelled(mesh, steels_of(block, mesh))
    found = stiff_seats(model, block, loads, None, "", lambda _: None)
    figures: Figures = {}
    for case, seats in zip(loads, found, strict=True):
        for run in seats.runs if seats else ():
            name = f"{case.name}, steel {'grips' if run.sticking else 'slides'}"
            figures[name, "stiff starts"] = run.starts.load_n
            figures[f"{name}, above", "pressure"] = run.above.peak_mpa
            figures[f"{name}, below", "pressure"] = run.below.peak_mpa
    return figures


def _buckling(block: Block, loads: Loads, sizes: MeshSizes) -> Figures:
    mesh = meshed(block, sizes)
    model = modelled(mesh, steels_of(block, mesh))
    states = states_on(model, block, loads, lambda _: None)
    cases = tuple((state.case, state.proportional) for state in states)
    found = wall_result(model, block, cases, lambda _: None).buckling
    return {(one.case, "buckling"): one.load_n for one in found}


def _kept(
    what: str,
    computed: Callable[[Block, Loads, MeshSizes], Figures],
    block: Block,
    loads: Loads,
    sizes: MeshSizes,
    keep: Path,
) -> Figures:
    """What ``computed`` says, from ``keep`` if it is there."""
    digest = hashlib.sha256(f"{what} {mesh_key(block, sizes)} {loads!r}".encode()).hexdigest()[:24]
    path = keep / f"{digest}.json"
    if not path.exists():
        found = computed(block, loads, sizes)
        rows = [[case, kind, value] for (case, kind), value in found.items()]
        path.write_text(json.dumps(rows), encoding="utf-8")
    rows = json.loads(path.read_text(encoding="utf-8"))
    return {(case, kind): value for case, kind, value in rows}
