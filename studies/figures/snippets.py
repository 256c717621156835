"""What goes beside the pictures into a product page: texts as JSON, Markdown and HTML."""

import html
import json
from dataclasses import dataclass
from pathlib import Path

from PIL import Image

from studies.pictures import Figure
from studies.store import write_whole

_MARKDOWN = str.maketrans({char: f"\\{char}" for char in "\\`*_[]<>"})


@dataclass(frozen=True)
class Shown:
    """A figure with the files that show the same as drawings, and its size in pixels."""

    figure: Figure
    vector_files: tuple[str, ...]
    width: int
    height: int


def shown(figures: tuple[Figure, ...], folder: Path) -> tuple[Shown, ...]:
    """The figures with what their files in ``folder`` say of themselves."""
    made = []
    for figure in figures:
        path = folder / figure.file_name
        vectors = [path.with_suffix(end) for end in (".svg", ".pdf")]
        with Image.open(path) as image:
            width, height = image.size
        files = tuple(one.name for one in vectors if one.exists())
        made.append(Shown(figure, files, width, height))
    return tuple(made)


def write_snippets(every: tuple[Shown, ...], folder: Path) -> None:
    """Write ``figures.json``, ``figures.md`` and ``figures.html`` into ``folder``."""
    for name, text in (
        ("figures.json", _json(every)),
        ("figures.md", "\n".join(map(_markdown, every))),
        ("figures.html", "\n".join(map(_html, every))),
    ):
        write_whole(folder / name, text.encode())


def _json(every: tuple[Shown, ...]) -> str:
    said = [
        {
            "file": one.figure.file_name,
            "width": one.width,
            "height": one.height,
            "drawings": list(one.vector_files),
            "alt": one.figure.alt,
            "caption": one.figure.caption,
        }
        for one in every
    ]
    return json.dumps(said, indent=1, ensure_ascii=False) + "\n"


def _markdown(one: Shown) -> str:
    alt, caption = (text.translate(_MARKDOWN) for text in (one.figure.alt, one.figure.caption))
    return f"![{alt}]({one.figure.file_name})\n\n{caption}\n"


def _html(one: Shown) -> str:
    alt, caption = html.escape(one.figure.alt), html.escape(one.figure.caption)
    return (
        f'<figure><img src="{one.figure.file_name}" width="{one.width}" height="{one.height}" '
        f'loading="lazy" alt="{alt}"><figcaption>{caption}</figcaption></figure>\n'
    )
