"""Every way to cut rectangles out of sheets by cuts right across, for cases small enough.

Sizes are whole numbers, kerf included. Cuts need only lie at sums of piece sizes (Herz 1972;
Christofides and Whitlock 1977).
"""

from collections.abc import Iterator
from functools import cache
from typing import Any

_MOST_CUT_PLANS = 400_000
"""Cut plans weighed before an exact answer is given up."""

Counts = tuple[int, ...]
Size = tuple[int, int]
Rect = tuple[int, int, int, int, int]
"""Which piece, then x, y, width, height."""


def fits(w: int, h: int, W: int, H: int) -> bool:
    """Whether w × h fits W × H, turned or not."""
    return (w <= W and h <= H) or (h <= W and w <= H)


class TooManyPlansError(Exception):
    """The exact search has become too large to be worth its time."""


def exact_sets(
    sheets: list[Size], pieces: list[Size], each: Counts, most: int
) -> tuple[int, list[list[Rect]]]:
    """The most sets (``each`` of every piece), up to ``most``, and what lies on each sheet.

    Finds all counts that each sheet can give, then the best sum of them. Raises TooManyPlansError.
    """
    caps = tuple(n * most for n in each)
    cutter = _Cutter(pieces, caps)
    # For every sum of counts over the sheets so far, what each sheet gave.
    totals: dict[Counts, tuple[Counts, ...]] = {tuple(0 for _ in pieces): ()}
    for sheet in sheets:
        grown: dict[Counts, tuple[Counts, ...]] = {}
        for sum_so_far, given in totals.items():
            for counts in cutter.plans(sheet[0], sheet[1]):
                cutter.spend(1)
                total = tuple(
                    min(a + b, c) for a, b, c in zip(sum_so_far, counts, caps, strict=True)
                )
                grown.setdefault(total, (*given, counts))
        totals = {total: grown[total] for total in _best(list(grown))}
    best = max(totals, key=lambda total: min(a // n for a, n in zip(total, each, strict=True)))
    sets = min(a // n for a, n in zip(best, each, strict=True))
    still = [n * sets for n in each]
    plans = []
    for sheet, counts in zip(sheets, totals[best], strict=True):
        plan = []
        for one in cutter.laid(sheet[0], sheet[1], counts):
            # What no set needs is not cut.
            if still[one[0]]:
                still[one[0]] -= 1
                plan.append(one)
        plans.append(plan)
    return sets, plans


def _best(counts: list[Counts]) -> list[Counts]:
    """Those that no other matches or beats in every piece."""
    kept: list[Counts] = []
    for one in sorted(set(counts), reverse=True):
        if not any(all(a >= b for a, b in zip(other, one, strict=True)) for other in kept):
            kept.append(one)
    return kept


class _Cutter:
    """Which counts of pieces come out of a rectangle, and by which cuts."""

    def __init__(self, pieces: list[Size], caps: Counts) -> None:
        self.pieces, self.caps = pieces, caps
        self.sides = sorted({side for piece in pieces for side in piece})
        self.spent = 0
        self._known: dict[tuple[int, int], dict[Counts, Any]] = {}

    def spend(self, plans: int) -> None:
        self.spent += plans
        if self.spent > _MOST_CUT_PLANS:
            raise TooManyPlansError

    def plans(self, W: int, H: int) -> dict[Counts, Any]:
        """Best counts out of W × H, each with the cut that gives it."""
        W, H = self._down(W), self._down(H)
        if (W, H) in self._known:
            return self._known[W, H]
        how: dict[Counts, Any] = {tuple(0 for _ in self.pieces): None}
        for want, (w, h) in enumerate(self.pieces):
            if fits(w, h, W, H):
                how[tuple(int(want == other) for other in range(len(self.pieces)))] = want
        for across, side in ((True, W), (False, H)):
            for cut in self._sums(side):
                if not 0 < cut <= side // 2:
                    continue
                first = self.plans(cut, H) if across else self.plans(W, cut)
                rest = self.plans(W - cut, H) if across else self.plans(W, H - cut)
                self.spend(len(first) * len(rest))
                for a in first:
                    for b in rest:
                        counts = tuple(
                            min(x + y, cap) for x, y, cap in zip(a, b, self.caps, strict=True)
                        )
                        how.setdefault(counts, (across, cut, a, b))
        self._known[W, H] = {counts: how[counts] for counts in _best(list(how))}
        return self._known[W, H]

    def laid(self, W: int, H: int, counts: Counts, x: int = 0, y: int = 0) -> Iterator[Rect]:
        """The pieces of one of the plans of W × H, where they lie."""
        how = self.plans(W, H)[counts]
        if how is None:
            return
        if isinstance(how, int):
            w, h = self.pieces[how]
            w, h = (w, h) if w <= W and h <= H else (h, w)
            yield how, x, y, w, h
            return
        across, cut, a, b = how
        W, H = self._down(W), self._down(H)
        if across:
            yield from self.laid(cut, H, a, x, y)
            yield from self.laid(W - cut, H, b, x + cut, y)
        else:
            yield from self.laid(W, cut, a, x, y)
            yield from self.laid(W, H - cut, b, x, y + cut)

    def _down(self, side: int) -> int:
        return self._sums(side)[-1]

    def _sums(self, side: int) -> tuple[int, ...]:
        """Sums of piece sizes up to ``side``."""
        return _sums(tuple(self.sides), side)


@cache
def _sums(sides: tuple[int, ...], most: int) -> tuple[int, ...]:
    found, fresh = {0}, [0]
    while fresh:
        at = fresh.pop()
        for side in sides:
            if at + side <= most and at + side not in found:
                found.add(at + side)
                fresh.append(at + side)
        if len(found) > _MOST_CUT_PLANS // 100:
            raise TooManyPlansError
    return tuple(sorted(found))
