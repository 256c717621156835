"""How many sets of pieces come out of stock: lengths off a bar, rectangles out of plates.

Plates are cut right across each time (guillotine cuts), as a saw, a shear or a torch along a
straight edge does; pieces may be turned. Small cases are solved exactly by looking at all such
cuts; for larger ones the ``rectpack`` library packs and the count is the best packing found.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import cycle

import rectpack
from rectpack import guillotine

from studies.shop.exact_cuts import Counts, Rect, Size, TooManyPlansError, exact_sets, fits

_GRID = 1000
"""Sizes are counted in thousandths of a millimetre, so that sums of cuts are exact."""

_TOUCH_MM = 1e-6
_MOST_PACKED = 400
_MOST_ALONE = 1200
"""Pieces packed on several sheets together, and on one sheet; more takes too long."""
_RULES = ("Sas", "Las", "Slas", "Llas", "Maxas", "Minas")
_FITS = ("Bssf", "Baf", "Blsf")
_ORDERS = (rectpack.SORT_AREA, rectpack.SORT_LSIDE, rectpack.SORT_SSIDE, rectpack.SORT_PERI)


_Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class Want:
    """A rectangle wanted ``each`` times for every set."""

    length_mm: float
    width_mm: float
    each: int


@dataclass(frozen=True)
class Laid:
    """A piece on a sheet: which want it meets and the rectangle it takes, kerf not included."""

    want: int
    x_mm: float
    y_mm: float
    length_mm: float
    width_mm: float


@dataclass(frozen=True)
class Nesting:
    """``sets`` come out of the sheets; ``at_most`` is proved: no cutting yields more.

    ``sheets`` has the pieces on each sheet, in the order the sheets were given.
    """

    sets: int
    at_most: int
    sheets: tuple[tuple[Laid, ...], ...]


def lengths_from(stock_mm: float, piece_mm: float, kerf_mm: float, trim_mm: float = 0.0) -> int:
    """Pieces from one length; the last needs no cut where nothing is left.

    >>> lengths_from(1000.0, 44.0, 2.0), lengths_from(44.0, 44.0, 2.0)
    (21, 1)
    """
    return max(math.floor((stock_mm - trim_mm + kerf_mm) / (piece_mm + kerf_mm) + _TOUCH_MM), 0)


def nested(
    sheets_mm: tuple[tuple[float, float], ...],
    wants: tuple[Want, ...],
    kerf_mm: float,
    no_more: int | None = None,
) -> Nesting:
    """The most sets of ``wants`` that can be cut from the sheets, up to ``no_more``."""
    kerf = round(kerf_mm * _GRID)
    sheets = [(round(w * _GRID) + kerf, round(h * _GRID) + kerf) for w, h in sheets_mm]
    alike: dict[Size, list[int]] = {}
    for index, want in enumerate(wants):
        sides = sorted((want.length_mm, want.width_mm), reverse=True)
        size = (round(sides[0] * _GRID) + kerf, round(sides[1] * _GRID) + kerf)
        alike.setdefault(size, []).extend([index] * want.each)
    pieces, each = list(alike), tuple(len(members) for members in alike.values())
    most = _bound(sheets, pieces, each)
    if no_more is not None:
        most = min(most, no_more)
    if most == 0:
        return Nesting(0, 0, tuple(() for _ in sheets))
    try:
        sets, plans = exact_sets(sheets, pieces, each, most)
        most = sets
    except TooManyPlansError:
        sets, plans = _packed(sheets, pieces, each, most)
    # Pieces of one size are told apart only now, in turn.
    turns = [cycle(members) for members in alike.values()]
    laid = tuple(
        tuple(
            Laid(
                next(turns[piece]),
                *(round(side / _GRID, 3) for side in (x, y, w - kerf, h - kerf)),
            )
            for piece, x, y, w, h in plan
        )
        for plan in plans
    )
    return Nesting(sets, most, laid)


def _bound(sheets: list[Size], pieces: list[Size], each: Counts) -> int:
    """No more sets than by area, nor by rows and columns that any one piece could fill."""
    area = sum(w * h for w, h in sheets)
    by_area = area // sum(w * h * n for (w, h), n in zip(pieces, each, strict=True))
    alone = []
    for (w, h), n in zip(pieces, each, strict=True):
        fit = sum((W * H) // (w * h) for W, H in sheets if fits(w, h, W, H))
        alone.append(fit // n)
    return int(min(by_area, *alone))


def _packed(
    sheets: list[Size], pieces: list[Size], each: Counts, most: int
) -> tuple[int, list[list[Rect]]]:
    """The most sets that the packing library finds room for.

    Each sheet by itself first; where the pieces are few enough, then all sheets together, so that
    sets may be shared between sheets.
    """
    alone: dict[Size, tuple[int, list[list[Rect]]]] = {}
    best, plans = 0, []
    for sheet in sheets:
        if sheet not in alone:
            alone[sheet] = _halved([sheet], pieces, each, 0, _bound([sheet], pieces, each))
        sets, (plan,) = alone[sheet]
        used = min(sets, most - best)
        best += used
        still = [used * n for n in each]
        kept = []
        for one in plan:
            if still[one[0]]:
                still[one[0]] -= 1
                kept.append(one)
        plans.append(kept)
    if best < most and most * sum(each) <= _MOST_PACKED:
        together, shared = _halved(sheets, pieces, each, best, most)
        if together > best:
            return together, shared
    return best, plans


def _halved(
    sheets: list[Size], pieces: list[Size], each: Counts, low: int, high: int
) -> tuple[int, list[list[Rect]]]:
    """The most sets between ``low`` and ``high`` that pack, by halving the range."""
    best: tuple[int, list[list[Rect]]] = (0, [[] for _ in sheets])
    high = min(high, _MOST_ALONE // sum(each))
    while low < high:
        middle = (low + high + 1) // 2
        plans = _pack(sheets, [(w, h, n * middle) for (w, h), n in zip(pieces, each, strict=True)])
        if plans is None:
            high = middle - 1
        else:
            low, best = middle, (middle, plans)
    return best


def _pack(sheets: list[Size], wanted: list[tuple[int, int, int]]) -> list[list[Rect]] | None:
    total = sum(n for _, _, n in wanted)
    # Many pieces pack well whichever rule is taken; few are worth trying every way.
    few, many = total <= 60, total > _MOST_PACKED
    rules = _RULES if few else _RULES[:1] if many else _RULES[:2]
    orders = _ORDERS if few else _ORDERS[:1] if many else _ORDERS[:2]
    for order in orders:
        for fit in _FITS:
            for rule in rules:
                packer = rectpack.newPacker(
                    bin_algo=rectpack.PackingBin.BFF,
                    pack_algo=getattr(guillotine, f"Guillotine{fit}{rule}"),
                    sort_algo=order,
                    rotation=True,
                )
                for index, (W, H) in enumerate(sheets):
                    packer.add_bin(W, H, bid=index)
                for want, (w, h, n) in enumerate(wanted):
                    for _ in range(n):
                        packer.add_rect(w, h, rid=want)
                packer.pack()
                if sum(len(opened) for opened in packer) == total:
                    plans: list[list[Rect]] = [[] for _ in sheets]
                    for opened in packer:
                        plans[opened.bid] = [(r.rid, r.x, r.y, r.width, r.height) for r in opened]
                    return plans
    return None


def left_over(
    sheet_mm: tuple[float, float], laid: tuple[Laid, ...], kerf_mm: float
) -> tuple[float, float]:
    """Length and width of the largest rectangle left on a sheet; (0, 0) when there is none."""
    free = [(0.0, 0.0, *sheet_mm)]
    for one in laid:
        # The kerf is lost all round a piece.
        cut = (
            one.x_mm - kerf_mm,
            one.y_mm - kerf_mm,
            one.x_mm + one.length_mm + kerf_mm,
            one.y_mm + one.width_mm + kerf_mm,
        )
        free = [part for room in free for part in _without(room, cut)]
        free = _largest_only(free)
    sides = max(
        ((x1 - x0, y1 - y0) for x0, y0, x1, y1 in free),
        key=lambda s: s[0] * s[1],
        default=(0.0, 0.0),
    )
    return max(sides), min(sides)


def _largest_only(rooms: list[_Box]) -> list[_Box]:
    """Without those that lie inside another."""
    kept: list[_Box] = []
    for x0, y0, x1, y1 in sorted(rooms, key=lambda r: (r[0] - r[2]) * (r[3] - r[1])):
        if not any(a <= x0 and b <= y0 and c >= x1 and d >= y1 for a, b, c, d in kept):
            kept.append((x0, y0, x1, y1))
    return kept


def _without(room: _Box, cut: _Box) -> Iterator[_Box]:
    """The largest rectangles of ``room`` that do not meet ``cut``."""
    x0, y0, x1, y1 = room
    a0, b0, a1, b1 = cut
    if a0 >= x1 or a1 <= x0 or b0 >= y1 or b1 <= y0:
        yield room
        return
    if a0 > x0:
        yield (x0, y0, a0, y1)
    if a1 < x1:
        yield (a1, y0, x1, y1)
    if b0 > y0:
        yield (x0, y0, x1, b0)
    if b1 < y1:
        yield (x0, b1, x1, y1)
