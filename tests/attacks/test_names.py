"""Names that would lead a file astray: all that is written stays in its folder."""

import json
import os
import time
from pathlib import Path

import pytest
from answered import NAME, answered
from page_client import page_client
from tiny_study import PRESSED

from fea.errors import InputError
from studies.command import main
from studies.page.child import main as child
from studies.page.orders import Order
from studies.page.runs import Request, RunFiles
from studies.page.server import RUNS, page_app
from studies.reader import data_of
from studies.toml_text import study_text

ASTRAY = (
    "../../x", "..", "/etc/passwd", "C:\\x", "CON", "a/../../b", "x" * 60, "-rf", "--out=/",
    "~", "%2e%2e%2fx", "é" * 60, "e\u0301", "\U0001d54f", "Ω", "Ж", "+", "-", "$(reboot)",
)  # fmt: skip


def _there(root: Path) -> set[str]:
    return {str(path.relative_to(root)) for path in root.rglob("*")}


def _study(name: str) -> str:
    """The tiny study with ``name`` for all that has one."""
    data = data_of(PRESSED, "tiny")
    rib = {"name": name, "start": ["20 mm", "0 mm"], "direction": "0 deg", "length": "8 mm",
           "thickness": "6 mm"}  # fmt: skip
    layout = {"name": name, "pattern": "free", "ribs": [rib], "baseline": True}
    load = {"name": name, "kind": "crush"}
    return study_text({**data, "title": name, "layouts": [layout], "loads": [load]})


@pytest.mark.parametrize("name", ["../../x", "Ж" * 60])
def test_papers_stay_below_the_output_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    work = tmp_path / "a" / "b" / "work"
    work.mkdir(parents=True)
    monkeypatch.chdir(work)
    (work / "mine.toml").write_text(_study(name), encoding="utf-8")
    before = _there(tmp_path)
    assert main(["papers", "mine.toml"]) == 0
    made = _there(tmp_path) - before
    assert any(one.endswith("papers.pdf") for one in made)
    assert all(one.startswith("a/b/work/out") for one in made)


def test_every_name_has_a_folder_of_its_own(tmp_path: Path) -> None:
    from studies.study import read_study, slug

    slugs = set()
    for name in ASTRAY:
        path = tmp_path / "named.toml"
        path.write_text(_study(name), encoding="utf-8")
        (one,) = read_study(path).layouts
        assert one.name == name
        made = slug(name)
        assert Path(made).name == made
        assert made.isascii()
        slugs.add(made)
    # Two of them differ from a plain name by slashes and points alone, which the reader refuses.
    assert len(slugs) >= len(ASTRAY) - 2


def test_study_files_of_odd_names(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    for name in ("a\nb.toml", "\u202elmot.toml", "ж.toml", "x" * 250 + ".toml", "a\x1b[31m.toml"):
        Path(name).write_text("wall = 6 mm", encoding="utf-8")
        assert main(["papers", name]) == 2
        said = capsys.readouterr().err
        assert said.count("\n") == 1
        assert said[:-1].isprintable()
    assert main(["papers", "y" * 300 + ".toml"]) == 2
    assert "too long" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_a_page_with_its_runs_behind_a_link_is_refused(tmp_path: Path) -> None:
    root, elsewhere = tmp_path / "root", tmp_path / "elsewhere"
    elsewhere.mkdir()
    answered_in = root
    root.mkdir()
    answered(answered_in)
    (root / "out" / RUNS).symlink_to(elsewhere, target_is_directory=True)
    with pytest.raises(InputError, match="behind a link"):
        page_app(root)
    assert not list(elsewhere.iterdir())


@pytest.mark.parametrize(
    "arguments",
    [
        ["record", "csv", "../stolen.csv"],
        ["compare", NAME, "--out", ".."],
        ["compare", f"../{NAME}", "--out", "out"],
        ["papers", NAME, "--out", "out", "--out=.."],
        ["press", NAME, "--out", "out", "--book=../x"],
        ["page", NAME, "--out", "out"],
        [],
    ],
    ids=str,
)
def test_a_request_that_no_page_made_is_not_run(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str],
    arguments: list[str],
) -> None:  # fmt: skip
    root = tmp_path / "root"
    root.mkdir()
    answered(root)
    files = RunFiles(root / "out" / RUNS, "00001")
    files.folder.mkdir()
    files.ask(Request(1, "compare", NAME, time.time(), Order(arguments, "Compare")))
    before = _there(tmp_path)
    monkeypatch.chdir(root)
    monkeypatch.setattr("sys.argv", ["child", str(files.folder), "00001"])
    child()
    assert files.file("ended").read_text() == "1"
    assert "not asked for on a page" in capsys.readouterr().err
    made = {one for one in _there(tmp_path) - before if not one.startswith("root/out/.runs/")}
    assert not made


def test_a_damaged_run_does_not_lend_its_end_to_the_next(tmp_path: Path) -> None:
    answered(tmp_path)
    runs = tmp_path / "out" / RUNS
    runs.mkdir()
    (runs / "00007.json").write_text("{")
    (runs / "00007.ended").write_text("0")
    with page_client(tmp_path) as page:
        assert page.get("/api/runs") == {"runs": []}
        asked = page.post("/api/runs", name=NAME, kind="papers", layout="No gussets")
        assert asked["number"] == 8
        assert asked["state"] == "waiting"
        page.post("/api/runs/8/stop")
    assert json.loads((runs / "00008.json").read_text())["study"] == NAME
    assert os.listdir(tmp_path / "out" / "tiny")
