"""What a shelf yields: blocks of a layout, what runs out first, what is left, what is of no use."""

from dataclasses import dataclass

from geometry.block import Block
from geometry.pieces import Piece, pieces
from studies.shop.model import Shop, Stock
from studies.shop.nesting import Laid, Want, left_over, lengths_from, nested
from studies.shop.sizes import show_size
from studies.units import OutputUnits

_SAME_MM = 0.05


@dataclass(frozen=True)
class Need:
    """Pieces of one block that come out of one kind of stock: one tube, one bar, one plate."""

    kind: str
    section_mm: tuple[float, ...]
    steel: str
    pieces: tuple[Piece, ...]


@dataclass(frozen=True)
class Supply:
    """What the shelf gives towards one need.

    ``blocks`` it is enough for; ``at_most`` is more only where nesting is not proved best.
    ``lengths`` says for each length of tube or bar (its stock, pieces cut, length left); ``sheets``
    for each plate (its stock, what is laid on it, largest rectangle left).
    """

    need: Need
    blocks: int
    at_most: int
    lengths: tuple[tuple[Stock, int, float], ...] = ()
    sheets: tuple[tuple[Stock, tuple[Laid, ...], tuple[float, float]], ...] = ()


@dataclass(frozen=True)
class Yield:
    """Blocks of one layout that the shelf yields; ``short`` are the needs that run out first."""

    blocks: int
    at_most: int
    supplies: tuple[Supply, ...]
    short: tuple[Need, ...]


def needs(block: Block, shop: Shop) -> tuple[Need, ...]:
    """What one block takes, by kind of stock."""
    found: dict[tuple[str, tuple[float, ...], str], list[Piece]] = {}
    for piece in pieces(block):
        section: tuple[float, ...] = (round(piece.thickness_mm, 3),)
        kind = "plate" if piece.kind == "rib" else piece.kind
        if kind == "tube":
            sides = sorted((block.tube.length_mm, block.tube.width_mm), reverse=True)
            section = (*sides, shop.wall_mm)
        found.setdefault((kind, section, piece.steel.name), []).append(piece)
    return tuple(Need(*key, tuple(group)) for key, group in found.items())


def shelf_yield(block: Block, shop: Shop) -> Yield:
    """How many blocks the shelf yields, every kind of stock nested by itself.

    Cuts are then laid out again for just that many blocks, so that what is left is what remains.
    """
    every = needs(block, shop)
    most = [_supply(need, shop, None) for need in every]
    blocks = min(supply.blocks for supply in most)
    at_most = min(supply.at_most for supply in most)
    return Yield(
        blocks,
        at_most,
        tuple(_supply(need, shop, blocks) for need in every),
        tuple(supply.need for supply in most if supply.blocks == blocks),
    )


def _supply(need: Need, shop: Shop, wanted: int | None) -> Supply:
    """The most blocks, or the cuts for just ``wanted`` of them."""
    stocks = [one for one in shop.shelf if misfit(one, need) is None]
    each = [one for one in stocks for _ in range(one.quantity)]
    if need.kind == "plate":
        return _from_plates(need, shop, each, wanted)
    (piece,) = need.pieces
    long_mm = piece.size_mm[0]
    # Short lengths go first, so that what is left is long.
    each.sort(key=lambda one: one.size_mm[0])
    counts = [lengths_from(one.size_mm[0], long_mm, shop.kerf_mm, shop.end_trim_mm) for one in each]
    blocks = sum(counts) // piece.quantity
    still = piece.quantity * (blocks if wanted is None else wanted)
    lengths = []
    for one, count in zip(each, counts, strict=True):
        cut = min(count, still)
        still -= cut
        used = cut * (long_mm + shop.kerf_mm) + (shop.end_trim_mm if cut else 0.0)
        lengths.append((one, cut, max(one.size_mm[0] - used, 0.0)))
    return Supply(need, blocks, blocks, tuple(lengths))


def _from_plates(need: Need, shop: Shop, each: list[Stock], wanted: int | None) -> Supply:
    each = sorted(each, key=lambda one: one.size_mm[0] * one.size_mm[1])
    wants = tuple(Want(*piece.size_mm, piece.quantity) for piece in need.pieces)
    sizes = tuple(one.size_mm for one in each)
    found = nested(sizes, wants, shop.kerf_mm, wanted)
    sheets = tuple(
        (one, laid, left_over(one.size_mm, laid, shop.kerf_mm))
        for one, laid in zip(each, found.sheets, strict=True)
    )
    return Supply(need, found.sets, found.at_most, (), sheets)


def misfit(stock: Stock, need: Need) -> str | None:
    """Why a piece of stock does not serve a need in one word; None when it does."""
    if stock.kind != need.kind:
        return "kind"
    if any(abs(a - b) > _SAME_MM for a, b in zip(stock.section_mm, need.section_mm, strict=True)):
        return "section"
    if stock.steel is not None and stock.steel.casefold() != need.steel.casefold():
        return "steel"
    for piece in need.pieces:
        a, b = max(piece.size_mm), min(piece.size_mm)
        if a <= stock.size_mm[0] + 1e-6 and (need.kind != "plate" or b <= stock.size_mm[1] + 1e-6):
            return None
    return "short"


def no_use(stock: Stock, every: tuple[Need, ...], units: OutputUnits) -> str | None:
    """Why no layout can use a piece of stock, in one plain reason; None when one can."""
    found = [(misfit(stock, need), need) for need in every]
    if any(why is None for why, _ in found):
        return None
    for why in ("short", "steel", "section"):
        mine = [need for reason, need in found if reason == why]
        if not mine:
            continue
        if why == "short":
            smallest = min(
                (piece for need in mine for piece in need.pieces), key=lambda one: one.size_mm
            )
            size = smallest.size_mm if stock.kind == "plate" else smallest.size_mm[:1]
            return f"too small: the smallest piece, {smallest.name}, takes {show_size(size, units)}"
        if why == "steel":
            asked = " or ".join(sorted({need.steel for need in mine}))
            return f"the steel is {stock.steel}, and {asked} is asked for"
        sections = sorted({need.section_mm for need in mine})
        asked = " or ".join(show_size(section, units) for section in sections)
        of = {"tube": "section", "plate": "thickness", "round bar": "diameter"}[stock.kind]
        return f"wrong {of}: {show_size(stock.section_mm, units)}, and {asked} is asked for"
    return f"no layout takes {'any ' if stock.kind != 'plate' else 'a '}{stock.kind}"


def need_words(need: Need, units: OutputUnits) -> str:
    """For example ``8 mm plate, S355``."""
    size = show_size(need.section_mm, units)
    bare = f"⌀ {size} round bar" if need.kind == "round bar" else f"{size} {need.kind}"
    return f"{bare}, {need.steel}"
