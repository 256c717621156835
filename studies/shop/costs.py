"""What a block costs in steel and time, from the rates the user gave; what has none is left out."""

from dataclasses import dataclass

from geometry.block import Block
from geometry.pieces import Piece, pieces
from geometry.welds import weld_lengths_mm
from studies.shop.model import Shop


@dataclass(frozen=True)
class Costs:
    """One block. ``steel`` is None unless every piece has a price; a time is None without its rate.

    ``money`` is steel and labour together, None where anything it needs is missing; ``missing``
    names the keys of ``[shop]`` that would complete it.
    """

    steel: float | None
    saw_min: float | None
    cut_min: float | None
    weld_min: float | None
    labour: float | None
    money: float | None
    missing: tuple[str, ...]


def steel_cost(piece: Piece, shop: Shop) -> float | None:
    """Money for the steel of one piece, the saw's kerf included where steel goes by length."""
    rates = shop.rates
    price = {
        "tube": rates.tube, "round bar": rates.bar, "plate": rates.plate, "rib": rates.plate
    }[piece.kind]  # fmt: skip
    return price.cost(piece.mass_kg, piece.size_mm[0] + shop.kerf_mm) if price else None


def costs(block: Block, shop: Shop) -> Costs:
    """What one block costs."""
    rates, every = shop.rates, pieces(block)
    steels = [steel_cost(piece, shop) for piece in every]
    steel = sum(
        cost * piece.quantity for cost, piece in zip(steels, every, strict=True) if cost is not None
    )
    sawn = sum(piece.quantity for piece in every if piece.outline is None)
    outlines = sum(piece.outline.length * piece.quantity for piece in every if piece.outline)
    weld_mm = sum(weld_lengths_mm(block).values())
    saw = None if rates.saw_min_per_cut is None else sawn * rates.saw_min_per_cut
    cut = None if rates.cut_min_per_mm is None else outlines * rates.cut_min_per_mm
    weld = None if rates.weld_min_per_mm is None else weld_mm * rates.weld_min_per_mm
    priced = {"tube": "tube_price", "round bar": "bar_price"}
    missing = {
        priced.get(piece.kind, "plate_price")
        for cost, piece in zip(steels, every, strict=True)
        if cost is None
    }
    whole = None if missing else float(steel)
    named = {"saw_time": saw, "cut_time": cut, "weld_time": weld, "labour": rates.labour_per_min}
    missing |= {key for key, value in named.items() if value is None}
    labour = None
    if None not in (saw, cut, weld) and rates.labour_per_min is not None:
        labour = ((saw or 0.0) + (cut or 0.0) + (weld or 0.0)) * rates.labour_per_min
    money = None if whole is None or labour is None else whole + labour
    return Costs(whole, saw, cut, weld, labour, money, tuple(sorted(missing)))


def show_money(amount: float, currency: str) -> str:
    """For example ``EUR 12.40``."""
    return f"{currency} {amount:.2f}".strip()
