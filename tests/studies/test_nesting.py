"""Pieces out of stock, against a packer that tries everything."""

import random
from functools import cache

import pytest

from studies.shop.nesting import Want, left_over, lengths_from, nested


def _by_hand_mm(stock: int, piece: int, kerf: int) -> int:
    """Saw pieces off one after another until no more come out."""
    count = 0
    while stock >= piece:
        count, stock = count + 1, stock - piece - kerf
    return count


def test_lengths_are_sawn_one_after_another() -> None:
    for stock in range(1, 300, 7):
        for piece, kerf in ((44, 2), (10, 0), (150, 3)):
            assert lengths_from(stock, piece, kerf) == _by_hand_mm(stock, piece, kerf)
    assert lengths_from(100.0, 44.0, 2.0, trim_mm=12.0) == 1


def _all_cuts_sets(sheets: list[tuple[int, int]], wants: list[tuple[int, int, int]]) -> int:
    """Every cut right across at every millimetre, every set of pieces: the brute force."""
    kinds = tuple((w, h) for w, h, _ in wants)

    @cache
    def room_for(w: int, h: int, counts: tuple[int, ...]) -> bool:
        if not any(counts):
            return True
        if sum(n * a * b for n, (a, b) in zip(counts, kinds, strict=True)) > w * h:
            return False
        if sum(counts) == 1:
            a, b = kinds[counts.index(1)]
            return (a <= w and b <= h) or (b <= w and a <= h)
        halves = [()]
        for n in counts:
            halves = [(*half, i) for half in halves for i in range(n + 1)]
        for half in halves:
            rest = tuple(n - i for n, i in zip(counts, half, strict=True))
            if not any(half) or not any(rest):
                continue
            for x in range(1, w):
                if room_for(x, h, half) and room_for(w - x, h, rest):
                    return True
            for y in range(1, h):
                if room_for(w, y, half) and room_for(w, h - y, rest):
                    return True
        return False

    def spread(counts: tuple[int, ...], left: list[tuple[int, int]]) -> bool:
        if not left:
            return not any(counts)
        shares = [()]
        for n in counts:
            shares = [(*share, i) for share in shares for i in range(n + 1)]
        return any(
            room_for(*left[0], share)
            and spread(tuple(n - i for n, i in zip(counts, share, strict=True)), left[1:])
            for share in shares
        )

    sets = 0
    while spread(tuple(n * (sets + 1) for _, _, n in wants), sheets):
        sets += 1
    return sets


@pytest.mark.parametrize("seed", range(25))
def test_sets_from_plates_are_the_brute_forces(seed: int) -> None:
    """Small plates, one to three kinds of piece, no kerf: the very count, and proved the most."""
    rng = random.Random(seed)
    sheets = [(rng.randint(8, 18), rng.randint(6, 14)) for _ in range(rng.choice((1, 1, 2)))]
    wants = [
        (rng.randint(4, 9), rng.randint(3, 8), rng.randint(1, 2)) for _ in range(rng.choice((1, 2)))
    ]
    found = nested(
        tuple((float(w), float(h)) for w, h in sheets), tuple(Want(*want) for want in wants), 0.0
    )
    assert found.sets == found.at_most == _all_cuts_sets(sheets, wants)


@pytest.mark.parametrize(
    ("sheet", "wants", "kerf"),
    [
        ((500.0, 300.0), (Want(150.0, 110.0, 2),), 2.5),
        ((600.0, 400.0), (Want(150.0, 110.0, 2), Want(44.0, 15.4, 4)), 2.0),
        ((1000.0, 500.0), (Want(150.0, 110.0, 2), Want(44.0, 19.2, 4), Want(44.0, 13.9, 4)), 3.0),
    ],
)
def test_pieces_lie_on_the_plate_a_kerf_apart(
    sheet: tuple[float, float], wants: tuple[Want, ...], kerf: float
) -> None:
    found = nested((sheet,), wants, kerf)
    assert 1 <= found.sets <= found.at_most
    laid = found.sheets[0]
    for index, want in enumerate(wants):
        mine = [one for one in laid if one.want == index]
        assert len(mine) == want.each * found.sets
        for one in mine:
            assert sorted((one.length_mm, one.width_mm)) == pytest.approx(
                sorted((want.length_mm, want.width_mm))
            )
    for number, one in enumerate(laid):
        assert one.x_mm >= 0.0
        assert one.y_mm >= 0.0
        assert one.x_mm + one.length_mm <= sheet[0] + 1e-6
        assert one.y_mm + one.width_mm <= sheet[1] + 1e-6
        for other in laid[:number]:
            apart = max(
                one.x_mm - other.x_mm - other.length_mm,
                other.x_mm - one.x_mm - one.length_mm,
                one.y_mm - other.y_mm - other.width_mm,
                other.y_mm - one.y_mm - one.width_mm,
            )
            assert apart >= kerf - 1e-6


def test_many_plates_yield_at_least_what_each_yields_alone() -> None:
    """Twelve large plates: too much for every cut there is, so each is packed by itself.

    8 rows of 9 plates 150 × 110 lie on 1 m × 1.4 m with 2 mm between; 12 sets take 60 of the 72
    places, and the ribs go into the rest.
    """
    wants = (Want(150.0, 110.0, 5), Want(44.0, 19.2, 4), Want(44.0, 13.9, 4))
    found = nested(((1400.0, 1000.0),) * 12, wants, 2.0)
    assert 12 * 12 <= found.sets <= found.at_most
    for index, want in enumerate(wants):
        mine = sum(one.want == index for sheet in found.sheets for one in sheet)
        assert mine == want.each * found.sets


def test_pieces_of_one_size_are_told_apart_again() -> None:
    """Two kinds of 150 × 110, one turned: 310 × 230 holds two of each."""
    found = nested(((310.0, 230.0),), (Want(150.0, 110.0, 1), Want(110.0, 150.0, 1)), 2.0)
    assert found.sets == 2
    assert sorted(one.want for one in found.sheets[0]) == [0, 0, 1, 1]


def test_a_plate_too_small_yields_nothing() -> None:
    found = nested(((100.0, 100.0),), (Want(150.0, 110.0, 1),), 2.0)
    assert (found.sets, found.at_most, found.sheets) == (0, 0, ((),))


def test_the_largest_rectangle_left_is_told() -> None:
    """One strip 110 wide off a plate of 300, and the kerf beside it, leaves 188 of the width."""
    found = nested(((500.0, 300.0),), (Want(480.0, 110.0, 1),), 2.0)
    assert found.sets == 2
    assert left_over((500.0, 300.0), found.sheets[0][:1], 2.0) == pytest.approx((500.0, 188.0))
    assert left_over((500.0, 300.0), (), 2.0) == (500.0, 300.0)
