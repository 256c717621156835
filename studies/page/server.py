"""The page's server: what the browser asks for, and what is answered."""

import secrets
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import asdict
from importlib.resources import files
from pathlib import Path
from typing import Any

from fastapi import FastAPI
from fastapi.staticfiles import StaticFiles
from pydantic import BaseModel, ConfigDict, Field
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, Response

from fea.errors import GussetryError, InputError
from geometry.block import Layout
from geometry.patterns import PATTERNS
from studies.cautions import CAUTIONS
from studies.page.asked import Answers
from studies.page.folder import EXAMPLES, ChangedMeanwhileError, StudyFolder
from studies.page.form import study_form
from studies.page.guard import guarded_by
from studies.page.guess import guess
from studies.page.made import made_files
from studies.page.orders import Kind, order
from studies.page.patterns import pattern_plans
from studies.page.preview import block_pack, dimensions, masses, plan
from studies.page.problems import checked
from studies.page.queue import Queue
from studies.page.words import guide, terms
from studies.reader import data_of
from studies.study import Study
from studies.toml_text import study_text

RUNS = ".runs"
_STATIC, _VIEWER = files("studies.page") / "static", files("studies.viewer")


class _Asked(BaseModel):
    model_config = ConfigDict(extra="forbid")


class _Values(_Asked):
    """A form's values under a study's name; ``layout`` is the one to draw, None for all."""

    name: str = Field(max_length=80)
    data: dict[str, Any]
    layout: int | None = None


class _Save(_Asked):
    name: str = Field(max_length=80)
    data: dict[str, Any]
    mark: str = Field(max_length=64)


class _Text(_Asked):
    text: str = Field(max_length=1_000_000)


class _Order(_Asked):
    name: str = Field(max_length=80)
    kind: Kind
    layout: str | None = None
    curve: bool = False


