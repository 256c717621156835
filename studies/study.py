"""Read a study file into a ``Study``: layouts as checked blocks, and load cases."""

import difflib
import math
import re
import tomllib
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, NoReturn

from pydantic import ValidationError

from fea.errors import BlockError, InputError
from fea.grades import steel_of_grade
from fea.steel import Steel
from geometry.block import Block, Hole, Layout, Pin, Plate, Rib, Tube, Welds
from geometry.checks import check_block
from geometry.mesher import Setting
from geometry.patterns import PATTERNS, RibChoice, gusseted
from geometry.stock import design_wall_mm, inner_corner_radius_mm, outer_corner_radius_mm
from studies.loads import CrushCase, LoadCase, PadCase, WrapCase
from studies.refusals import first_refusal
from studies.schema import (
    CrushTable,
    LayoutTable,
    OwnSteel,
    PadTable,
    PlateTable,
    SteelChoice,
    StudyTable,
    WrapTable,
)
from studies.units import OutputUnits

_LARGEST_BYTES = 1_000_000
_TOWARD = {"front": (1.0, 0.0), "rear": (-1.0, 0.0), "left": (0.0, 1.0), "right": (0.0, -1.0)}


@dataclass(frozen=True)
class Study:
    """All that a study file says, checked."""

    title: str
    slug: str
    layouts: tuple[Layout, ...]
    loads: tuple[LoadCase, ...]
    rated_load_n: float
    units: OutputUnits
    setting: Setting


class _Reader:
    """Turns tables into dimensions and names file, key and value in every refusal."""

    def __init__(self, path: Path) -> None:
        self.path = path

    def refuse(self, key: str, problem: str, remedy: str) -> NoReturn:
        raise InputError(f"{self.path.name}: {key}: {problem}", remedy)

    def steel(self, key: str, choice: SteelChoice, thickness_mm: float) -> Steel:
        if isinstance(choice, OwnSteel):
            for name, value in (
                ("yield", choice.yield_),
                ("E", choice.e),
                ("density", choice.density),
            ):
                if value <= 0.0:
                    self.refuse(
                        f"{key}.{name}", "must be more than nothing", "give a steel's value"
                    )
            if choice.ultimate < choice.yield_:
                self.refuse(f"{key}.ultimate", "is below the yield", "give the higher figure")
            return Steel(
                choice.name, choice.yield_, choice.ultimate, choice.e, choice.nu, choice.density
            )
        try:
            return steel_of_grade(choice, thickness_mm)
        except InputError as error:
            self.refuse(key, error.problem, error.remedy)


def read_study(path: Path) -> Study:
    """Read and check a study file.

    Raises InputError in one line that names the file, the key, the value and the remedy.
    """
    data = _toml(path)
    reader = _Reader(path)
    try:
        table = StudyTable.model_validate(data)
    except ValidationError as error:
        raise first_refusal(path.name, data, error) from error
    layouts = _layouts(reader, table)
    return Study(
        title=table.title,
        slug=slug(path.stem),
        layouts=layouts,
        loads=_loads(reader, table, layouts[0].block),
        rated_load_n=_positive(reader, "rated_load", table.rated_load),
        units=OutputUnits(**table.units.model_dump()),
        setting=table.mesh,
    )


def slug(text: str) -> str:
    """A short file name made of letters, digits and hyphens; never empty, never a path."""
    return re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-")[:48].strip("-") or "study"


def _toml(path: Path) -> dict[str, Any]:
    try:
        if path.stat().st_size > _LARGEST_BYTES:
            raise InputError(f"{path.name} is larger than a megabyte", "give a study file")
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        reason = (error.strerror or "cannot be read").lower()
        raise InputError(f"{path}: {reason}", "check the path, or run: gussetry new") from error
    except UnicodeDecodeError as error:
        raise InputError(f"{path.name} is not a text file", "save it as UTF-8 text") from error
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise InputError(f"{path.name}: {str(error)[:120]}", "mend that line") from error
    except ValueError as error:
        raise InputError(f"{path}: {error}", "check the path") from error


def _positive(reader: _Reader, key: str, load_n: float) -> float:
    if not 0.0 < load_n < 1e9:
        reader.refuse(
            key, f"{load_n:.4g} N is no load to carry", "give more than 0 N, less than 1e9 N"
        )
    return load_n


def _layouts(reader: _Reader, table: StudyTable) -> tuple[Layout, ...]:
    names = [layout.name for layout in table.layouts]
    for name in names:
        if names.count(name) > 1:
            reader.refuse("layouts", f"two are called {name!r}", "give each a name of its own")
    baselines = [layout.name for layout in table.layouts if layout.baseline]
    if len(baselines) != 1:
        reader.refuse(
            "layouts",
            f"{len(baselines) or 'none'} marked as the baseline",
            "write baseline = true in just one",
        )
    bare = _bare_block(reader, table)
    return tuple(_layout(reader, table, bare, layout) for layout in table.layouts)


