"""Study files: the good ones read, changed ones read or are refused, and the command."""

import copy
import subprocess
import sys
import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from demo_text import GOOD, pad, swap
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fea.errors import InputError
from studies.load_words import load_sentence
from studies.loads import CrushCase, WrapCase
from studies.study import read_study, slug
from studies.template import study_template
from studies.units import OutputUnits

DEMO = Path(__file__).parents[2] / "studies" / "demo"


def test_the_metric_demo_says_what_its_file_says() -> None:
    study = read_study(DEMO / "trailer_risers.toml")
    assert study.slug == "trailer-risers"
    assert [layout.pattern for layout in study.layouts] == [
        "plain", "corner-diagonal", "wall-extensions", "mid-wall", "overhang", "inner-cross",
    ]  # fmt: skip
    assert [layout.baseline for layout in study.layouts] == [True] + 5 * [False]
    crush, wrap, side = study.loads
    assert crush == CrushCase("Crush", 30_000.0, 10.0)
    assert crush.demanded_n == 300_000.0
    assert isinstance(wrap, WrapCase)
    assert wrap.offset_mm == (35.0, 0.0)
    assert isinstance(side, WrapCase)
    assert side.offset_mm == pytest.approx((0.0, 450_000.0 / 30_000.0))
    assert study.layouts[0].block.tube.corner_radius_mm == 12.0
    assert study.layouts[0].block.pin is not None
    assert study.layouts[0].block.pin.steel.yield_mpa == 235.0


def test_the_inch_demo_uses_the_thinner_real_wall() -> None:
    study = read_study(DEMO / "bench_block.toml")
    tube = study.layouts[0].block.tube
    assert tube.wall_mm == pytest.approx(0.93 * 6.35)
    assert tube.corner_radius_mm == pytest.approx(2 * 0.93 * 6.35)
    assert study.units.force == "US ton"
    assert study.layouts[2].block.ribs[0].shape == "triangle"


