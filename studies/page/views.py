"""Stress and movement of computed layouts for the viewer, from what the folder holds."""

import gzip
from importlib.resources import files
from pathlib import Path

from studies.page.answers import Answer
from studies.viewer.scenes import page_pack

VIEWS = "views.json.gz"


def answer_views(found: Answer, folder: Path) -> str:
    """The pack as JSON; ``null`` when there is nothing to draw from."""
    if found.made:
        path = files("studies.demo") / VIEWS
        return gzip.decompress(path.read_bytes()).decode() if path.is_file() else "null"
    try:
        return page_pack(found.comparison, folder / "fields") or "null"
    except OSError:
        # Fields that were thrown away take the pictures with them, never the figures.
        return "null"
