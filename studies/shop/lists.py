"""The tables of the shop papers: cut list, welds, set-backs, U-bolts, kit, cost."""

import csv
import io

from geometry.block import Block
from geometry.pieces import Piece, pieces, weld_mass_kg
from geometry.plan import on_plate, plate_outline, plate_plan, tube_outside
from geometry.ribs import RibCut
from geometry.weld_metal import Bead, beads
from studies.paper import Table
from studies.shop.costs import costs, show_money, steel_cost
from studies.shop.electrodes import electrode
from studies.shop.model import Shop
from studies.shop.sizes import NO_BREAK, both, show_size
from studies.shop.taper import slant_cut, slant_size
from studies.shop.ubolt import ubolt_size
from studies.spreadsheets import guarded
from studies.units import OutputUnits

PAIR = 2
U_BOLTS_EACH = 2
"""U-bolts that clamp one block: one ahead of the pin and one behind (common practice)."""


def show_mass(mass_kg: float, units: OutputUnits) -> str:
    """To a gram or a thousandth of a pound."""
    return f"{units.mass_in(mass_kg):.3f}"


def cut_list(block: Block, shop: Shop, units: OutputUnits) -> Table:
    """Every distinct piece, then the weld metal, then the sum."""
    every = pieces(block)
    prices = [steel_cost(piece, shop) for piece in every]
    priced = all(price is not None for price in prices)
    headings = ["piece", "steel", "size", "cut", "each", "pair", f"{units.mass}, one"]
    rows = []
    for piece, price in zip(every, prices, strict=True):
        row = [
            piece.name,
            piece.steel.name,
            piece_size(piece, block, shop, units),
            piece_cut(piece, units),
            str(piece.quantity),
            str(PAIR * piece.quantity),
            show_mass(piece.mass_kg, units),
        ]
        rows.append([*row, f"{price:.2f}"] if priced and price is not None else row)
    weld_kg = weld_mass_kg(block)
    total_kg = weld_kg + sum(piece.mass_kg * piece.quantity for piece in every)
    more = [""] if priced else []
    rows.append(["weld metal", "", "", "", "", "", show_mass(weld_kg, units), *more])
    steel = costs(block, shop).steel
    count = str(sum(piece.quantity for piece in every))
    total = ["one block", "", "", "", count, "", show_mass(total_kg, units)]
    if priced and steel is not None:
        headings.append(f"{shop.rates.currency} steel, one".strip())
        total.append(f"{steel:.2f}")
    rows.append(total)
    return Table(
        tuple(headings),
        tuple(tuple(row) for row in rows),
        tuple(range(4, len(headings))),
        "Cut list",
        last_row_is_total=True,
    )


def piece_size(piece: Piece, block: Block, shop: Shop, units: OutputUnits) -> str:
    """What to take and how long to cut it."""
    if piece.kind == "tube":
        tube = (block.tube.length_mm, block.tube.width_mm, shop.wall_mm)
        if piece.slant:
            return f"tube {show_size(tube, units)}, {slant_size(piece.slant, units)}"
        return f"tube {show_size(tube, units)}, {show_size((piece.size_mm[0],), units)} long"
    if piece.kind == "round bar":
        long = show_size((piece.size_mm[0],), units)
        return f"⌀ {show_size((piece.thickness_mm,), units)}, {long} long"
    return show_size((*piece.size_mm, piece.thickness_mm), units)


def piece_cut(piece: Piece, units: OutputUnits) -> str:
    """How it is cut: saw angle, or outline and what is left to dress."""
    if piece.slant:
        return slant_cut(piece.slant)
    if piece.outline is None:
        return "saw square, 0°"
    if piece.cut and (piece.cut.top_bevel_mm or piece.cut.top_gap_mm > 0.05):
        return f"{_end_cut(piece.cut, units)}; {_top_cut(piece.cut, units)}"
    if piece.cut and (piece.cut.dress_mm or piece.cut.gap_mm > 0.05):
        return _end_cut(piece.cut, units)
    return "outline, with hole" if piece.outline.interiors else "outline, square"


def _end_cut(cut: RibCut, units: OutputUnits) -> str:
    if cut.dress_mm:
        back = show_size((cut.dress_mm,), units)
        return f"outline; grind the tube end {back} back on one face"
    if cut.gap_mm > 0.05:
        return f"outline, square; gap to {show_size((cut.gap_mm,), units)} at tube"
    return "outline, square"


