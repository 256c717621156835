"""What a machine may lack or do to a run: room, rights, OpenGL, fonts, an extra, a steady clock."""

import io
import json
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import matplotlib
import pytest
from answered import NAME, answered
from matplotlib.font_manager import FontProperties, findfont
from numba.core.caching import CacheImpl
from page_client import demo_data, page_client
from tiny_study import tiny_study

from fea.compiled import sequential
from studies import offscreen, pictures
from studies.command import main
from studies.figures import gallery

COMMANDS: dict[str, tuple[str, ...]] = {
    "new": ("new", "fresh.toml"),
    "compare": ("compare", NAME, "--no-pictures"),
    "sweep": ("sweep", NAME, "--vary", "tube.wall = 6 mm"),
    "papers": ("papers", NAME),
    "press": ("press", NAME),
    "record": ("record", "add", NAME, "--by", "A. Welder", "--reading", "100 bar", "0.1 mm"),
}
"""All that write, in an order in which each finds what it needs; none computes anything."""


def _mounted(*words: str) -> None:
    try:
        ran = subprocess.run(["mount", *words], capture_output=True, text=True, check=False)
    except OSError:
        pytest.skip("there is no mount command here, so no small or read-only disk to try")
    if ran.returncode:
        pytest.skip(f"no disk can be mounted here: {ran.stderr.strip()}")


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of a few megabytes that holds an answered study."""
    place = tmp_path / "small"
    place.mkdir()
    _mounted("-t", "tmpfs", "-o", "size=12m", "tmpfs", str(place))
    try:
        yield place
    finally:
        subprocess.run(["umount", "--lazy", str(place)], check=True)


def _filled(place: Path, left: int) -> Path:
    """Fill a disk up to ``left`` bytes; the file that does it."""
    filler = place / "filler"
    with filler.open("wb", buffering=0) as stream:
        try:
            while True:
                stream.write(bytes(65_536))
        except OSError:
            stream.truncate(max(stream.tell() - left, 0))
    return filler


def _refused(capsys: pytest.CaptureFixture[str], words: tuple[str, ...]) -> str:
    """The one line in which a command says that it cannot."""
    capsys.readouterr()
    assert main(list(words)) == 2
    said = [line for line in capsys.readouterr().err.splitlines() if line.startswith("gussetry: ")]
    (line,) = said
    problem, _, remedy = line.partition("; ")
    assert problem
    assert remedy
    return line


@pytest.mark.parametrize(
    ("left", "names"),
    [
        (0, ("new", "papers", "record")),
        pytest.param(0, tuple(COMMANDS), marks=pytest.mark.long),
        pytest.param(50_000, tuple(COMMANDS), marks=pytest.mark.long),
    ],
)
def test_a_full_disk_is_one_line_and_with_room_all_goes_on(
    small_disk: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    left: int,
    names: tuple[str, ...],
) -> None:
    monkeypatch.chdir(small_disk)
    answered(small_disk)
    for name in names:
        words = COMMANDS[name]
        filler = _filled(small_disk, left)
        if left and name == "new":
            assert main(list(words)) == 0, "there was room for this"
        else:
            line = _refused(capsys, words)
            assert "no space left" in line or "full" in line, line
            assert not list(small_disk.rglob("*.part")), f"{name} left a half behind"
            filler.unlink()
            if name == "new":
                (small_disk / "fresh.toml").unlink(missing_ok=True)
            assert main(list(words)) == 0, capsys.readouterr().err
        filler.unlink(missing_ok=True)


def test_a_page_on_a_full_disk_says_so_and_waits_for_room(small_disk: Path) -> None:
    answered(small_disk)
    with page_client(small_disk) as page:
        filler = _filled(small_disk, 0)
        assert "no space left" in page.save("other.toml", demo_data(), status=507)["problem"]
        said = page.post("/api/runs", 507, name=NAME, kind="papers", layout="No gussets")
        assert "make room" in said["remedy"]
        assert page.get("/api/runs") == {"runs": []}
        filler.unlink()
        assert page.save("other.toml", demo_data())["mark"]
    assert not list(small_disk.rglob("*.part"))


@pytest.fixture
def fixed_folder(tmp_path: Path) -> Iterator[Path]:
    """A folder with an answered study that cannot be written to."""
    place = tmp_path / "fixed"
    place.mkdir()
    answered(place)
    _mounted("--bind", str(place), str(place))
    try:
        _mounted("-o", "remount,bind,ro", str(place))
        yield place
    finally:
        subprocess.run(["umount", "--lazy", str(place)], check=True)


def test_a_folder_that_cannot_be_written_to_is_one_line(
    fixed_folder: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(fixed_folder)
    for words in COMMANDS.values():
        assert "read-only" in _refused(capsys, words)
    with page_client(fixed_folder) as page:
        assert page.get("/api/studies")["names"] == [NAME]
        said = page.save("other.toml", demo_data(), status=507)
        assert "read-only" in said["problem"]
        assert "written to" in said["remedy"]
        asked = page.post("/api/runs", 507, name=NAME, kind="compare")
        assert "read-only" in asked["problem"]
    # Elsewhere, as every line proposes, the same folder's study is computed and papers are made.
    assert main(["papers", NAME, "--out", str(tmp_path / "elsewhere")]) == 0


@pytest.mark.long
def test_without_opengl_only_pictures_of_blocks_are_missing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    answered(tmp_path)
    for module in (offscreen, pictures, gallery):
        monkeypatch.setattr(module, "window_system", lambda: None)
    assert main(["compare", NAME]) == 0
    assert "install libgl1" in capsys.readouterr().out.replace("\n", " ")
    assert main(["figures", NAME, "--pixels", "1200"]) == 1
    assert "install libgl1" in capsys.readouterr().err
    made = {path.name for path in (tmp_path / "out").rglob("*.png")}
    assert {"strength.png", "drawing.png"} <= made
    assert not {"blocks.png", "hero.png"} & made


def test_kernels_need_nowhere_to_be_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    # As where the program's folder and the user's are both read-only.
    monkeypatch.setattr(CacheImpl, "_locator_classes", [])
    twice = sequential(_twice)
    assert twice(21) == 42


def _twice(number: int) -> int:
    return 2 * number


def test_letters_need_no_font_of_the_machine() -> None:
    ours = Path(matplotlib.get_data_path())
    for weight in ("normal", "bold"):
        found = Path(findfont(FontProperties(weight=weight), fallback_to_default=False))
        assert ours in found.parents
    # Sheets and product pictures take theirs from there by name: see paper_drawing and board.
    assert (ours / "fonts" / "ttf" / "DejaVuSans-Bold.ttf").is_file()


@pytest.mark.parametrize(
    "letters",
    ["ascii", *(pytest.param(one, marks=pytest.mark.long) for one in ("latin-1", "cp1252"))],
)
def test_a_terminal_that_knows_few_letters_is_written_to_in_plainer_ones(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, letters: str
) -> None:
    monkeypatch.chdir(tmp_path)
    answered(tmp_path)
    for words in (COMMANDS["sweep"], COMMANDS["press"], ("compare", "жук.toml")):
        held = io.BytesIO()
        stream = io.TextIOWrapper(held, encoding=letters)
        monkeypatch.setattr(sys, "stdout", stream)
        monkeypatch.setattr(sys, "stderr", stream)
        code = main(list(words))
        stream.flush()
        monkeypatch.undo()
        monkeypatch.chdir(tmp_path)
        said = held.getvalue().decode(letters)
        assert code == (2 if words[0] == "compare" else 0)
        assert "???.toml: no such file" in said if code else "* " in said or "• " in said
        stream.close()


def test_a_missing_extra_is_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    answered(tmp_path)
    monkeypatch.setitem(sys.modules, "distributed", None)
    line = _refused(capsys, ("compare", NAME, "--dask", "tcp://127.0.0.1:8786"))
    assert "gussetry[dask]" in line


@pytest.mark.long
def test_a_clock_that_jumps_changes_no_number(tmp_path: Path) -> None:
    told = []
    for clock in ("", str(Path(__file__).parent / "jumping_clock")):
        folder = tmp_path / (Path(clock).name or "steady")
        folder.mkdir()
        study = tiny_study(folder)
        paths = os.pathsep.join(filter(None, [clock, *sys.path]))
        for _ in range(2):
            # The second run finds the first one's results, though they seem of another year.
            ran = subprocess.run(
                [sys.executable, "-m", "studies.command", "compare", str(study)],
                cwd=folder,
                env={**os.environ, "PYTHONPATH": paths},
                capture_output=True,
                text=True,
                check=False,
            )
            assert ran.returncode == 0, ran.stderr
        assert ran.stderr.count("kept from before") == 2
        assert not list(folder.rglob("*.part"))
        told.append(_rows(folder))
    assert told[0] == told[1]


def _rows(folder: Path) -> list[dict[str, Any]]:
    rows = json.loads((folder / "out" / "tiny" / "comparison.json").read_text())["rows"]
    return [{**row, "seconds": 0.0} for row in rows]
