"""Read a study file into a ``Study``: layouts as checked blocks, and load cases."""

import difflib
import math
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from fea.errors import BlockError
from geometry.block import Block, Hole, Layout, Pin, Plate, Rib, Tube, Welds
from geometry.mesher import Setting
from geometry.patterns import PATTERNS, RibChoice, gusseted
from geometry.plan import on_top_face
from geometry.stock import design_wall_mm, inner_corner_radius_mm, outer_corner_radius_mm
from studies.clamping.reading import clamp_case, clamped_seat
from studies.loads import (
    ClampCase,
    CrushCase,
    LoadCase,
    PadCase,
    WrapCase,
    with_pin_hole,
    with_stiff_seats,
)
from studies.pressing.gauge import Press
from studies.pressing.reading import checked_press
from studies.reader import Reader, toml_data
from studies.refusals import first_refusal
from studies.schema import (
    CrushTable,
    LayoutTable,
    PadTable,
    PlateTable,
    StudyTable,
    WrapTable,
)
from studies.shop.model import Shop
from studies.shop.reading import checked_shop
from studies.slugs import slug as slug
from studies.standing import (
    EDGE_SHARE,
    SLACK,
    check_stands,
    check_touches,
    pin_hole_mm,
    pressed_middle_mm,
)
from studies.units import OutputUnits
from studies.welding.reading import checked_rules
from studies.welding.rules import USUAL_RULES, WeldRules

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
    accuracy: float | None
    shop: Shop
    press: Press | None = None
    weld_rules: WeldRules = USUAL_RULES


def read_study(path: Path) -> Study:
    """Read and check a study file.

    Raises InputError in one line that names the file, the key, the value and the remedy.
    """
    return study_from(table_from(toml_data(path), path.name), path)


def table_from(data: dict[str, Any], source: str) -> StudyTable:
    """The data of a study file, each value read; ``source`` is named first in a refusal."""
    try:
        return StudyTable.model_validate(data)
    except ValidationError as error:
        raise first_refusal(source, data, error) from error


def study_from(table: StudyTable, path: Path) -> Study:
    """Blocks and load cases from a study file's values, checked as ``read_study`` does."""
    reader = Reader(path, inches=table.units.length == "in")
    layouts = _layouts(reader, table)
    units = OutputUnits(**table.units.model_dump())
    return Study(
        title=table.title,
        slug=slug(path.stem),
        layouts=layouts,
        loads=_loads(reader, table, layouts[0].block),
        rated_load_n=table.rated_load,
        units=units,
        setting=table.mesh,
        accuracy=table.accuracy,
        shop=checked_shop(
            reader, table.shop, table.axle, table.ubolt, table.shelf, table.tube.wall
        ),
        press=checked_press(reader, table.press, units) if table.press else None,
        weld_rules=checked_rules(reader, table.weld_check, units),
    )


def _layouts(reader: Reader, table: StudyTable) -> tuple[Layout, ...]:
    _named_apart(reader, "layouts", [layout.name for layout in table.layouts])
    baselines = [layout.name for layout in table.layouts if layout.baseline]
    if len(baselines) != 1:
        reader.refuse(
            "layouts",
            f"{len(baselines) or 'none'} marked as the baseline",
            "write baseline = true in just one",
        )
    bare = reader.checked(_bare_block(reader, table))
    return tuple(_layout(reader, table, bare, layout) for layout in table.layouts)


def _named_apart(reader: Reader, key: str, names: list[str]) -> None:
    """Refuse names that are one, or whose files would be."""
    by_file: dict[str, str] = {}
    for name in names:
        other = by_file.setdefault(slug(name), name)
        if names.count(name) > 1:
            reader.refuse(key, f"two are called {name!r}", "give each a name of its own")
        if other != name:
            reader.refuse(
                key,
                f"{other!r} and {name!r} differ too little for files named after them",
                "change a letter or a digit in one of them",
            )


def _bare_block(reader: Reader, table: StudyTable) -> Block:
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

    def plate(part: str, plate_table: PlateTable) -> Plate:
        metal = reader.part_steel(steel, part, plate_table.thickness)
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
        metal = reader.part_steel(steel, "pin", table.pin.diameter)
        pin = Pin(table.pin.diameter, table.pin.length, metal, table.pin.position)
    if table.hole:
        hole = Hole(table.hole.diameter, table.hole.position)
    tube_steel = reader.part_steel(steel, "tube", wall_mm)
    return Block(
        tube=Tube(*tube.size, wall_mm, radius_mm, tube.height, tube_steel, bore_mm),
        bottom=plate("bottom_plate", table.bottom_plate),
        top=plate("top_plate", table.top_plate),
        ribs=(),
        rib_steel=tube_steel,
        welds=welds,
        pin=pin,
        hole=hole,
        taper_deg=table.top_plate.taper,
    )


def _layout(reader: Reader, table: StudyTable, bare: Block, layout: LayoutTable) -> Layout:
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
    if thickness_mm <= 0.0:
        reader.refuse(
            f"{key}.rib_thickness",
            f"{thickness_mm:.4g} mm is no thickness",
            'give more than nothing, such as "6 mm"',
        )
    metal = (
        reader.part_steel(table.steel, "ribs", thickness_mm)
        if layout.rib_steel is None
        else reader.steel(f"{key}.rib_steel", layout.rib_steel, thickness_mm)
    )
    try:
        block = gusseted(replace(bare, rib_steel=metal), pattern, _rib_choice(layout, thickness_mm))
    except BlockError as error:
        reader.refuse(error.key.replace("layouts", key, 1), error.problem, error.remedy)
    block = reader.checked(block, key)
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