def _top_cut(cut: RibCut, units: OutputUnits) -> str:
    if cut.top_bevel_mm:
        return f"grind the top edge {show_size((cut.top_bevel_mm,), units)} lower on one face"
    return f"gap to {show_size((cut.top_gap_mm,), units)} under the top plate on one face"


def weld_schedule(block: Block, units: OutputUnits) -> Table:
    """Every kind of joint in the order to weld it."""
    filler = electrode(block, units.length == "in")
    groups = (
        ("tube to bottom plate", "in quarters, opposite sides in turn"),
        ("ribs to tube", "one rib, then the one opposite"),
        ("ribs to bottom plate", "away from the tube, opposite ribs in turn"),
        ("tube to top plate", "let it cool; in quarters, opposite sides in turn"),
        ("ribs to top plate", "away from the tube, opposite ribs in turn"),
    )
    every = beads(block)
    rows, number = [], 0
    for joint, hint in groups:
        mine = [bead for bead in every if _joint(bead) == joint]
        if not mine:
            continue
        number += 1
        volume = sum(bead.volume_mm3 for bead in mine)
        share = volume / sum(bead.volume_mm3 for bead in every)
        rows.append(
            (
                str(number),
                joint,
                show_size((mine[0].leg_mm,), units),
                str(sum(bead.beads for bead in mine)),
                show_size((sum(bead.length_mm for bead in mine),), units),
                filler,
                show_mass(share * weld_mass_kg(block), units),
                hint,
            )
        )
    headings = ("no.", "joint", "leg", "beads", "length, all", "filler", units.mass, "order")
    return Table(headings, tuple(rows), (2, 3, 4, 6), "Weld schedule, one block")


def _joint(bead: Bead) -> str:
    end = bead.name.rpartition(" to ")[2]
    return f"{'tube' if bead.name.startswith('weld tube to') else 'ribs'} to {end}"


def fused_joints(block: Block) -> tuple[str, ...]:
    """Joints without a fillet in the study: what they are drawn as, and what that asks for."""
    welds, said = block.welds, []
    for joint, leg in (
        ("tube to bottom plate", welds.tube_bottom_mm),
        ("tube to top plate", welds.tube_top_mm),
    ):
        if not leg:
            said.append(f"{joint}: bevel the tube's end and weld it through")
    if any(not rib.inside for rib in block.ribs):
        for joint, leg in (
            ("ribs to plates", welds.rib_plate_mm),
            ("ribs to tube", welds.rib_tube_mm),
        ):
            if not leg:
                said.append(f"{joint}: bevel the ribs' edges and weld them through")
    if any(rib.inside for rib in block.ribs):
        said.append("ribs inside the tube: bevel and weld through, before the plates go on")
    if block.pin:
        said.append("pin to bottom plate: bevel the pin's end and weld it all round")
    return tuple(f"{words} (drawn fused, as if one piece)." for words in said)


def set_backs(block: Block, units: OutputUnits) -> Table:
    """Plate edge to tube on each side: what a jig's shims must measure."""
    rows = []
    outline = tube_outside(block.tube)
    tube, tube_above = outline.bounds, on_plate(block, "top", outline).bounds
    bottom, top = plate_outline(block.bottom).bounds, plate_outline(block.top).bounds
    level = plate_plan(block, "top").bounds
    for name, side, sign in (
        ("front", 2, 1.0),
        ("rear", 0, -1.0),
        ("left", 3, 1.0),
        ("right", 1, -1.0),
    ):
        below, above = sign * (bottom[side] - tube[side]), sign * (top[side] - tube_above[side])
        step = sign * (level[side] - tube[side]) - below
        rows.append(
            (
                name,
                both(below, units),
                both(above, units),
                "flush"
                if abs(step) < 0.05
                else f"top {'out' if step > 0 else 'in'} by {show_size((abs(step),), units)}",
            )
        )
    headings = ("side", "shim on bottom plate", "shim on top plate", "plate edges")
    return Table(headings, tuple(rows), (1, 2), "Set-back: jig shims between fence and tube")


