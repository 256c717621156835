"""The page of a sweep: one file that opens offline, with the cautions on it."""

from pathlib import Path

from jinja2 import Environment, PackageLoader, StrictUndefined

from studies.bands import LEVEL_SHARE
from studies.cautions import CAUTIONS
from studies.pictures import Figure
from studies.report import embedded
from studies.store import write_whole
from studies.sweeps.chart import draw_sweep_chart
from studies.sweeps.found import Sweep
from studies.sweeps.table import BEST, headings, legend, reasons, sweep_lines, sweep_verdicts


def sweep_figure(sweep: Sweep, folder: Path) -> Figure | None:
    """Draw sweep.png into ``folder``; None when no design was computed."""
    if not sweep.designs:
        return None
    draw_sweep_chart(sweep, folder / "sweep.png")
    return Figure(
        "sweep.png",
        "First-yield load against mass, one mark for each design. Rings, joined by the broken "
        "line, mark the designs that are best for their mass; the numbers are those of the table.",
        "First-yield load against mass under each load: " + " ".join(sweep_verdicts(sweep)),
    )


def write_sweep_page(sweep: Sweep, figure: Figure | None, folder: Path) -> Path:
    """Write sweep.html into ``folder`` with its picture inside it; return its path."""
    environment = Environment(
        loader=PackageLoader("studies", "."),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    lines = sweep_lines(sweep)
    page = environment.get_template("sweeps/sweep.html.j2").render(
        title=sweep.title,
        headings=sweep.headings,
        verdicts=sweep_verdicts(sweep),
        cautions=CAUTIONS,
        picture=embedded(figure, folder) if figure else None,
        columns=headings(sweep),
        tables=[
            ("Best for their mass", [line for line in lines if line.best]),
            ("All designs", lines),
        ],
        legend=legend(),
        star=BEST,
        reasons=reasons(sweep),
        level=f"{100 * LEVEL_SHARE:.0f} %",
    )
    path = folder / "sweep.html"
    write_whole(path, page.encode())
    return path
