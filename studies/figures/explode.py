"""The parts moved apart, each with its name and sizes."""

from pathlib import Path

import numpy as np
from PIL import Image

from fea.mesh import Floats
from geometry.block import Block, Layout
from geometry.pieces import Piece, pieces
from geometry.tessellation import Shell
from studies.figures.board import Board, tall_words
from studies.figures.body import apart, body_of, is_weld
from studies.figures.camera import Camera, parallel
from studies.figures.look import VIEWPOINT, Look, size_mm
from studies.figures.page import FINE, INCH, MM, SMALL
from studies.figures.rendering import Shot
from studies.pictures import Figure
from studies.shop.sizes import NO_BREAK, show_size
from studies.study import Study
from studies.units import OutputUnits

EXPLODED = "exploded"
_RENDER_SHARE, _MARGIN = 0.62, 0.03
_LABEL_AT = 0.66
_LABEL_LINES = 4


def exploded_shot(block: Block, shells: tuple[Shell, ...], look: Look) -> Shot:
    """The parts apart, without their welds."""
    body = body_of((one for one in shells if not is_weld(one)), apart(block))
    camera = parallel(body.points_mm, VIEWPOINT, round(_RENDER_SHARE * look.pixels), _MARGIN)
    return Shot(EXPLODED, body, look.colour, camera, size_mm(block))


def exploded_board(
    study: Study, layout: Layout, shells: tuple[Shell, ...], image: Image.Image, camera: Camera,
    folder: Path, look: Look,
) -> Figure:  # fmt: skip
    """The parts apart with a label for each distinct piece."""
    block = layout.block
    labels = [(one, _anchor(one, block, shells, camera)) for one in pieces(block)]
    labels.sort(key=lambda label: float(label[1][1]))
    high = tall_words(_LABEL_LINES, FINE, look.pixels)
    tall = max(image.height, round(1.15 * high * len(labels)))
    drop = (tall - image.height) / 2.0
    board = Board(look.pixels, tall)
    board.place(image, 0, drop)
    x = _LABEL_AT * look.pixels
    tops = _spread([float(at[1]) + drop - high / 2.0 for _, at in labels], 1.05 * high, tall - high)
    for (piece, at), top in zip(labels, tops, strict=True):
        name = _title(piece)
        middle = top + 0.16 * high
        board.line([(float(at[0]), float(at[1]) + drop), (x - 0.02 * look.pixels, middle),
                    (x - 0.007 * look.pixels, middle)])  # fmt: skip
        below = board.words(x, top, [name], SMALL, bold=True)
        board.words(x, below, [_sizes(piece, study, block, units) for units in (MM, INCH)], FINE)
    board.save(folder / f"{EXPLODED}.png", look.ground)
    said = "; ".join(
        f"{_title(piece)}: {_sizes(piece, study, block, MM)}, {_sizes(piece, study, block, INCH)}"
        for piece, _ in labels
    )
    return Figure(
        f"{EXPLODED}.png",
        "The parts moved apart, with their sizes; welds are left out, and distances between parts "
        "are for the eye.",
        f"Exploded view of the spacer block “{layout.name}”, painted {look.paint_name}. {said}.",
    )


def _title(piece: Piece) -> str:
    name = piece.name[0].upper() + piece.name[1:]
    return name if piece.quantity == 1 else f"{name} × {piece.quantity}"


def _sizes(piece: Piece, study: Study, block: Block, units: OutputUnits) -> str:
    if piece.kind == "tube":
        tube = block.tube
        section = show_size((tube.length_mm, tube.width_mm, study.shop.wall_mm), units)
        said = f"{section}, {show_size((piece.size_mm[0],), units)} long"
    elif piece.kind == "round bar":
        said = f"⌀ {show_size((piece.thickness_mm, piece.size_mm[0]), units)}"
    else:
        said = show_size((*piece.size_mm, piece.thickness_mm), units)
    return said.replace(NO_BREAK, " ")


def _anchor(piece: Piece, block: Block, shells: tuple[Shell, ...], camera: Camera) -> Floats:
    """The pixel (2,) of a right corner in sight of the piece's part that is furthest right."""
    # A pin's upper end is hidden by the plate above it.
    up = -1.0 if piece.kind == "round bar" else 1.0
    shift = apart(block)
    best: Floats = np.array([-np.inf, 0.0])
    for shell in shells:
        if shell.name in piece.parts:
            points = camera.on_picture(shell.points_mm + np.array(shift(shell)))
            corner = points[np.argmax(points[:, 0] - 0.6 * up * points[:, 1])]
            best = corner if corner[0] > best[0] else best
    return best


def _spread(tops: list[float], apart_px: float, most: float) -> list[float]:
    """Places in order, at least so far apart, the last no lower than ``most``."""
    placed = [max(tops[0], 0.0)]
    for top in tops[1:]:
        placed.append(max(top, placed[-1] + apart_px))
    limit = most
    for index in range(len(placed) - 1, -1, -1):
        placed[index] = min(placed[index], limit)
        limit = placed[index] - apart_px
    return placed
