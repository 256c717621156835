"""The shop papers of a layout, and the folder they go into."""

from pathlib import Path

from fea.errors import InputError
from geometry.block import Layout
from geometry.pieces import pieces, pieces_mass_kg, weld_mass_kg
from geometry.step import step_bytes
from geometry.welds import weld_lengths_mm
from studies.paper import Block, Bullets, Cautions, Heading, NewPage, Sheet, Table, Text
from studies.paper_html import html_text
from studies.paper_pdf import pdf_bytes
from studies.shop.costs import costs
from studies.shop.drawings import piece_drawing, plan_drawing
from studies.shop.dxf import dxf_text
from studies.shop.lists import (
    cost_table,
    csv_text,
    cut_list,
    fused_joints,
    kit,
    lift_sentence,
    set_backs,
    ubolt_table,
    weld_schedule,
)
from studies.shop.sizes import both, show_run
from studies.shop.taper import stub_drawing, taper_sentences
from studies.store import write_whole
from studies.study import Study, slug


def layout_named(study: Study, name: str) -> Layout:
    """The layout called ``name``, big and small letters alike; raises InputError otherwise."""
    for layout in study.layouts:
        if layout.name.casefold() == name.strip().casefold():
            return layout
    known = ", ".join(repr(layout.name) for layout in study.layouts)
    raise InputError(f"--layout: no layout is called {name!r:.60}", f"use one of: {known}")


def shop_sheet(study: Study, layout: Layout) -> Sheet:
    """What the shop needs to cut, weld, fit and price one layout."""
    block, shop, units = layout.block, study.shop, study.units
    mass_kg = pieces_mass_kg(block) + weld_mass_kg(block)
    weld_mm = sum(weld_lengths_mm(block).values())
    facts = [
        f"Height {both(block.height_mm, units)}, mass {units.show_mass(mass_kg)}, "
        f"weld {show_run(weld_mm, units)}.",
    ]
    lift = lift_sentence(block, shop, units)
    blocks: list[Block] = [
        Text(layout.sentence),
        Bullets((*facts, *taper_sentences(block, units), *([lift] if lift else []))),
        Cautions(),
        cut_list(block, shop, units),
        Bullets(_cutting_notes(study, layout)),
    ]
    for piece in pieces(block):
        drawing = stub_drawing(piece, block, units) or piece_drawing(piece, block, units)
        if drawing:
            blocks.append(drawing)
    blocks += [NewPage(), Heading("Welding"), weld_schedule(block, units)]
    blocks.append(Bullets((*fused_joints(block), *_WELDING)))
    blocks += [
        Heading("Jig"),
        set_backs(block, units),
        plan_drawing(block, block.bottom, "Bottom plate", units),
        plan_drawing(block, block.top, "Top plate", units),
        NewPage(),
        Heading("Fitting and kit"),
    ]
    bolts = ubolt_table(block, shop, units)
    blocks += [bolts, Text(_UBOLT_NOTE)] if bolts else []
    blocks += [Text(_TAPERED_UBOLT_NOTE)] if bolts and block.taper_deg else []
    blocks.append(kit(block, shop, units))
    priced = cost_table(block, shop)
    if priced:
        blocks.append(priced)
        missing = costs(block, shop).missing
        if missing:
            blocks.append(Text(f"Not counted, for the study gives no rate: {', '.join(missing)}."))
    return Sheet(f"{layout.name}: shop papers", study.title, tuple(blocks))


_WELDING = (
    "Fit up and tack everything dry first, ribs included: the tube's fillet stops at each rib.",
    "Start and stop away from the tube's corners and carry the weld round them.",
    "Length is the sum of all beads of the joint; the mass is weld metal in place, spatter and "
    "stubs not counted. The filler is the weakest class no weaker than the steels joined.",
    "Order and hints are common practice; the welder decides.",
)
_UBOLT_NOTE = (
    "A leg passes everything listed; the pin sits in the seat's hole and adds nothing. When the "
    "block's height changes, each leg changes by as much and the rod by twice as much. Measure the "
    "stack on the vehicle before ordering."
)
_TAPERED_UBOLT_NOTE = (
    "Over a tapered block both legs are as long as the one by the thick end must be, and more "
    "thread shows past the other nut. Where the nuts' plate does not lie square to the legs, put "
    "taper washers under the nuts: a nut that bears on one edge bends its bolt (common practice)."
)


_IN_WORDS = {"mm": "millimetres", "in": "inches"}


def _cutting_notes(study: Study, layout: Layout) -> tuple[str, ...]:
    shop, units = study.shop, study.units
    assumed = "" if shop.kerf_given else ", assumed: give it in [shop]"
    notes = [
        f"Kerf {both(shop.kerf_mm, units)}{assumed}. Sizes are finished sizes: add a kerf for "
        "every cut.",
        f"Outlines are in dxf/, in {_IN_WORDS[units.length]}; the whole block is in block.step, in "
        "millimetres.",
    ]
    if shop.wall_mm > layout.block.tube.wall_mm + 1e-6:
        notes.append(
            f"The tube's mass counts its design wall, {both(layout.block.tube.wall_mm, units)}: "
            "tube of this standard may be that thin."
        )
    if any(piece.cut and piece.cut.dress_mm for piece in pieces(layout.block)):
        notes.append(
            "A rib that stands on the tube's round corner is cut to its longer face and ground to "
            "the corner; its mass is that of the fitted rib."
        )
    return tuple(notes)


def write_papers(study: Study, layout: Layout, folder: Path) -> tuple[Path, ...]:
    """Write one layout's papers into ``folder``; return what was written.

    Raises MeshError when the STEP file cannot be made, OSError when the folder cannot be written.
    """
    block, shop, units = layout.block, study.shop, study.units
    sheet = shop_sheet(study, layout)
    files: dict[str, bytes] = {
        "papers.pdf": pdf_bytes(sheet, shop.paper),
        "papers.html": html_text(sheet, shop.paper).encode(),
    }
    tables: dict[str, Table | None] = {
        "cut-list.csv": cut_list(block, shop, units),
        "welds.csv": weld_schedule(block, units),
        "set-backs.csv": set_backs(block, units),
        "u-bolts.csv": ubolt_table(block, shop, units),
        "kit.csv": kit(block, shop, units),
        "cost.csv": cost_table(block, shop),
    }
    for name, table in tables.items():
        if table:
            # The mark at the start lets spreadsheets see that this is UTF-8.
            files[name] = csv_text(table).encode("utf-8-sig")
    for piece in pieces(block):
        if piece.outline is not None:
            files[f"dxf/{slug(piece.name)}.dxf"] = dxf_text(piece, units).encode()
    files["block.step"] = step_bytes(block)
    (folder / "dxf").mkdir(parents=True, exist_ok=True)
    for old in (folder / "dxf").glob("*.dxf"):
        # The outline of a piece that is no more would be cut by mistake.
        if f"dxf/{old.name}" not in files:
            old.unlink()
    for name, content in files.items():
        write_whole(folder / name, content)
    return tuple(folder / name for name in files)
