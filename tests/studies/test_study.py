"""Study files: the good ones read, and one clear line for each bad one."""

import copy
import subprocess
import sys
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fea.errors import InputError
from studies.loads import CrushCase, WrapCase
from studies.study import read_study, slug
from studies.template import study_template

DEMO = Path(__file__).parents[2] / "studies" / "demo"
GOOD = (DEMO / "trailer_risers.toml").read_text(encoding="utf-8")


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


def _swap(old: str, new: str) -> str:
    assert old in GOOD
    return GOOD.replace(old, new, 1)


WRONG = {
    "unknown key": (_swap('wall = "6 mm"', 'wal = "6 mm"'), ["tube.wal", "did you mean 'wall'"]),
    "missing key": (_swap('height = "44 mm"\n', ""), ["tube.height", "missing"]),
    "bare number": (_swap('wall = "6 mm"', "wall = 6"), ["tube.wall", "6 has no unit", '"60 mm"']),
    "wrong unit": (_swap('wall = "6 mm"', 'wall = "6 kN"'), ["tube.wall", "'6 kN'", "mm"]),
    "wrong shape": (
        _swap('size = ["120 mm", "80 mm"]', 'size = "120 mm"'),
        ["tube.size", "'120 mm'", '["120 mm", "80 mm"]'],
    ),
    "three sizes": (
        _swap('size = ["120 mm", "80 mm"]', 'size = ["1 mm", "2 mm", "3 mm"]'),
        ["tube.size", "two"],
    ),
    "unknown pattern": (
        _swap('pattern = "mid-wall"', 'pattern = "midwall"'),
        ["layouts['Mid-wall ribs'].pattern", "'midwall'", "did you mean 'mid-wall'"],
    ),
    "unknown steel": (_swap('all = "S355"', 'all = "S356"'), ["steel", "'S356'", "'S355'"]),
    "own steel half given": (
        _swap('all = "S355"', 'all = { yield = "300 MPa" }'),
        ["steel.all", "ultimate", "missing"],
    ),
    "own steel upside down": (
        _swap('all = "S355"', 'all = { yield = "300 MPa", ultimate = "200 MPa" }'),
        ["ultimate", "below the yield"],
    ),
    "no baseline": (_swap("baseline = true\n", ""), ["layouts", "baseline = true"]),
    "two baselines": (
        GOOD.replace('pattern = "mid-wall"', 'pattern = "mid-wall"\nbaseline = true'),
        ["layouts", "2 marked as the baseline"],
    ),
    "one name twice": (_swap('"Mid-wall ribs"', '"No gussets"'), ["two are called 'No gussets'"]),
    "one load twice": (_swap('"Side lean"', '"Crush"'), ["two are called 'Crush'"]),
    "unknown load": (_swap('kind = "crush"', 'kind = "squash"'), ["loads", "'squash'", "crush"]),
    "key of another load": (
        _swap('name = "Crush"', 'name = "Crush"\noffset = "3 mm"'),
        ["loads['Crush'].offset", "unknown key"],
    ),
    "offset and torque": (
        _swap('offset = "35 mm"', 'offset = "35 mm"\naxle_torque = "5 N m"'),
        ["loads['Wrap forward'].offset", "give just one"],
    ),
    "offset off the plate": (
        _swap('offset = "35 mm"', 'offset = "80 mm"'),
        ["loads['Wrap forward'].offset", "80 mm", "71.25 mm"],
    ),
    "torque off the plate": (
        _swap('axle_torque = "450 N m"', 'axle_torque = "9 kN m"'),
        ["loads['Side lean'].axle_torque", "300 mm"],
    ),
    "no rated load": (_swap('rated_load = "30 kN"', 'rated_load = "0 kN"'), ["rated_load", "0 N"]),
    "demand of nothing": (_swap("demand = 10", "demand = 0"), ["demand = 0", "more than 0"]),
    "rib too long": (
        _swap('name = "Mid-wall ribs"', 'name = "Mid-wall ribs"\nrib_length = "40 mm"'),
        ["layouts['Mid-wall ribs'].rib_length", "front rib", "past", "use at most"],
    ),
    "weld too large": (
        _swap('tube_bottom = "5 mm"', 'tube_bottom = "9 mm"'),
        ["welds.tube_bottom", "9 mm", "to 7.5 mm"],
    ),
    "weld of nothing": (
        _swap('tube_top = "5 mm"', 'tube_top = "0 mm"'),
        ["welds.tube_top", "fused"],
    ),
    "hole too wide": (
        _swap('diameter = "18 mm"', 'diameter = "90 mm"'),
        ["hole.diameter", "90 mm"],
    ),
    "ten metres": (
        _swap('height = "44 mm"', 'height = "10 m"'),
        ["tube.height", "10000 mm", "2000 mm"],
    ),
    "free without ribs": (
        _swap('pattern = "mid-wall"', 'pattern = "free"'),
        ["layouts['Mid-wall ribs'].ribs", "free"],
    ),
    "no radius": (_swap('standard = "EN 10219"\n', "\n") if 'standard = "EN 10219"\n' in GOOD
                  else GOOD.replace('standard = "EN 10219" ', "# ", 1),
                  ["tube.corner_radius", "EN 10219"]),
    "not TOML": (GOOD + "\n[[[", ["line"]),
    "empty": ("", ["missing"]),
}  # fmt: skip


@pytest.mark.parametrize("name", WRONG)
def test_wrong_input_is_one_clear_line(name: str, tmp_path: Path) -> None:
    text, said = WRONG[name]
    path = tmp_path / "mine.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        read_study(path)
    line = str(caught.value)
    assert line.startswith("mine.toml: ")
    assert "\n" not in line
    for part in said:
        assert part in line
    assert caught.value.remedy != "mend it"


def test_files_that_are_no_study(tmp_path: Path) -> None:
    binary, huge = tmp_path / "a.toml", tmp_path / "b.toml"
    binary.write_bytes(b"\xff\xfe\x00")
    huge.write_bytes(b"#" * 2_000_000)
    for path in (binary, huge, tmp_path, tmp_path / "none.toml", Path("a\0b")):
        with pytest.raises(InputError) as caught:
            read_study(path)
        assert "\n" not in str(caught.value)


def test_slugs_are_plain_file_names() -> None:
    assert slug("Walls, carried on!") == "walls-carried-on"
    for text in ("../../etc/passwd", "…", "", "CON<>|", "x" * 500):
        made = slug(text)
        assert made
        assert len(made) <= 48
        assert set(made) <= set("abcdefghijklmnopqrstuvwxyz0123456789-")


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
    monkeypatch.setattr("studies.study._toml", lambda _path: data)
    try:
        study = read_study(Path("mine.toml"))
    except InputError as error:
        assert "\n" not in str(error)  # noqa: PT017
        return
    assert study.layouts


def _command(*arguments: str) -> "subprocess.CompletedProcess[str]":
    return subprocess.run(
        [sys.executable, "-m", "studies.command", *arguments],
        capture_output=True, text=True, check=False, timeout=60,
    )  # fmt: skip


def test_wrong_input_exits_with_two_and_no_traceback(tmp_path: Path) -> None:
    study = tmp_path / "mine.toml"
    study.write_text(_swap('wall = "6 mm"', "wall = 6"), encoding="utf-8")
    file = tmp_path / "file"
    file.write_text("")
    good = str(DEMO / "bench_block.toml")
    for arguments in (
        ("compare", str(study)),
        ("compare", str(tmp_path / "none.toml")),
        ("compare", good, "--out", str(file)),
        ("compare", good, "--out", "/proc/none"),
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