def page_app(root: Path) -> FastAPI:
    """The page for the study files in ``root``; raises InputError if that is no folder."""
    folder, token = StudyFolder(root), secrets.token_urlsafe(24)
    queue, answers = Queue(folder.root, folder.inside(folder.out / RUNS, "")), Answers()

    @asynccontextmanager
    async def life(_: FastAPI) -> AsyncIterator[None]:
        queue.open()
        yield
        queue.close()

    app = FastAPI(docs_url=None, redoc_url=None, openapi_url=None, lifespan=life)
    app.middleware("http")(guarded_by(token))

    @app.exception_handler(GussetryError)
    async def told(_: Request, error: GussetryError) -> Response:
        status = 409 if isinstance(error, ChangedMeanwhileError) else 422
        return JSONResponse({"problem": error.problem, "remedy": error.remedy}, status)

    @app.exception_handler(OSError)
    async def unwritten(_: Request, error: OSError) -> Response:
        said = {
            "problem": f"{folder.root}: {(error.strerror or 'cannot be used').lower()}",
            "remedy": "make room, or let this folder be written to, and try again; nothing is lost",
        }
        return JSONResponse(said, 507)

    @app.exception_handler(Exception)
    async def broken(_: Request, error: Exception) -> Response:
        said = {
            "problem": f"the program failed here ({type(error).__name__}); nothing is lost",
            "remedy": "change what you did last, or load the page again",
        }
        return JSONResponse(said, 500)

    @app.get("/")
    def page() -> Response:
        return FileResponse(str(_STATIC / "index.html"))

    @app.get("/viewer.js")
    def script() -> Response:
        return FileResponse(str(_VIEWER / "viewer.min.js"))

    @app.get("/viewer.css")
    def style() -> Response:
        return FileResponse(str(_VIEWER / "viewer.css"))

    @app.get("/api/start")
    def start() -> dict[str, Any]:
        return {
            "token": token,
            "folder": str(folder.root),
            "form": [asdict(field) for field in study_form()],
            "patterns": pattern_plans(),
            "sentences": {name: pattern.sentence for name, pattern in PATTERNS.items()},
            "guide": guide(),
            "terms": terms(),
            "cautions": CAUTIONS,
        }

    @app.get("/api/studies")
    def studies() -> dict[str, Any]:
        names = folder.names()
        return {"names": names, "examples": [one for one in EXAMPLES if one not in names]}

    @app.get("/api/study")
    def opened(name: str) -> dict[str, Any]:
        return asdict(folder.opened(name))

    @app.post("/api/study")
    def saved(asked: _Save) -> dict[str, Any]:
        return {"mark": folder.saved(asked.name, asked.data, asked.mark)}

    @app.post("/api/read")
    def read(asked: _Text) -> dict[str, Any]:
        return {"data": data_of(asked.text, "this file")}

    @app.post("/api/text")
    def text(asked: _Values) -> dict[str, Any]:
        return {"text": study_text(asked.data)}

    @app.post("/api/check")
    def check(asked: _Values) -> dict[str, Any]:
        found = checked(asked.data, asked.name)
        return {
            "problems": [asdict(problem) for problem in found.problems],
            "drawn": _drawn(found.drawable, asked.layout) if found.drawable else None,
            "guess": asdict(guess(found.study)) if found.study else None,
        }

    @app.post("/api/answer")
    def answered(asked: _Values) -> dict[str, Any]:
        study = _good(asked)
        found = answers.shown(study, folder.results(asked.name))
        answers.wake()
        return {"answer": found, "masses": masses(study, found["masses"] if found else {})}

    @app.post("/api/press")
    def press(asked: _Values) -> dict[str, Any]:
        return {"press": answers.press(_good(asked), folder.out)}

    @app.post("/api/views")
    def views(asked: _Values) -> Response:
        pack = answers.views(_good(asked), folder.results(asked.name))
        return Response(pack, media_type="application/json")

    @app.get("/api/files")
    def left(name: str) -> dict[str, Any]:
        found = made_files(folder.results(name), folder.out, folder.path(name))
        return {"files": [asdict(one) for one in found]}

    @app.get("/api/runs")
    def runs() -> dict[str, Any]:
        return {"runs": [asdict(run) for run in queue.runs()]}

    @app.post("/api/runs")
    def ask(asked: _Order) -> dict[str, Any]:
        saved_data = folder.opened(asked.name)
        if not saved_data.mark:
            raise InputError(f"{asked.name} is not saved yet", "save it first")
        study = _good(_Values(name=asked.name, data=saved_data.data))
        folder.unlinked(asked.name)
        wanted = order(asked.kind, study, folder.path(asked.name), asked.layout, asked.curve)
        return asdict(queue.ask(asked.kind, asked.name, wanted))

    @app.post("/api/runs/{number}/stop")
    def stop(number: int) -> dict[str, Any]:
        return asdict(queue.stop(number))

    @app.get("/api/runs/{number}/log")
    def log(number: int) -> dict[str, Any]:
        return {"log": queue.log(number)}

    @app.get("/results/{below:path}")
    def result(below: str) -> Response:
        path = folder.result_file(below)
        if path is None:
            raise InputError("there is no such file of results", "make it again")
        return FileResponse(str(path))

    app.mount("/", StaticFiles(directory=str(_STATIC)), name="static")
    return app


def _good(asked: _Values) -> Study:
    """The study the values make; raises InputError naming the first thing wrong."""
    found = checked(asked.data, asked.name)
    if found.study is None:
        first = found.problems[0]
        where = ".".join(map(str, first.location))
        raise InputError(f"{where}: {first.problem}" if where else first.problem, first.remedy)
    return found.study


def _drawn(study: Study, chosen: int | None) -> dict[str, Any]:
    """What the page draws of a study: the chosen layout in space, all of them from above."""
    layouts: tuple[Layout, ...] = study.layouts
    one = layouts[min(chosen or 0, len(layouts) - 1)]
    return {
        "pack": block_pack(layouts if chosen is None else (one,), study.units),
        "dimensions": [asdict(line) for line in dimensions(one.block, study.units)],
        "plans": [asdict(plan(layout.block)) for layout in layouts],
    }
