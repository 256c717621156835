"""The shelf's page: layouts side by side, what runs out, what is left, cutting plans."""

from collections import Counter
from dataclasses import dataclass
from pathlib import Path

from fea.errors import InputError
from geometry.block import Layout
from geometry.mesher import Setting
from geometry.welds import weld_lengths_mm
from studies.paper import Block, Bullets, Cautions, Heading, Sheet, Table, Text
from studies.paper_html import html_text
from studies.paper_pdf import pdf_bytes
from studies.results import LayoutResult
from studies.shop.costs import costs, show_money
from studies.shop.drawings import sheet_drawing
from studies.shop.lists import csv_text
from studies.shop.shelf import Supply, Yield, need_words, needs, no_use, shelf_yield
from studies.shop.sizes import show_run, show_size
from studies.store import kept_result, result_key, write_whole
from studies.study import Study

_SETTINGS: tuple[Setting, ...] = ("fine", "normal", "quick")


@dataclass(frozen=True)
class Shelved:
    """A layout, what the shelf yields of it, and its finished result where there is one."""

    layout: Layout
    found: Yield
    result: LayoutResult | None


def shelved(study: Study, folder: Path) -> tuple[Shelved, ...]:
    """Every layout against the shelf; strengths come from a comparison kept in ``folder``.

    Raises InputError when the study lists no stock.
    """
    if not study.shop.shelf:
        raise InputError(
            "the study lists no stock on hand",
            "add a part [[shelf]] for each kind of stock, as in the file from: gussetry new",
        )
    return tuple(
        Shelved(layout, shelf_yield(layout.block, study.shop), _kept(study, layout, folder))
        for layout in study.layouts
    )


def _kept(study: Study, layout: Layout, folder: Path) -> LayoutResult | None:
    for setting in (study.setting, *_SETTINGS):
        result = kept_result(
            folder / "store", result_key(layout, study.loads, setting, study.accuracy)
        )
        if result is not None:
            return result
    return None


def layouts_table(study: Study, every: tuple[Shelved, ...]) -> Table:
    """Layouts by blocks per shelf, strength, weld and cost; a column with nothing is left out."""
    units, currency = study.units, study.shop.rates.currency
    money = [costs(one.layout.block, study.shop).money for one in every]
    strong, priced = any(one.result for one in every), all(value is not None for value in money)
    headings = ["layout", "blocks", "runs out first", "weld, one"]
    headings += ["least first yield / demand"] * strong + ["cost, one"] * priced
    rows = []
    for one, value in sorted(
        zip(every, money, strict=True), key=lambda pair: -pair[0].found.blocks
    ):
        row = [
            one.layout.name,
            blocks_words(one.found),
            "; ".join(need_words(need, units) for need in one.found.short),
            show_run(sum(weld_lengths_mm(one.layout.block).values()), units),
        ]
        if strong:
            row.append(_strength(one.result))
        if priced and value is not None:
            row.append(show_money(value, currency))
        rows.append(tuple(row))
    return Table(tuple(headings), tuple(rows), (1, 3, 4, 5), "Layouts by what the shelf yields")


def _strength(result: LayoutResult | None) -> str:
    if result is None:
        return "not computed"
    worst = min(result.cases, key=lambda case: case.ratio)
    return f"{worst.ratio:.2f} ({worst.case.name})"


def blocks_words(found: Yield) -> str:
    """A count, said as at least one where nesting is not proved best."""
    more = found.at_most > found.blocks
    return f"{found.blocks} or more (not over {found.at_most})" if more else str(found.blocks)


def sentences(every: tuple[Shelved, ...]) -> tuple[str, ...]:
    """What the shelf comes to, plainly."""
    best = max(one.found.blocks for one in every)
    if best == 0:
        return ("The shelf yields no block of any layout.",)
    most = [one.layout.name for one in every if one.found.blocks == best]
    pairs = f", {best // 2} {'pair' if best // 2 == 1 else 'pairs'}" if best > 1 else ""
    said = [f"Most blocks: {best}{pairs}, with {', '.join(most)}."]
    none = [one.layout.name for one in every if one.found.blocks == 0]
    return (*said, f"No block at all: {', '.join(none)}.") if none else tuple(said)


