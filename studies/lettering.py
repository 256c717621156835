"""Words on figures: wrapped by measured width, whatever characters a name holds."""

import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import Any

from matplotlib.backends.backend_agg import RendererAgg
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from PIL import Image

from studies.store import whole_file

INK = "#1c2126"
MARK = "#d1176b"
DPI = 150
_ELLIPSIS = "…"
_PACKED = {"compress_level": 4}


def wrapped(
    text: str, width_pixels: float, points: float, bold: bool = False, most_lines: int = 9
) -> list[str]:
    """``text`` in lines that fit, shortened with an ellipsis past ``most_lines``.

    Words wider than a line are broken. Line breaks in the text are kept, other white space is one
    space, and characters that cannot be printed are dropped.
    """
    lines: list[str] = []
    for paragraph in text.split("\n"):
        lines += _filled(
            "".join(c if c.isprintable() else " " for c in paragraph), width_pixels, points, bold
        )
    if len(lines) <= most_lines:
        return lines
    last = lines[most_lines - 1]
    while last and width(last + _ELLIPSIS, points, bold) > width_pixels:
        last = last[:-1]
    return [*lines[: most_lines - 1], last.rstrip() + _ELLIPSIS]


def _filled(text: str, width_pixels: float, points: float, bold: bool) -> list[str]:
    lines, line = [], ""
    for word in text.split():
        longer = f"{line} {word}".strip()
        if width(longer, points, bold) <= width_pixels:
            line = longer
            continue
        if line:
            lines.append(line)
        line = word
        while width(line, points, bold) > width_pixels and len(line) > 1:
            keep = len(line) - 1
            while keep > 1 and width(line[:keep], points, bold) > width_pixels:
                keep -= 1
            lines.append(line[:keep])
            line = line[keep:]
    return [*lines, line] if line or not lines else lines


def width(text: str, points: float, bold: bool = False) -> float:
    """Width of one line in pixels."""
    font = FontProperties(size=points, weight="bold" if bold else "normal")
    with quiet():
        return float(_renderer().get_text_width_height_descent(text, font, False)[0])


@cache
def _renderer() -> Any:
    renderer: Any = RendererAgg  # its library leaves it untyped
    return renderer(1, 1, DPI)


@contextmanager
def quiet() -> Iterator[None]:
    """Draw a box for a character the font lacks, and say nothing of it."""
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing", category=UserWarning)
        warnings.filterwarnings("ignore", message="Matplotlib currently does not support")
        yield


def saved(figure: Figure, path: Path) -> None:
    """Write a figure as PNG; the file appears whole or not at all."""
    with whole_file(path) as half_done, quiet():
        figure.savefig(half_done, format="png", facecolor="white", pil_kwargs=_PACKED)


def saved_image(image: Image.Image, path: Path) -> None:
    """Write a picture as PNG; the file appears whole or not at all."""
    with whole_file(path) as half_done:
        image.save(half_done, format="png", dpi=(DPI, DPI), **_PACKED)
