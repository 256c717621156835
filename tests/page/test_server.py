"""What the page's server answers, and what it refuses."""

import json
import os
from pathlib import Path

import pytest
from demo_text import GOOD
from page_client import HOME, PageClient, demo_data, page_client
from starlette.testclient import TestClient

from fea.errors import InputError
from studies.made_from import note_state, state_of
from studies.page.folder import StudyFolder
from studies.page.server import page_app
from studies.study import read_study


def test_an_example_is_open_before_there_is_any_file(tmp_path: Path) -> None:
    with page_client(tmp_path) as page:
        assert page.get("/api/studies") == {
            "names": [],
            "examples": ["trailer_risers.toml", "bench_block.toml"],
        }
        opened = page.get("/api/study", name="trailer_risers.toml")
        assert opened == {"name": "trailer_risers.toml", "data": demo_data(), "mark": ""}
        said = page.post("/api/check", name=opened["name"], data=opened["data"], layout=1)
        assert said["problems"] == []
        assert said["guess"]["too_large"] == []
        (drawn,) = said["drawn"]["pack"]["layouts"]
        assert drawn["name"] == "Corner diagonals"
        assert len(said["drawn"]["plans"]) == 6
        assert "150 mm" in [line["text"] for line in said["drawn"]["dimensions"]]
    assert list(tmp_path.iterdir()) == []


def test_saving_writes_a_study_file_with_its_notes(tmp_path: Path) -> None:
    data = demo_data()
    data["tube"]["wall"] = "1/4 in"
    with page_client(tmp_path) as page:
        page.save("trailer_risers.toml", data)
        text = (tmp_path / "trailer_risers.toml").read_text(encoding="utf-8")
        assert text == GOOD.replace('wall = "6 mm"', 'wall = "1/4 in"', 1)
        assert page.get("/api/study", name="trailer_risers.toml")["data"] == data
    assert read_study(tmp_path / "trailer_risers.toml").title == data["title"]


def test_wrong_values_are_kept_as_they_were_typed(tmp_path: Path) -> None:
    data = demo_data()
    data["tube"]["wall"] = "six"
    with page_client(tmp_path) as page:
        said = page.post("/api/check", name="a.toml", data=data, layout=0)
        (problem,) = said["problems"]
        assert problem["location"] == ["tube", "wall"]
        assert problem["problem"] == "'six' is not a length"
        assert said["drawn"] is None
        page.save("a.toml", data)
        assert page.get("/api/study", name="a.toml")["data"]["tube"]["wall"] == "six"
        refused = page.post("/api/runs", 422, name="a.toml", kind="compare")
        assert "tube.wall" in refused["problem"]


def test_two_windows_do_not_overwrite_each_other(tmp_path: Path) -> None:
    data = demo_data()
    with page_client(tmp_path) as page:
        mark = page.save("a.toml", data)["mark"]
        page.save("a.toml", {**data, "title": "one"}, mark)
        late = page.save("a.toml", {**data, "title": "two"}, mark, status=409)
        assert "changed meanwhile" in late["problem"]
        assert page.get("/api/study", name="a.toml")["data"]["title"] == "one"
        assert "is there already" in page.save("a.toml", data, "", status=409)["problem"]
        assert "share one folder" in page.save("A .toml", data, status=422)["problem"]


@pytest.mark.parametrize(
    "name",
    ["../a.toml", "a/b.toml", "/etc/passwd", "a", ".a.toml", "a\x00.toml", "..toml", "",
     "a" * 70 + ".toml", "\\a.toml", "con:x.toml", "a\n.toml"],
)  # fmt: skip
def test_odd_names_never_leave_the_folder(tmp_path: Path, name: str) -> None:
    inside = tmp_path / "inside"
    inside.mkdir()
    with page_client(inside) as page:
        assert "will not do" in page.save(name, demo_data(), status=422)["problem"]
        answer = page.client.get("/api/study", params={"name": name})
        assert answer.status_code == 422
    assert [path for path in tmp_path.rglob("*") if path.is_file()] == []


def test_what_a_changed_study_has_left_is_told_whatever_the_clock_says(tmp_path: Path) -> None:
    study, left = tmp_path / "a.toml", tmp_path / "out" / "a"
    with page_client(tmp_path) as page:
        page.save("a.toml", demo_data())
        for name in ("", "sweep"):
            (left / name).mkdir(parents=True, exist_ok=True)
            (left / name / "report.html").write_text("made")
            note_state(left, left / name, state_of(study))
        os.utime(left / "report.html", (0.0, 0.0))

        def stale() -> dict[str, bool]:
            listed = page.get("/api/files", name="a.toml")["files"]
            return {one["path"]: one["stale"] for one in listed}

        assert stale() == {"a/report.html": False, "a/sweep/report.html": False}
        study.write_text(study.read_text().replace("demand = 10", "demand = 9"))
        os.utime(study, (0.0, 0.0))
        assert stale() == {"a/report.html": True, "a/sweep/report.html": True}
        note_state(left, left, state_of(study))
        assert stale() == {"a/report.html": False, "a/sweep/report.html": True}