def unused(study: Study) -> tuple[str, ...]:
    """Stock that no layout can use, each with its reason."""
    every = tuple(need for layout in study.layouts for need in needs(layout.block, study.shop))
    found = [(stock, no_use(stock, every, study.units)) for stock in study.shop.shelf]
    return tuple(f"{stock.name}: {why}." for stock, why in found if why)


def shelf_sheet(study: Study, every: tuple[Shelved, ...]) -> Sheet:
    """The page for the saw and for whoever decides."""
    units, shop = study.units, study.shop
    blocks: list[Block] = [Bullets(sentences(every)), Cautions(), layouts_table(study, every)]
    spare = unused(study)
    if spare:
        blocks += [Heading("Of no use for these layouts"), Bullets(spare)]
    for one in every:
        blocks.append(Heading(one.layout.name))
        if one.found.blocks == 0:
            short = "; ".join(need_words(need, units) for need in one.found.short)
            blocks.append(Text(f"The shelf yields no block. What is short: {short}."))
            continue
        blocks.append(_left(study, one))
        for supply in one.found.supplies:
            alike = Counter((stock, laid) for stock, laid, _ in supply.sheets if laid)
            for (stock, laid), count in alike.items():
                names = tuple(piece.name for piece in supply.need.pieces)
                title = f"{count} × {stock.name}" if count > 1 else stock.name
                blocks.append(sheet_drawing(stock.size_mm, laid, names, title, units))
    given = "" if shop.kerf_given else " (assumed: give it in [shop])"
    blocks.append(
        Text(
            f"Kerf {show_size((shop.kerf_mm,), units)}{given}. Plates are cut right across each "
            "time; ribs are laid out as the rectangles round them; stock whose steel the study "
            "does not name is taken to be right."
        )
    )
    return Sheet("What the shelf yields", study.title, tuple(blocks))


def _left(study: Study, one: Shelved) -> Table:
    lines = Counter(line for supply in one.found.supplies for line in _lines(study, supply))
    rows = [
        (f"{count} × {name}" if count > 1 else name, cut, left)
        for (name, cut, left), count in lines.items()
    ]
    caption = f"{blocks_words(one.found)} blocks: what is cut and what is left"
    return Table(("stock", "cut from each", "left of each"), tuple(rows), (), caption)


def _lines(study: Study, supply: Supply) -> list[tuple[str, str, str]]:
    units, named = study.units, [piece.name for piece in supply.need.pieces]
    lines = [
        (
            stock.name,
            f"{cut} × {named[0]}" if cut else "nothing",
            show_size((left,), units) if left > 1.0 else "nothing",
        )
        for stock, cut, left in supply.lengths
    ]
    for stock, laid, left in supply.sheets:
        counts = [(sum(p.want == i for p in laid), name) for i, name in enumerate(named)]
        cut = ", ".join(f"{count} × {name}" for count, name in counts if count) or "nothing"
        lines.append((stock.name, cut, f"at most {show_size(left, units)}" if laid else "all"))
    return lines


def write_shelf(study: Study, every: tuple[Shelved, ...], folder: Path) -> Path:
    """Write shelf.pdf, .html and .csv into ``folder``; return the PDF's path."""
    sheet = shelf_sheet(study, every)
    folder.mkdir(parents=True, exist_ok=True)
    write_whole(folder / "shelf.html", html_text(sheet, study.shop.paper).encode())
    write_whole(folder / "shelf.csv", csv_text(layouts_table(study, every)).encode("utf-8-sig"))
    path = folder / "shelf.pdf"
    write_whole(path, pdf_bytes(sheet, study.shop.paper))
    return path
