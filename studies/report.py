"""The report page: one file that opens offline and prints well."""

import base64
import io
from dataclasses import dataclass
from pathlib import Path

from jinja2 import Environment, PackageLoader, StrictUndefined
from PIL import Image

from fea.yielding import BALL_SHARE, DISC_SHARE
from studies.bands_words import accuracy_remarks, band_gloss
from studies.cautions import CAUTIONS
from studies.clamping.section import clamp_section
from studies.hand_table import hand_section
from studies.load_words import load_sentence
from studies.pictures import Figure
from studies.results import Comparison
from studies.seats_table import seat_section
from studies.store import write_whole
from studies.tables import HEADINGS, Line, lines, load_remarks, shortfalls, verdicts
from studies.verify_table import check_section
from studies.walls_table import wall_section
from studies.welding.plan_figure import WELD_PLAN
from studies.welding.words import weld_section

_PICTURE_QUALITY = 88
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
    """A picture as it stands in a page: ``data`` is its address, the picture itself."""

    caption: str
    alt: str
    data: str


def write_report(
    comparison: Comparison, figures: tuple[Figure, ...], missing: str | None, folder: Path
) -> Path:
    """Write report.html into ``folder`` with its pictures inside it; return its path.

    missing says in one line why the 3D pictures are not there, if they are not.
    """
    environment = Environment(
        loader=PackageLoader("studies", "."),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    path = folder / "report.html"
    plans = [embedded(one, folder) for one in figures if one.file_name == WELD_PLAN]
    page = environment.get_template("report.html.j2").render(
        comparison=comparison,
        units=comparison.units,
        headings={key: HEADINGS[key] for key in _BY_LOAD},
        lines=_grouped(comparison),
        verdicts=verdicts(comparison),
        loads=[(load.name, load_sentence(load, comparison.units)) for load in comparison.loads],
        shortfalls=shortfalls(comparison),
        remarks=[*accuracy_remarks(comparison), *load_remarks(comparison)],
        band_gloss=band_gloss(),
        figures=[embedded(one, folder) for one in figures if one.file_name != WELD_PLAN],
        missing=missing,
        cautions=CAUTIONS,
        clamp=clamp_section(comparison),
        by_hand=hand_section(comparison),
        walls=wall_section(comparison),
        welds=weld_section(comparison),
        weld_figure=next(iter(plans), None),
        seats=seat_section(comparison),
        checks=check_section(folder.parent),
        disc_percent=f"{100 * DISC_SHARE:.0f}",
        ball_percent=f"{100 * BALL_SHARE:.0f}",
    )
    write_whole(path, page.encode())
    return path


def _grouped(comparison: Comparison) -> list[tuple[str, list[Line]]]:
    """The table's lines by load case, in the study's order of loads."""
    every = lines(comparison)
    return [
        (load.name, [line for line in every if line.load == load.name]) for load in comparison.loads
    ]


def embedded(figure: Figure, folder: Path) -> Embedded:
    """A figure of ``folder`` made small enough to stand inside a page."""
    small = io.BytesIO()
    with Image.open(folder / figure.file_name) as picture:
        picture.convert("RGB").save(small, "WEBP", quality=_PICTURE_QUALITY, method=2)
    data = base64.b64encode(small.getvalue()).decode("ascii")
    return Embedded(figure.caption, figure.alt, f"data:image/webp;base64,{data}")
