"""The report page: one file that opens offline and prints well."""

import base64
import io
import math
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup
from PIL import Image

from fea.patches import PATCH_MM2
from fea.yielding import DISC_SHARE
from studies.bands_words import accuracy_remarks, band_gloss
from studies.cautions import cautions_for
from studies.clamping.section import clamp_section
from studies.hand_table import hand_section
from studies.load_words import load_sentence
from studies.loads import ClampCase
from studies.overview import overview
from studies.pictures import Figure
from studies.pressing.curves_figure import PRESS_CURVES
from studies.pressing.curves_section import press_section
from studies.pressing.prediction import Prediction
from studies.results import Comparison
from studies.seats_table import seat_section
from studies.store import write_whole
from studies.tables import HEADINGS, Line, lines, load_remarks, shortfalls
from studies.verify_table import check_section
from studies.viewer.scenes import viewer_script, viewer_style
from studies.visible_yield import HEADINGS as VISIBLE_HEADINGS
from studies.visible_yield import TITLE, kept_study, summary, table
from studies.walls_table import wall_section
from studies.welding.plan_figure import WELD_PLAN
from studies.welding.words import weld_section

_PICTURE_QUALITY = 88
_MOST_BYTES = 8_000_000
_OTHER_BYTES = 500_000
"""A whole page, and what of it is set aside for words and tables."""
_SMALLEST = 0.3
_APART = (WELD_PLAN, PRESS_CURVES)
"""Pictures that stand in a section of their own."""
_STILL = ("blocks.png", "stress-")
"""How the names of pictures begin that the 3D views take the place of."""
_BY_LOAD = (
    "layout",
    "first_yield",
    "ratio",
    "change",
    "where",
    "shows",
    "stiffness",
    "averaging",
    "governs",
)
"""Columns of the table under each load; mass and weld are the same under all."""


@dataclass(frozen=True)
class Embedded:
    """A picture as it stands in a page: ``data`` is its address, the picture itself.

    A still one stands in where the page cannot show layouts in 3D, and in print.
    """

    caption: str
    alt: str
    data: str
    still: bool = False


def write_report(
    comparison: Comparison,
    figures: tuple[Figure, ...],
    missing: str | None,
    folder: Path,
    views: str = "",
    curves: tuple[Prediction, ...] = (),
) -> Path:
    """Write report.html into ``folder`` with its pictures inside it; return its path.

    missing says in one line why the 3D pictures are not there, if they are not. views is what
    ``viewer.scenes.page_pack`` made for the layouts in 3D, if they are to be shown so. curves are
    the layouts' predictions for the press, in the order of the figure that shows them.
    """
    environment = Environment(
        loader=PackageLoader("studies", "."),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    path = folder / "report.html"
    study = kept_study()
    shown = bool(study.runs and comparison.results)
    visible = (TITLE, VISIBLE_HEADINGS, table(study), summary(study)) if shown else None
    room = _MOST_BYTES - _OTHER_BYTES - len(views) - len(viewer_script())
    pictures = _fitting(figures, folder, room)
    apart = {name: pictures.pop(name, None) for name in _APART}
    page = environment.get_template("report.html.j2").render(
        comparison=comparison,
        units=comparison.units,
        headings={key: HEADINGS[key] for key in _BY_LOAD},
        lines=_grouped(comparison),
        overview=overview(comparison),
        loads=[(load.name, load_sentence(load, comparison.units)) for load in comparison.loads],
        shortfalls=shortfalls(comparison),
        remarks=[*accuracy_remarks(comparison), *load_remarks(comparison)],
        band_gloss=band_gloss(),
        figures=list(pictures.values()),
        missing=missing,
        cautions=cautions_for(any(isinstance(load, ClampCase) for load in comparison.loads)),
        clamp=clamp_section(comparison),
        by_hand=hand_section(comparison),
        walls=wall_section(comparison),
        welds=weld_section(comparison),
        weld_figure=apart[WELD_PLAN],
        press=press_section(comparison, curves),
        press_figure=apart[PRESS_CURVES],
        seats=seat_section(comparison),
        checks=check_section(folder.parent),
        visible=visible,
        disc_percent=f"{100 * DISC_SHARE:.0f}",
        patch_mm2=f"{PATCH_MM2:.0f}",
        # None of these holds anything that could end its element: see their tests.
        views=Markup(views),
        viewer_style=Markup(viewer_style()),
        viewer_script=Markup(viewer_script()),
    )
    write_whole(path, page.encode())
    return path


def _grouped(comparison: Comparison) -> list[tuple[str, list[Line]]]:
    """The table's lines by load case, in the study's order of loads."""
    every = lines(comparison)
    return [
        (load.name, [line for line in every if line.load == load.name]) for load in comparison.loads
    ]


def _fitting(figures: tuple[Figure, ...], folder: Path, room: int) -> dict[str, Embedded]:
    """The figures by file name, drawn smaller where together they would need more than ``room``."""
    scale = 1.0
    while True:
        with ThreadPoolExecutor() as beside:
            pictures = beside.map(partial(embedded, folder=folder, scale=scale), figures)
            made = {one.file_name: picture for one, picture in zip(figures, pictures, strict=True)}
        size = sum(len(one.data) for one in made.values())
        if size <= room or scale <= _SMALLEST:
            return made
        scale = max(_SMALLEST, 0.95 * scale * math.sqrt(room / size))


def embedded(figure: Figure, folder: Path, scale: float = 1.0) -> Embedded:
    """A figure of ``folder`` made small enough to stand inside a page, at a share of its size."""
    small = io.BytesIO()
    with Image.open(folder / figure.file_name) as picture:
        flat = picture.convert("RGB")
    if scale < 1.0:
        flat = flat.resize((round(scale * flat.width), round(scale * flat.height)))
    flat.save(small, "WEBP", quality=_PICTURE_QUALITY, method=2)
    data = base64.b64encode(small.getvalue()).decode("ascii")
    address = f"data:image/webp;base64,{data}"
    return Embedded(figure.caption, figure.alt, address, figure.file_name.startswith(_STILL))