def _pad_on_plate(reader: Reader, key: str, block: Block, pad: PadTable) -> None:
    top = block.top
    plate = (top.length_mm, top.width_mm)
    if not _fits(pad.size, plate):
        reader.refuse(
            f"{key}.size",
            f"{_mm(*pad.size)} is larger than the top plate",
            f"use at most {_mm(*plate)}",
        )
    room = ((plate[0] - pad.size[0]) / 2, (plate[1] - pad.size[1]) / 2)
    if not _fits((abs(pad.position[0]), abs(pad.position[1])), room):
        reader.refuse(
            f"{key}.position",
            f"puts the pad {_mm(*pad.position, ' and ')} from the middle, over the plate's edge",
            f"stay within {_mm(*room, ' and ')} of the middle",
        )
    at_mm = (top.centre_mm[0] + pad.position[0], top.centre_mm[1] + pad.position[1])
    check_touches(reader, f"{key}.size", block, at_mm, pad.size)
    pressed_mm = on_top_face(block, pressed_middle_mm(block, at_mm, pad.size))
    check_stands(reader, f"{key}.position", block, pressed_mm, 1.0)


def _fits(size: tuple[float, float], room: tuple[float, float]) -> bool:
    return all(a <= b * SLACK + 1e-6 for a, b in zip(size, room, strict=True))


def _mm(length: float, width: float, between: str = " × ") -> str:
    return f"{length:.4g} mm{between}{width:.4g} mm"


def _loads(reader: Reader, table: StudyTable, block: Block) -> tuple[LoadCase, ...]:
    clamp = clamp_case(reader, table.clamp, block.top) if table.clamp else None
    _named_apart(
        reader, "loads", [load.name for load in (*table.loads, *([clamp] if clamp else []))]
    )
    loads = with_stiff_seats(
        tuple(_load(reader, table, block, load, clamp) for load in table.loads),
        table.seats == "both",
    )
    hole_mm = pin_hole_mm(reader, block, table.pin.seat_hole if table.pin else None)
    return with_pin_hole((*loads, clamp) if clamp else loads, hole_mm)


def _load(
    reader: Reader,
    table: StudyTable,
    block: Block,
    load: CrushTable | PadTable | WrapTable,
    clamp: ClampCase | None,
) -> LoadCase:
    key = f"loads[{load.name!r}]"
    load_n = table.rated_load if load.load is None else load.load
    demand = table.demand if load.demand is None else load.demand
    if isinstance(load, CrushTable):
        grips, wedge_deg = load.friction == "full", abs(block.taper_deg)
        return CrushCase(load.name, load_n, demand, grips, wedge_deg=wedge_deg)
    if isinstance(load, PadTable):
        _pad_on_plate(reader, key, block, load)
        return PadCase(load.name, load_n, demand, load.size, load.position)
    if (load.offset is None) == (load.axle_torque is None):
        reader.refuse(
            f"{key}.offset",
            "is missing, and so is axle_torque" if load.offset is None else "stands with a torque",
            'give just one: offset = "30 mm", or axle_torque = "900 N m"',
        )
    seat_mm, clamp_n = clamped_seat(reader, key, load, clamp)
    if load.seat and not _fits(load.seat, (block.top.length_mm, block.top.width_mm)):
        reader.refuse(
            f"{key}.seat",
            f"{_mm(*load.seat)} is larger than the top plate",
            f"use at most {_mm(block.top.length_mm, block.top.width_mm)}, or leave seat out",
        )
    offset_mm = load.offset if load.offset is not None else (load.axle_torque or 0.0) / load_n
    dx, dy = _TOWARD[load.toward]
    size_mm = seat_mm or (block.top.length_mm, block.top.width_mm)
    reach_mm = (size_mm[0] if dx else size_mm[1]) / 2
    if not 0.0 <= offset_mm <= SLACK * EDGE_SHARE * reach_mm:
        reader.refuse(
            f"{key}.{_moved_by(load)}",
            f"puts the load {offset_mm:.4g} mm from the middle",
            "give it without a minus and turn toward the other way"
            if offset_mm < 0.0
            else f"stay within {EDGE_SHARE * reach_mm:.4g} mm, inside the seat",
        )
    shear_n = (dx * load.shear, dy * load.shear)
    if clamp_n and any(shear_n) and block.taper_deg:
        reader.refuse(
            f"{key}.shear",
            "is not reckoned on a clamped block with a taper: it acts higher at one end",
            "leave shear out, or clamped = true",
        )
    if not clamp_n:
        top_x, top_y = on_top_face(block, block.top.centre_mm)
        at_mm = (top_x + dx * offset_mm, top_y + dy * offset_mm)
        check_stands(reader, f"{key}.{_moved_by(load)}", block, at_mm, load_n, shear_n)
    return WrapCase(
        load.name,
        load_n,
        demand,
        (dx * offset_mm, dy * offset_mm),
        shear_n,
        seat_mm,
        clamp_n,
    )


def _moved_by(load: WrapTable) -> str:
    """The key that says how far off the middle the load is."""
    return "offset" if load.offset is not None else "axle_torque"
