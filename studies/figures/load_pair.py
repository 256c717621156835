"""The block before a load and under it, with the movement drawn larger and said to be."""

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from PIL import Image

from geometry.block import Layout
from geometry.tessellation import Shell
from studies.cautions import cautions_for
from studies.fields import read_field
from studies.figures.board import Board, tall_words
from studies.figures.body import bent, body_of, edges_of
from studies.figures.camera import parallel
from studies.figures.look import VIEWPOINT, Look, size_mm
from studies.figures.page import FINE, INCH, LARGE, MM, SMALL, lines_of
from studies.figures.rendering import Shot
from studies.figures.strength_chart import computed_band
from studies.lettering import MARK
from studies.load_words import load_sentence
from studies.loads import ClampCase, LoadCase, WrapCase
from studies.pictures import Figure
from studies.results import CaseResult, LayoutResult
from studies.scenes import seen, shared_scale
from studies.study import Study, slug
from studies.units import OutputUnits

_BEFORE = "before"
_SHARE, _MARGIN, _LINE_MM, _PAGE_MM, _EDGE_MM = 0.49, 0.03, 0.4, 300.0, 8.0
_OUTLINED = ("bottom plate", "top plate")


@dataclass(frozen=True)
class Bent:
    """One load: how much larger its movement is drawn, and how far the block really moves."""

    case: CaseResult
    exaggeration: float
    furthest_mm: float
    file_name: str


@dataclass(frozen=True, eq=False)
class LoadPairs:
    """Every load of a layout: what to render, and what is to be said."""

    shots: list[Shot]
    bent: tuple[Bent, ...]


def load_pairs(
    layout: Layout, row: LayoutResult, shells: tuple[Shell, ...], fields: Path, look: Look
) -> LoadPairs:
    """The block still, and under each demanded load, all at one scale.

    Raises PictureError when a field cannot be read.
    """
    still = body_of(shells)
    outlines = edges_of([one for one in shells if one.name in _OUTLINED])
    bodies, loads = [], []
    for index, case in enumerate(row.cases, start=1):
        field, demand = fields / case.field_file, case.case.demand_multiple
        grid = read_field(field)
        exaggeration = shared_scale([seen(field)], demand).exaggeration
        bodies.append(bent(still, grid, exaggeration * demand))
        moved_mm = np.linalg.norm(grid.point_data["displacement_mm"], axis=1)
        loads.append(
            Bent(
                case,
                exaggeration,
                demand * float(moved_mm.max()),
                f"load-{index}-{slug(case.case.name)}.png",
            )
        )
    every = np.concatenate([still.points_mm, *(body.points_mm for body in bodies)])
    camera = parallel(every, VIEWPOINT, round(_SHARE * look.pixels), _MARGIN)
    size = size_mm(layout.block)
    red, green, blue = bytes.fromhex(MARK[1:])
    shots = [Shot(_BEFORE, still, look.colour, camera, size)]
    for body, load in zip(bodies, loads, strict=True):
        shots.append(
            Shot(
                load.file_name,
                body,
                look.colour,
                camera,
                size,
                outlines,
                (red, green, blue),
                _LINE_MM * look.pixels / _PAGE_MM,
            )
        )
    return LoadPairs(shots, tuple(loads))


def pair_boards(
    study: Study,
    layout: Layout,
    pairs: LoadPairs,
    images: dict[str, Image.Image],
    folder: Path,
    look: Look,
) -> list[Figure]:
    """A picture for each load, with its cautions."""
    return [
        _board(study, layout, one, images[_BEFORE], images[one.file_name], folder, look)
        for one in pairs.bent
    ]


def _board(
    study: Study,
    layout: Layout,
    one: Bent,
    before: Image.Image,
    after: Image.Image,
    folder: Path,
    look: Look,
) -> Figure:
    units, case, wide = study.units, one.case, look.pixels
    room, edge = _PAGE_MM - 2.0 * _EDGE_MM, _EDGE_MM * wide / _PAGE_MM
    name = case.case.name
    sentence = load_sentence(case.case, units)
    head = lines_of(f"{sentence[0].upper()}{sentence[1:]}", room, FINE)
    under = _under(one, units)
    said = lines_of(_first_yield(case, units), room, FINE)
    warned = cautions_for(_clamped(case.case))
    cautions = [line for caution in warned for line in lines_of(caution, room, FINE, bold=True)]
    top = edge + tall_words(1, LARGE, wide) + tall_words(len(head), FINE, wide) + edge / 2
    middle = top + before.height + tall_words(1, SMALL, wide) + tall_words(len(under), FINE, wide)
    foot = tall_words(len(said) + len(cautions) + 1, FINE, wide)
    board = Board(wide, round(middle + foot + 1.5 * edge))
    below = board.words(edge, edge, lines_of(name, room, LARGE, bold=True)[:1], LARGE, bold=True)
    board.words(edge, below, head, FINE)
    board.place(before, 0, top)
    board.place(after, wide - after.width, top)
    y = top + before.height
    board.words(wide / 4.0, y, ["Before"], SMALL, bold=True, anchor="m")
    y = board.words(0.75 * wide, y, ["Under load"], SMALL, bold=True, anchor="m")
    y = board.words(0.75 * wide, y, under, FINE, anchor="m")
    y = board.words(edge, y + edge / 2.0, said, FINE)
    board.words(edge, y + edge / 4.0, cautions, FINE, bold=True)
    board.save(folder / one.file_name, look.ground)
    return Figure(
        one.file_name,
        f"{name}: before, and at the demanded {units.show_force(case.case.demanded_n)} "
        f"({_movement(one)}; computed). Pink lines: where the plates were before. "
        f"{_first_yield(case, units)} {' '.join(warned)}",
        f"The spacer block “{layout.name}” before load and under “{name}”: {sentence} "
        f"{_movement(one)[0].upper()}{_movement(one)[1:]}. {_first_yield(case, units)}",
    )


def _clamped(load: LoadCase) -> bool:
    return isinstance(load, ClampCase) or (isinstance(load, WrapCase) and load.clamp_n > 0.0)


def _movement(one: Bent) -> str:
    really = " or ".join(
        f"{units.length_in(one.furthest_mm):.3g} {units.length}" for units in (MM, INCH)
    )
    return f"movement drawn {one.exaggeration:g} times larger than it is, at most {really}"


def _under(one: Bent, units: OutputUnits) -> list[str]:
    case = one.case.case
    drawn, really = _movement(one).split(", ")
    return [
        f"at the demanded {units.show_force(case.demanded_n)}, "
        f"{case.demand_multiple:g} × {units.show_force(case.load_n)}",
        drawn,
        really,
        "computed; pink lines: before",
    ]


def _first_yield(case: CaseResult, units: OutputUnits) -> str:
    said = (
        f"First yield is computed at {computed_band(case.starts.load_n, case.bands.starts, units)}"
        f", {case.ratio:.2f} times the load demanded; ± is how far finer meshes may still move it."
    )
    if case.ratio < 1.0:
        said += " That comes before the load drawn, so the steel would stay bent: this is springy."
    return said