@pytest.mark.parametrize("units", ["mm", "in"])
def test_the_template_reads(units: Any, tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    path.write_text(study_template(units), encoding="utf-8")
    assert read_study(path).slug == "mine"


def test_limits_typed_back_are_taken(tmp_path: Path) -> None:
    """The largest offset, pad and seat that a refusal names, used as it is written there."""
    path = tmp_path / "mine.toml"
    for text in (
        swap('offset = "35 mm"', 'offset = "71.25 mm"\nseat = ["150 mm", "110 mm"]'),
        pad('["30 mm", "30 mm"]\nposition = ["-60 mm", "40 mm"]'),
        pad('["150 mm", "110 mm"]'),
    ):
        path.write_text(text, encoding="utf-8")
        assert len(read_study(path).loads) == 3


def test_the_hole_that_the_pin_sits_in(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    path.write_text(swap('# seat_hole = "20 mm"', 'seat_hole = "20 mm"'), encoding="utf-8")
    crush, wrap, side = read_study(path).loads
    assert isinstance(wrap, WrapCase)
    assert isinstance(side, WrapCase)
    assert (wrap.pin_hole_mm, side.pin_hole_mm) == (20.0, 20.0)
    plain = read_study(DEMO / "trailer_risers.toml").loads
    assert (crush, wrap) == (plain[0], replace(plain[1], pin_hole_mm=20.0))
    said = load_sentence(wrap, OutputUnits())
    assert "; the seat below has a hole of 20.0 mm for the pin; demanded" in said


def test_own_steel_by_all_its_figures(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    own = '{ name = "cert", yield = "50 ksi", ultimate = "65 ksi", E = "200 GPa", nu = 0.29 }'
    path.write_text("\ufeff" + swap('all = "S355"', f"all = {own}"), encoding="utf-8")
    steel = read_study(path).layouts[0].block.tube.steel
    assert steel.name == "cert"
    assert (steel.yield_mpa, steel.ultimate_mpa) == pytest.approx((344.738, 448.159), rel=1e-5)
    assert (steel.e_mpa, steel.nu) == pytest.approx((200_000.0, 0.29))


def test_slugs_are_plain_file_names() -> None:
    assert slug("Walls, carried on") == "walls-carried-on"
    for text in ("../../etc/passwd", "…", "", "CON<>|", "x" * 500):
        made = slug(text)
        assert made
        assert len(made) <= 48
        assert set(made) <= set("abcdefghijklmnopqrstuvwxyz0123456789-")


def test_names_apart_have_files_apart() -> None:
    names = (
        "Wrap",
        "Wrap +",
        "Wrap -",
        "Wrap -30",
        "Wrap 30",
        "Стойка",
        "Ребро",
        "x" * 60,
        "x" * 59,
    )
    assert len({slug(name) for name in names}) == len(names)


def _paths(value: Any, here: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    found = [here] if here else []
    items = (
        value.items()
        if isinstance(value, dict)
        else enumerate(value)
        if isinstance(value, list)
        else ()
    )
    for key, inner in items:
        found += _paths(inner, (*here, key))
    return found


_DATA = tomllib.loads(GOOD)
_STRANGE = st.one_of(
    st.none(), st.booleans(), st.integers(-5, 5), st.floats(), st.text(max_size=12),
    st.sampled_from(["1 mm", "-4 mm", "1e9 mm", "fused", "5 ton", "2-1/2 in"]),
    st.lists(st.integers(), max_size=2),
    st.dictionaries(st.text(max_size=4), st.integers(), max_size=2),
)  # fmt: skip


@settings(
    max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(st.lists(st.tuples(st.sampled_from(_paths(_DATA)), _STRANGE), min_size=1, max_size=3))
def test_any_change_reads_or_is_refused(
    monkeypatch: pytest.MonkeyPatch, changes: list[tuple[tuple[Any, ...], Any]]
) -> None:
    data = copy.deepcopy(_DATA)
    for path, value in changes:
        inner: Any = data
        try:
            for step in path[:-1]:
                inner = inner[step]
            inner[path[-1]] = value
        except (KeyError, IndexError, TypeError):
            continue
    monkeypatch.setattr("studies.study.toml_data", lambda _path: data)
    try:
        study = read_study(Path("mine.toml"))
    except InputError as error:
        assert str(error).isprintable()  # noqa: PT017
        return
    assert study.layouts


def _command(*arguments: str) -> "subprocess.CompletedProcess[str]":
    return subprocess.run(
        [sys.executable, "-m", "studies.command", *arguments],
        capture_output=True, text=True, check=False, timeout=60,
    )  # fmt: skip


def test_wrong_input_exits_with_two_and_no_traceback(tmp_path: Path) -> None:
    study = tmp_path / "mine.toml"
    study.write_text(swap('wall = "6 mm"', "wall = 6"), encoding="utf-8")
    file = tmp_path / "file"
    file.write_text("")
    good = str(DEMO / "bench_block.toml")
    for arguments in (
        ("compare", str(study)),
        ("compare", str(tmp_path / "none.toml")),
        ("compare", good, "--out", str(file)),
        ("compare", good, "--out", "/proc/none"),
        ("compare", good, "--out", str(tmp_path / ("x" * 300))),
        ("new", "/proc/none.toml"),
        ("new", str(tmp_path / ("x" * 300))),
        ("new", str(study)),
        ("new", str(tmp_path / "no" / "such.toml")),
    ):
        ran = _command(*arguments)
        assert ran.returncode == 2, ran.stderr
        assert ran.stderr.startswith("gussetry: ")
        assert ran.stderr.count("\n") == 1


def test_new_writes_a_file_that_reads(tmp_path: Path) -> None:
    path = tmp_path / "fresh.toml"
    ran = _command("new", str(path), "--units", "in")
    assert ran.returncode == 0
    assert str(path) in ran.stdout
    assert read_study(path).units.length == "in"