def _bare_block(reader: _Reader, table: StudyTable) -> Block:
    steel, tube = table.steel, table.tube
    wall_mm = design_wall_mm(tube.standard, tube.wall, tube.reduced_wall)
    radius_mm, bore_mm = tube.corner_radius, None
    if radius_mm is None:
        if tube.standard is None:
            reader.refuse(
                "tube.corner_radius", "is missing", 'give it, or a standard such as "EN 10219"'
            )
        radius_mm = outer_corner_radius_mm(tube.standard, wall_mm)
        bore_mm = inner_corner_radius_mm(tube.standard, wall_mm)

    def plate(key: str, plate_table: PlateTable, choice: SteelChoice | None) -> Plate:
        metal = reader.steel(f"steel.{key}", choice or steel.all, plate_table.thickness)
        return Plate(*plate_table.size, plate_table.thickness, metal, plate_table.position)

    welds = Welds(
        table.welds.tube_bottom,
        table.welds.tube_top,
        table.welds.rib_plate,
        table.welds.rib_tube,
        reader.steel("steel.welds", steel.welds, 1.0) if steel.welds else None,
    )
    pin = hole = None
    if table.pin:
        metal = reader.steel("steel.pin", steel.pin or steel.all, table.pin.diameter)
        pin = Pin(table.pin.diameter, table.pin.length, metal, table.pin.position)
    if table.hole:
        hole = Hole(table.hole.diameter, table.hole.position)
    tube_steel = reader.steel("steel.tube", steel.tube or steel.all, wall_mm)
    return Block(
        tube=Tube(*tube.size, wall_mm, radius_mm, tube.height, tube_steel, bore_mm),
        bottom=plate("bottom_plate", table.bottom_plate, steel.bottom_plate),
        top=plate("top_plate", table.top_plate, steel.top_plate),
        ribs=(),
        rib_steel=tube_steel,
        welds=welds,
        pin=pin,
        hole=hole,
    )


def _layout(reader: _Reader, table: StudyTable, bare: Block, layout: LayoutTable) -> Layout:
    key = f"layouts[{layout.name!r}]"
    pattern = PATTERNS.get(layout.pattern)
    if pattern is None:
        near = difflib.get_close_matches(layout.pattern, PATTERNS, n=1)
        reader.refuse(
            f"{key}.pattern",
            f"{layout.pattern!r} is no pattern we know",
            (f"did you mean {near[0]!r}? " if near else "") + f"known: {', '.join(PATTERNS)}",
        )
    if bool(layout.ribs) != (pattern.name == "free"):
        reader.refuse(
            f"{key}.ribs",
            f"{len(layout.ribs)} ribs listed for the pattern {pattern.name!r}",
            'list ribs with pattern = "free", and only there',
        )
    thickness_mm = layout.rib_thickness
    if thickness_mm is None:
        thickness_mm = max((rib.thickness for rib in layout.ribs), default=bare.tube.wall_mm)
    choice = layout.rib_steel or table.steel.ribs or table.steel.all
    block = replace(bare, rib_steel=reader.steel(f"{key}.rib_steel", choice, thickness_mm))
    if thickness_mm <= 0.0:
        reader.refuse(f"{key}.rib_thickness", f"{thickness_mm:.4g} mm", "give more than nothing")
    try:
        check_block(block)
        block = gusseted(block, pattern, _rib_choice(layout, thickness_mm))
        check_block(block)
    except BlockError as error:
        where = error.key.replace("layouts", key, 1)
        raise InputError(f"{reader.path.name}: {where}: {error.problem}", error.remedy) from error
    return Layout(layout.name, pattern.name, pattern.sentence, block, layout.baseline)


def _rib_choice(layout: LayoutTable, thickness_mm: float) -> RibChoice:
    free = []
    for rib in layout.ribs:
        turn = math.radians(rib.direction)
        direction = (math.cos(turn), math.sin(turn))
        free.append(
            Rib(rib.name, rib.start, direction, rib.length, rib.thickness, rib.shape, rib.side)
        )
    return RibChoice(thickness_mm, layout.rib_length, free=tuple(free))


def _loads(reader: _Reader, table: StudyTable, block: Block) -> tuple[LoadCase, ...]:
    names = [load.name for load in table.loads]
    for name in names:
        if names.count(name) > 1:
            reader.refuse("loads", f"two are called {name!r}", "give each a name of its own")
    return tuple(_load(reader, table, block, load) for load in table.loads)


def _load(
    reader: _Reader, table: StudyTable, block: Block, load: CrushTable | PadTable | WrapTable
) -> LoadCase:
    key = f"loads[{load.name!r}]"
    load_n = table.rated_load if load.load is None else load.load
    _positive(reader, f"{key}.load" if load.load is not None else "rated_load", load_n)
    demand = table.demand if load.demand is None else load.demand
    if isinstance(load, CrushTable):
        return CrushCase(load.name, load_n, demand, load.friction == "full")
    if isinstance(load, PadTable):
        if min(load.size) <= 0.0:
            reader.refuse(f"{key}.size", "is not a size", 'write ["60 mm", "40 mm"]')
        return PadCase(load.name, load_n, demand, load.size, load.position)
    if (load.offset is None) == (load.axle_torque is None):
        reader.refuse(f"{key}.offset", "needs one of offset and axle_torque", "give just one")
    offset_mm = load.offset if load.offset is not None else (load.axle_torque or 0.0) / load_n
    dx, dy = _TOWARD[load.toward]
    size_mm = load.seat or (block.top.length_mm, block.top.width_mm)
    reach_mm = (size_mm[0] if dx else size_mm[1]) / 2
    if not 0.0 <= offset_mm < 0.95 * reach_mm:
        reader.refuse(
            f"{key}.offset" if load.offset is not None else f"{key}.axle_torque",
            f"puts the load {offset_mm:.4g} mm from the middle",
            f"use 0 mm to {0.95 * reach_mm:.4g} mm, inside the seat",
        )
    return WrapCase(
        load.name,
        load_n,
        demand,
        (dx * offset_mm, dy * offset_mm),
        (dx * load.shear, dy * load.shear),
        load.seat,
    )
