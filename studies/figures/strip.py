"""All layouts of the study in a strip, looked into from above."""

from pathlib import Path

import numpy as np
from PIL import Image

from geometry.block import Layout
from studies.figures.board import Board, tall_words
from studies.figures.body import body_of, edges_of
from studies.figures.camera import parallel
from studies.figures.look import VIEWPOINT, Look, size_mm, surface
from studies.figures.page import SMALL, lines_of
from studies.figures.rendering import Shot
from studies.lettering import INK
from studies.pictures import Figure
from studies.study import Study

STRIP = "layouts"
_MOST_ACROSS, _MARGIN, _NAME_LINES = 4, 0.05, 2
_LINE_MM = 0.25
_PAGE_MM = 300.0


def strip_shots(study: Study, look: Look) -> list[Shot]:
    """Every layout at one scale, its top plate drawn as an outline so that ribs can be seen."""
    inner, outlines = [], []
    for layout in study.layouts:
        shells = surface(layout.block, rough=True)
        shown = [one for one in shells if not one.name.endswith("top plate")]
        inner.append(body_of(shown))
        outlines.append(edges_of([one for one in shells if one.name == "top plate"]))
    every = np.concatenate(
        [body.points_mm for body in inner]
        + [line for lines in outlines for line in lines.polylines_mm]
    )
    camera = parallel(every, VIEWPOINT, look.pixels // _across(len(inner)), _MARGIN)
    ink = tuple(bytes.fromhex(INK[1:]))
    return [
        Shot(
            f"{STRIP}-{number}",
            body,
            look.colour,
            camera,
            size_mm(layout.block),
            lines,
            (ink[0], ink[1], ink[2]),
            _LINE_MM * look.pixels / _PAGE_MM,
        )
        for number, (layout, body, lines) in enumerate(
            zip(study.layouts, inner, outlines, strict=True)
        )
    ]


def _across(count: int) -> int:
    """How many stand side by side: rows of at most four, as even as can be."""
    return -(-count // -(-count // _MOST_ACROSS))


def strip_board(
    study: Study, layout: Layout, images: dict[str, Image.Image], folder: Path, look: Look
) -> Figure:
    """The strip with every layout's name; that of ``layout`` in bold."""
    count = len(study.layouts)
    across = _across(count)
    first = images[f"{STRIP}-0"]
    cell = look.pixels / across
    high = first.height + tall_words(_NAME_LINES, SMALL, look.pixels)
    board = Board(look.pixels, high * -(-count // across))
    for number, one in enumerate(study.layouts):
        x, y = number % across * cell, number // across * high
        board.place(images[f"{STRIP}-{number}"], x, y)
        bold = one is layout
        name = lines_of(one.name, 0.94 * _PAGE_MM / across, SMALL, bold)[:_NAME_LINES]
        board.words(x + cell / 2.0, y + first.height, name, SMALL, bold=bold, anchor="m")
    board.save(folder / f"{STRIP}.png", look.ground)
    names = ", ".join(f"“{one.name}”: {one.sentence.rstrip('.')}" for one in study.layouts)
    return Figure(
        f"{STRIP}.png",
        "The layouts of the study at one scale; the top plate is drawn as an outline, without its "
        "welds, to show what is under it.",
        f"{count} gusset layouts of the spacer block, looked into from above. {names}.",
    )
