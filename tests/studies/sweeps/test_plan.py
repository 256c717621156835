"""What a sweep varies: lists, ranges, keys, and what is refused before anything is computed."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tiny_study import tiny_study

from fea.errors import InputError
from studies.sweeps.designs import IDLE, Design, Refused, planned
from studies.sweeps.values import listed


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("8, 10, 12 mm", ["8 mm", "10 mm", "12 mm"]),
        ("8 mm, 3/8 in", ["8 mm", "3/8 in"]),
        ("6 to 14 by 2 mm", ["6 mm", "8 mm", "10 mm", "12 mm", "14 mm"]),
        ("6 to 9 by 2 mm", ["6 mm", "8 mm"]),
        ("14 mm to 6 mm by 4 mm", ["14 mm", "10 mm", "6 mm"]),
        ("0.1 to 0.5 by 0.1 in", ["0.1 in", "0.2 in", "0.3 in", "0.4 in", "0.5 in"]),
        ("1/8 to 3/8 by 1/16 in", ["1/8 in", "3/16 in", "1/4 in", "5/16 in", "3/8 in"]),
        ("1 to 2 by 1/2 in", ["1 in", "1-1/2 in", "2 in"]),
        ("1-1/4 to 1-3/4 by 0.25 in", ["1-1/4 in", "1-1/2 in", "1-3/4 in"]),
        ("fused, 3, 5 mm", ["fused", "3 mm", "5 mm"]),
        ("6 to 8 by 1, 12 mm", ["6 mm", "7 mm", "8 mm", "12 mm"]),
        ("120 x 80, 100 × 100 mm", ["120 × 80 mm", "100 × 100 mm"]),
        ("plain, mid-wall", ["plain", "mid-wall"]),
        ("A500 B, S355", ["A500 B", "S355"]),
    ],
)
def test_lists_and_ranges(text: str, shown: list[str]) -> None:
    assert [value.text for value in listed(text)] == shown


def test_values_are_written_as_the_file_holds_them() -> None:
    assert [value.written for value in listed("3, 2.5, 10")] == [3, 2.5, 10]
    assert [value.written for value in listed("true, False")] == [True, False]
    assert [value.written for value in listed("120 x 80 mm")] == [["120 mm", "80 mm"]]


@given(st.integers(1, 500), st.integers(1, 50), st.integers(0, 40), st.integers(0, 3))
def test_ranges_are_counted_out_without_rounding(
    start: int, step: int, count: int, decimals: int
) -> None:
    """The k-th label is the decimal with start + k × step digits, never 0.30000000000000004."""

    def text(whole: int) -> str:
        digits = f"{whole:0{decimals + 1}d}"
        if not decimals:
            return digits
        return f"{digits[:-decimals]}.{digits[-decimals:]}".rstrip("0").rstrip(".")

    found = listed(f"{text(start)} to {text(start + count * step)} by {text(step)} mm")
    assert [one.text for one in found] == [f"{text(start + k * step)} mm" for k in range(count + 1)]


@pytest.mark.parametrize(
    ("vary", "said"),
    [
        ([], ["nothing is varied", "[sweep]", "--vary"]),
        (["tube.wall"], ["'tube.wall' is not a quantity with its values", "tube.wall = 5"]),
        (["tube.wall ="], ["not a quantity with its values"]),
        (["tube.wal = 5 mm"], ["--vary: tube.wal: unknown key", "did you mean 'wall'"]),
        (["tube.wall = 5, 6"], ["tube.wall: 5 has no unit"]),
        (["tube.wall = 5 kN"], ["tube.wall", "'5 kN'"]),
        (["tube.wall = 5, 6, 5 mm"], ["tube.wall", "'5 mm' is there twice"]),
        (["tube.wall = 5,, 6 mm"], ["a value missing"]),
        (["tube.wall = 5 to 9 by 0 mm"], ["never gets there"]),
        (["tube.wall = 5 to 9 by 1/0 mm"], ["divides by zero"]),
        (["tube.wall = 5 to 9 mm"], ["is no range", "6 to 14 by 2 mm"]),
        (["tube.wall = 5 mm to 1 in by 2 mm"], ["mixes units"]),
        (["tube.wall = 1 to 90000 by 1 mm"], ["has 90000 values", "longer steps"]),
        (["tube.wall = 5 mm", "tube.wall = 6 mm"], ["is there twice"]),
        (["tube.wall = 5 mm", "tube.wall and tube.height = 6 mm"], ["tube.wall is varied twice"]),
        (["layouts.Midwall.rib_length = 5 mm"], ["called 'Midwall'", "did you mean 'Mid-wall r"]),
        (["loads.offset = 5 mm"], ["none of the loads has 'offset'", "loads['Crush'].offset"]),
        (["title = a, b"], ["'title' cannot be varied"]),
        (["steel.all.yield = 300 MPa"], ["steel.all has no keys of its own"]),
        (["tube..wall = 5 mm"], ["is no quantity of a study file"]),
        (["tube.height = 1 to 900 by 1 mm"], ["1800 designs are more than 1000", "--most 1800"]),
        (["tube.wall = 25, 30 mm"], ["none of the 4 designs can be built", "the first: tube.wall"]),
    ],
    ids=str,
)
def test_a_wrong_sweep_is_refused_in_one_line(
    vary: list[str], said: list[str], tmp_path: Path
) -> None:
    with pytest.raises(InputError) as refused:
        planned(tiny_study(tmp_path), vary, None, 1000)
    for words in said:
        assert words in str(refused.value)
    assert "\n" not in str(refused.value)


def test_every_combination_with_every_layout(tmp_path: Path) -> None:
    vary = ["tube.wall = 5, 6 mm", "rib_thickness = 4, 8 mm"]
    plan = planned(tiny_study(tmp_path), vary, None, 1000)
    assert plan.headings == ("tube wall", "rib thickness")
    # Without ribs their thickness does not count, so the plain layout is there once for each wall.
    assert [(one.layout_name, one.values) for one in plan.designs] == [
        ("No gussets", ("5 mm", IDLE)),
        ("Mid-wall ribs", ("5 mm", "4 mm")),
        ("Mid-wall ribs", ("5 mm", "8 mm")),
        ("No gussets", ("6 mm", IDLE)),
        ("Mid-wall ribs", ("6 mm", "4 mm")),
        ("Mid-wall ribs", ("6 mm", "8 mm")),
    ]
    made = [one for one in plan.designs if isinstance(one, Design)]
    assert [one.layout.block.tube.wall_mm for one in made] == [5, 5, 5, 6, 6, 6]
    assert [one.layout.block.ribs[0].thickness_mm for one in made[1:3]] == [4.0, 8.0]


def test_what_cannot_be_built_is_a_row_with_its_reason(tmp_path: Path) -> None:
    plan = planned(tiny_study(tmp_path), ["rib_length = 5, 90 mm"], None, 1000)
    kinds = [(one.layout_name, one.values, type(one)) for one in plan.designs]
    assert kinds == [
        ("No gussets", (IDLE,), Design),
        ("Mid-wall ribs", ("5 mm",), Design),
        ("Mid-wall ribs", ("90 mm",), Refused),
    ]
    reason = plan.designs[2].reason if isinstance(plan.designs[2], Refused) else ""
    assert reason.startswith("layouts['Mid-wall ribs'].rib_length: ")
    assert "use at most" in reason


def test_quantities_that_change_together(tmp_path: Path) -> None:
    key = "bottom_plate.thickness and top_plate.thickness"
    plan = planned(tiny_study(tmp_path), [f"{key} = 6, 10 mm"], None, 1000)
    blocks = [one.layout.block for one in plan.designs if isinstance(one, Design)]
    sizes = [(block.bottom.thickness_mm, block.top.thickness_mm) for block in blocks]
    assert sizes == [(6, 6), (6, 6), (10, 10), (10, 10)]


def test_one_layout_of_its_own(tmp_path: Path) -> None:
    for key in ("layouts['Mid-wall ribs'].rib_length", "layouts.Mid-wall ribs.rib_length"):
        plan = planned(tiny_study(tmp_path), [f"{key} = 4, 5 mm"], None, 1000)
        assert [one.values for one in plan.designs] == [(IDLE,), ("4 mm",), ("5 mm",)]


def test_patterns_steels_loads_and_mesh(tmp_path: Path) -> None:
    vary = ["layouts.pattern = plain, mid-wall", "steel.all = S235, S355"]
    plan = planned(tiny_study(tmp_path), [*vary, "rated_load = 5, 8 kN"], "normal", 1000)
    made = [one for one in plan.designs if isinstance(one, Design)]
    assert len(made) == 2 * 2 * 2 * 2
    assert {one.setting for one in made} == {"normal"}
    assert {one.loads[0].load_n for one in made} == {5000.0, 8000.0}
    assert {one.layout.block.tube.steel.name for one in made} == {"S235", "S355"}
    assert {one.layout.pattern for one in made} == {"plain", "mid-wall"}


@pytest.mark.parametrize(
    "table",
    [
        '[sweep]\ntube.wall = "5, 6 mm"\n',
        '[sweep]\n"tube.wall" = ["5 mm", "6 mm"]\n',
        '[sweep]\ntube = { wall = "5 to 6 by 1 mm" }\n',
    ],
)
def test_a_sweep_in_the_file(table: str, tmp_path: Path) -> None:
    plan = planned(tiny_study(tmp_path, table), [], None, 1000)
    assert {one.values for one in plan.designs} == {("5 mm",), ("6 mm",)}
    # The command line goes first, and adds.
    plan = planned(tiny_study(tmp_path, table), ["tube.wall = 4 mm", "rib_length = 5 mm"], None, 9)
    assert {one.values for one in plan.designs} == {("4 mm", IDLE), ("4 mm", "5 mm")}


@pytest.mark.parametrize(
    ("table", "said"),
    [
        ('[sweep]\ntube.wal = "5 mm"\n', "tiny.toml: sweep: tube.wal: unknown key"),
        ("[sweep]\ntube.wall = 5\n", "tiny.toml: sweep.tube.wall: 5 is no list of values"),
        ("[sweep]\n", "nothing is varied"),
    ],
)
def test_a_wrong_sweep_in_the_file(table: str, said: str, tmp_path: Path) -> None:
    with pytest.raises(InputError) as refused:
        planned(tiny_study(tmp_path, table), [], None, 1000)
    assert said in str(refused.value)