def ubolt_table(block: Block, shop: Shop, units: OutputUnits) -> Table | None:
    """What each leg passes, and the lengths; beside the old block's where its height is known."""
    if not (shop.axle and shop.ubolt):
        return None
    ours = ubolt_size(shop.axle, shop.ubolt, block.height_mm, block.slope)
    lines = [(name, height) for name, height in ours.stack_mm]
    lines += [
        ("leg, inside the bend to its end", ours.leg_mm),
        ("between the legs", ours.width_mm),
        ("straight rod to bend it from", ours.rod_length_mm),
    ]
    if ours.uneven_mm:
        lines.append(("less stack at the leg by the thin end", ours.uneven_mm))
    old_mm = shop.axle.old_block_height_mm
    if old_mm is None:
        alone = tuple((name, both(value, units)) for name, value in lines)
        return Table(("what", "this block"), alone, (1,), "U-bolt")
    old = ubolt_size(shop.axle, shop.ubolt, old_mm)
    before = [height for _, height in old.stack_mm]
    before += [old.leg_mm, old.width_mm, old.rod_length_mm]
    before += [old.uneven_mm] * bool(ours.uneven_mm)
    rows = tuple(
        (name, both(value, units), both(was, units), _change(value - was, units))
        for (name, value), was in zip(lines, before, strict=True)
    )
    return Table(("what", "this block", "old block", "change"), rows, (1, 2, 3), "U-bolt")


def _change(by_mm: float, units: OutputUnits) -> str:
    if abs(by_mm) < 0.05:
        return "none"
    return f"{'+' if by_mm > 0 else '−'}{show_size((abs(by_mm),), units)}"


def lift_sentence(block: Block, shop: Shop, units: OutputUnits) -> str | None:
    """How far the vehicle goes up or down against the block replaced."""
    old = shop.axle.old_block_height_mm if shop.axle else None
    if old is None:
        return None
    lift = block.height_mm - old
    if abs(lift) < 0.05:
        return f"Lift against the old block: none; both are {both(old, units)} high."
    return (
        f"Lift against the old block: {both(abs(lift), units)} {'up' if lift > 0 else 'down'} "
        f"({both(block.height_mm, units)} instead of {both(old, units)})."
    )


def kit(block: Block, shop: Shop, units: OutputUnits) -> Table:
    """What to lay out for a pair of blocks."""
    rows: list[tuple[str, str, str]] = [
        (piece.name, piece_size(piece, block, shop, units), str(PAIR * piece.quantity))
        for piece in pieces(block)
    ]
    filler = f"{electrode(block, units.length == 'in')} filler, as deposited"
    rows.append((filler, "", f"{show_mass(PAIR * weld_mass_kg(block), units)} {units.mass}"))
    if shop.axle and shop.ubolt:
        size = ubolt_size(shop.axle, shop.ubolt, block.height_mm, block.slope)
        bolts = PAIR * U_BOLTS_EACH
        rod = show_size((shop.ubolt.rod_mm,), units)
        leg = f"⌀ {rod}, leg {show_size((size.leg_mm,), units)}"
        rows += [("U-bolt", leg, str(bolts)), ("nut", f"for ⌀ {rod}", str(2 * bolts))]
        if shop.ubolt.washer_mm:
            rows.append(("washer", f"for ⌀ {rod}", str(2 * bolts)))
        for plate in shop.ubolt.plates_mm:
            rows.append(("U-bolt plate", f"{show_size((plate,), units)} thick", str(PAIR)))
    return Table(("what", "size", "for a pair"), tuple(rows), (2,), "Kit for a pair")


def cost_table(block: Block, shop: Shop) -> Table | None:
    """Money and minutes, a line for each rate that was given; None when there is none."""
    found, currency = costs(block, shop), shop.rates.currency
    minutes = [
        ("sawing", found.saw_min),
        ("cutting plates and ribs", found.cut_min),
        ("welding", found.weld_min),
    ]
    money = [("steel", found.steel), ("labour", found.labour), ("steel and labour", found.money)]
    rows = [
        (name, f"{value:.1f} min", f"{PAIR * value:.1f} min")
        for name, value in minutes
        if value is not None
    ] + [
        (name, show_money(value, currency), show_money(PAIR * value, currency))
        for name, value in money
        if value is not None
    ]
    if not rows:
        return None
    return Table(("what", "one block", "a pair"), tuple(rows), (1, 2), "Time and cost")


def csv_text(table: Table) -> str:
    """A table as comma-separated values."""
    held = io.StringIO()
    writer = csv.writer(held)
    for row in (table.headings, *table.rows):
        writer.writerow([guarded(cell.replace(NO_BREAK, " ")) for cell in row])
    return held.getvalue()
