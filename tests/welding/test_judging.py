"""One weld line held against each standard, figures by hand."""

import pytest
from pretend_welds import even_load, weld_line

from fea.seams import SeamLoad
from fea.throat import E70_MPA
from geometry.weld_lines import Bead, WeldedSteel
from studies.welding.judging import governing, judged_line
from studies.welding.rules import Method, WeldRules

THROAT = 5.0 / 2.0**0.5
# fu / (βw γM2) of S355 with fu = 490 MPa, EN 1993-1-8, 4.5.3.2.
LIMIT = 490.0 / (0.9 * 1.25)


def _used(
    method: Method, load: SeamLoad, kind: str = "rib on plate", **choices: object
) -> float | None:
    return judged_line(weld_line(kind), load, WeldRules(method, **choices)).used  # type: ignore[arg-type]


def test_two_beads_share_a_pull() -> None:
    """Half of 400 N/mm on each throat: √(σ² + 3τ²) = √2 · 200 / a."""
    assert _used("EN directional", even_load(pull=400.0)) == pytest.approx(
        2.0**0.5 * 200.0 / THROAT / LIMIT
    )
    assert _used("EN simplified", even_load(pull=400.0)) == pytest.approx(
        3.0**0.5 * 200.0 / THROAT / LIMIT
    )


def test_a_couple_pulls_on_one_bead_and_presses_on_the_other() -> None:
    """600 N·mm for each mm over roots 6 mm apart adds 100 N/mm to one bead."""
    both = _used("EN directional", even_load(pull=400.0, couple=600.0))
    assert both == pytest.approx(2.0**0.5 * 300.0 / THROAT / LIMIT)
    assert _used("EN directional", even_load(pull=400.0, couple=-600.0)) == pytest.approx(both)


def test_the_only_bead_takes_all() -> None:
    one = weld_line(beads=(Bead(-3.0, 90.0),))
    found = judged_line(one, even_load(pull=400.0), WeldRules("EN simplified"))
    assert found.used == pytest.approx(3.0**0.5 * 400.0 / THROAT / LIMIT)


def test_a_bead_on_the_other_side_is_pushed_from_the_other_side() -> None:
    """Pull and push to the left: shear on the left throat, σ⊥ on the right one; shear decides."""
    load = even_load(pull=200.0, outward=200.0)
    assert _used("EN directional", load) == pytest.approx(
        3.0**0.5 * 2.0**0.5 * 100.0 / THROAT / LIMIT
    )
    # With the left bead alone missing, the right one has all of it, square to its throat.
    right = weld_line(beads=(Bead(-3.0, 90.0),))
    found = judged_line(right, load, WeldRules())
    assert found.used == pytest.approx(2.0**0.5 * 200.0 / THROAT / (0.9 * 490.0 / 1.25))


@pytest.mark.parametrize(("method", "factor"), [("AISC LRFD", 0.75), ("AISC ASD", 0.5)])
def test_aisc_across_along_and_round_a_pulled_tube(method: Method, factor: float) -> None:
    plain = 0.60 * E70_MPA * factor * THROAT
    assert _used(method, even_load(along=400.0)) == pytest.approx(200.0 / plain)
    assert _used(method, even_load(pull=-400.0)) == pytest.approx(200.0 / plain / 1.5)
    assert _used(method, even_load(pull=-400.0), "tube end") == pytest.approx(400.0 / plain / 1.5)
    assert _used(method, even_load(pull=400.0), "tube end") == pytest.approx(400.0 / plain)
    weaker = _used(method, even_load(along=400.0), electrode_mpa=E70_MPA / 2)
    assert weaker == pytest.approx(400.0 / plain)


def test_faced_ends_leave_pressing_to_the_contact() -> None:
    load = even_load(pull=-400.0, along=100.0)
    assert _used("EN simplified", load, "tube end", tube_ends="faced") == pytest.approx(
        3.0**0.5 * 100.0 / THROAT / LIMIT
    )
    # Pulls stay, and ribs are never faced.
    pulled = even_load(pull=400.0)
    for kind, same in (("tube end", pulled), ("rib on plate", load)):
        assert _used("EN simplified", same, kind, tube_ends="faced") == _used(
            "EN simplified", same, kind
        )


def test_the_leg_that_would_do() -> None:
    found = judged_line(weld_line(), even_load(pull=4000.0), WeldRules())
    assert found.used
    assert found.used > 1.0
    assert found.needed_leg_mm
    again = judged_line(weld_line(leg_mm=found.needed_leg_mm), even_load(pull=4000.0), WeldRules())
    assert again.used == pytest.approx(1.0)


def test_a_joint_without_fillet_is_not_checked_but_told_its_leg() -> None:
    bare = judged_line(weld_line(leg_mm=0.0), even_load(pull=-400.0), WeldRules())
    filled = judged_line(weld_line(), even_load(pull=-400.0), WeldRules())
    assert (bare.used, bare.half, bare.double) == (None, None, None)
    assert bare.needed_leg_mm == pytest.approx(filled.needed_leg_mm)
    assert governing((bare,)) is None
    assert governing((bare, filled)) is filled


def test_a_short_line_is_judged_at_its_end() -> None:
    """F/L ± 6 M/L² on 24 mm, which EN 1993-1-8 counts as too short: its least is 30 mm."""
    slanted = SeamLoad((400.0, 300.0, 200.0, 100.0, 0.0), *((0.0,) * 5,) * 3)
    found = judged_line(weld_line(length_mm=24.0), slanted, WeldRules())
    assert found.too_short
    assert found.force[0] == pytest.approx(400.0)
    assert found.place == "at the tube"
    # On a line of 120 mm it is the straight fit through the last 30 mm: the same.
    long = judged_line(weld_line(length_mm=120.0), slanted, WeldRules())
    assert not long.too_short
    assert long.force[0] == pytest.approx(400.0)


def test_aisc_counts_a_quarter_of_a_short_line() -> None:
    """AISC 360, J2.2b: a leg of 5 mm counts as 3 on 12 mm of weld."""
    short = judged_line(weld_line(length_mm=12.0), even_load(along=400.0), WeldRules("AISC ASD"))
    whole = judged_line(weld_line(), even_load(along=400.0), WeldRules("AISC ASD"))
    assert short.used == pytest.approx(5.0 / 3.0 * whole.used)  # type: ignore[operator]
    heavy = judged_line(weld_line(length_mm=12.0), even_load(along=4000.0), WeldRules("AISC ASD"))
    assert heavy.needed_leg_mm is None


def test_the_weaker_part_and_a_weaker_filler_count() -> None:
    mixed = (WeldedSteel("S355", 490.0, 8.0), WeldedSteel("S235", 360.0, 6.0))
    assert WeldRules().weld_strength(weld_line(parts=mixed)) == (360.0, 0.8)
    soft = weld_line(parts=mixed, weld_ultimate_mpa=300.0)
    assert WeldRules().weld_strength(soft) == (300.0, 0.8)
    assert WeldRules(correlation=1.0).weld_strength(weld_line()) == (490.0, 1.0)


def test_least_and_shortest_by_method() -> None:
    line = weld_line()
    assert WeldRules().least_leg_mm(line) == pytest.approx(3.0 * 2.0**0.5)
    assert WeldRules("AISC ASD").least_leg_mm(line) == pytest.approx(25.4 / 8)
    assert WeldRules().shortest_mm(line) == 30.0
    assert WeldRules().shortest_mm(weld_line(leg_mm=10.0)) == pytest.approx(60.0 / 2.0**0.5)
    assert WeldRules("AISC ASD").shortest_mm(line) == 20.0