def test_links_out_of_the_folder_are_not_followed(tmp_path: Path) -> None:
    secret, inside = tmp_path / "secret.toml", tmp_path / "inside"
    secret.write_text(GOOD)
    (inside / "out" / "a").mkdir(parents=True)
    (inside / "link.toml").symlink_to(secret)
    (inside / "out" / "b").symlink_to(tmp_path, target_is_directory=True)
    (inside / "out" / "a" / "secret.md").symlink_to(secret)
    (inside / "out" / "a" / "fine.md").write_text("fine")
    with page_client(inside) as page:
        assert page.get("/api/studies")["names"] == []
        assert "is a link" in page.get("/api/study", name="link.toml")["problem"]
        assert "behind a link" in page.get("/api/files", name="b.toml")["problem"]
        for below in ("b/secret.toml", "a/secret.md", "../secret.toml", "%2e%2e/secret.toml",
                      "a/../../../secret.toml", "/etc/hosts", ".runs/00001.json"):  # fmt: skip
            assert page.client.get(f"/results/{below}").status_code in (404, 422), below
        assert page.client.get("/results/a/fine.md").text == "fine"
        listed = page.get("/api/files", name="a.toml")["files"]
        assert [one["path"] for one in listed] == ["a/fine.md"]
    (inside / "out").rename(tmp_path / "moved")
    (inside / "out").symlink_to(tmp_path / "moved", target_is_directory=True)
    with pytest.raises(InputError, match="behind a link"):
        StudyFolder(inside)


@pytest.mark.parametrize(
    "headers",
    [
        {"host": "evil.example"},
        {"host": "127.0.0.1:9999"},
        {"host": "127.0.0.1.evil.example:8421"},
        {"origin": "http://evil.example"},
        {"origin": "null"},
        {"origin": "http://localhost:3000"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
        {"x-gussetry-token": "guessed"},
        {"x-gussetry-token": "gäss".encode("latin-1").decode("latin-1")},
    ],
    ids=str,
)
def test_strangers_change_nothing(tmp_path: Path, headers: dict[str, str]) -> None:
    with page_client(tmp_path) as page:
        body = json.dumps({"name": "a.toml", "data": demo_data(), "mark": ""})
        mine = {"x-gussetry-token": page.token, "content-type": "application/json"}
        encoded = {k: v.encode("latin-1") for k, v in {**mine, **headers}.items()}
        answer = page.client.post("/api/study", content=body, headers=encoded)
        assert answer.status_code == 403
        if "x-gussetry-token" not in headers:
            assert page.client.get("/api/start", headers=headers).status_code == 403
    assert list(tmp_path.iterdir()) == []


def test_a_request_without_a_token_or_too_large_is_refused(tmp_path: Path) -> None:
    with page_client(tmp_path) as page:
        plain = page.client.post("/api/read", json={"text": "a = 1"})
        assert plain.status_code == 403
        mine = {"x-gussetry-token": page.token}
        large = page.client.post("/api/read", json={"text": "a" * 1_300_000}, headers=mine)
        assert large.status_code == 413

        def endless() -> "object":
            yield b"{"

        assert page.client.post("/api/read", content=endless(), headers=mine).status_code == 413


def test_answers_say_what_a_page_may_load(tmp_path: Path) -> None:
    (tmp_path / "out" / "a").mkdir(parents=True)
    (tmp_path / "out" / "a" / "report.html").write_text("<p>report")
    with page_client(tmp_path) as page:
        top = page.client.get("/").headers
        assert "default-src 'none'" in top["content-security-policy"]
        assert "unsafe" not in top["content-security-policy"]
        assert top["x-content-type-options"] == "nosniff"
        report = page.client.get("/results/a/report.html").headers["content-security-policy"]
        assert report.startswith("sandbox allow-scripts")
        assert "allow-same-origin" not in report
        assert page.client.get("/docs").status_code == 404


def test_no_page_asks_for_anything_from_outside() -> None:
    from importlib.resources import files

    for path in (files("studies.page") / "static").iterdir():
        text = path.read_text(encoding="utf-8").replace("http://www.w3.org/2000/svg", "")
        assert "http" not in text.replace("http://127.0.0.1", ""), path.name
        assert "//" not in text.replace("// ", "").replace("://", ""), path.name


def test_a_file_from_elsewhere_is_read_as_a_study(tmp_path: Path) -> None:
    with page_client(tmp_path) as page:
        assert page.post("/api/read", text=GOOD) == {"data": demo_data()}
        wrong = page.post("/api/read", 422, text="wall = 6 mm")
        assert "line 1" in wrong["problem"]
        text = page.post("/api/text", name="a.toml", data=demo_data())["text"]
        assert page.post("/api/read", text=text) == {"data": demo_data()}


def test_a_mesh_past_the_limit_is_told_before_it_is_begun(tmp_path: Path) -> None:
    data = demo_data()
    data["mesh"] = "fine"
    for plate in ("bottom_plate", "top_plate"):
        data[plate]["size"] = ["900 mm", "700 mm"]
    data["loads"] = data["loads"][:1]
    with page_client(tmp_path) as page:
        page.save("a.toml", data)
        said = page.post("/api/check", name="a.toml", data=data, layout=0)
        assert said["problems"] == []
        assert "No gussets" in said["guess"]["too_large"]
        refused = page.post("/api/runs", 422, name="a.toml", kind="compare")
        assert "more memory" in refused["problem"]
        assert page.get("/api/runs") == {"runs": []}


def test_a_folder_that_is_none_is_told(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    for folder in (tmp_path / "nowhere", tmp_path / "file"):
        with pytest.raises(InputError):
            page_app(folder)


def test_what_fails_inside_is_a_message(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr("studies.page.server.block_pack", broken)
    with TestClient(page_app(tmp_path), base_url=HOME, raise_server_exceptions=False) as client:
        page = PageClient(client)
        said = page.post("/api/check", 500, name="a.toml", data=demo_data(), layout=0)
        assert "ZeroDivisionError" in said["problem"]
        assert page.get("/api/studies")["names"] == []


@pytest.mark.skipif(os.name != "posix", reason="sockets are listed as Linux lists them")
def test_only_this_machine_is_listened_to() -> None:
    from studies.page.serving import _listener

    with _listener(None) as listener:
        assert listener.getsockname()[0] == "127.0.0.1"
    with pytest.raises(InputError, match="--port 99999"):
        _listener(99999)
