"""The page's server under test, asked as its own page asks it."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from demo_text import GOOD
from starlette.testclient import TestClient

from studies.page.server import page_app
from studies.reader import data_of

HOME = "http://127.0.0.1:8421"


class PageClient:
    """Asks a page's server and gives back what it answers, as data."""

    def __init__(self, client: TestClient) -> None:
        self.client = client
        self.token: str = client.get("/api/start").json()["token"]

    def get(self, path: str, **values: str) -> Any:
        return self.client.get(path, params=values).json()

    def post(self, path: str, status: int = 200, **values: Any) -> Any:
        answer = self.client.post(path, json=values, headers={"x-gussetry-token": self.token})
        assert answer.status_code == status, answer.text
        return answer.json()

    def save(self, name: str, data: dict[str, Any], mark: str = "", status: int = 200) -> Any:
        return self.post("/api/study", status, name=name, data=data, mark=mark)


@contextmanager
def page_client(folder: Path) -> Iterator[PageClient]:
    """A client of a page for ``folder``, its queue looked after meanwhile."""
    with TestClient(page_app(folder), base_url=HOME) as client:
        yield PageClient(client)


def demo_data() -> dict[str, Any]:
    """The metric demo as data."""
    return data_of(GOOD, "demo")
