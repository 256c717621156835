"""Charts, flake map and sheet of one layout in the press, written into its folder."""

from pathlib import Path

from studies.paper import PaperSize
from studies.paper_html import html_text
from studies.paper_pdf import pdf_bytes
from studies.pressing.curve_chart import draw_curve
from studies.pressing.flake_map import Stop, draw_flake_map
from studies.pressing.flakes import Flakes
from studies.pressing.gauge import Press
from studies.pressing.gauge_chart import draw_gauge_chart
from studies.pressing.holds import HoldPlan, hold_plan
from studies.pressing.prediction import Prediction
from studies.pressing.sheet import PaperPicture, PressTestPaper, press_test_sheet
from studies.store import write_whole
from studies.study import Study


def write_papers(
    study: Study,
    press: Press,
    prediction: Prediction,
    flakes: Flakes | None,
    folder: Path,
    size: PaperSize,
) -> PressTestPaper:
    """Write everything that is taken to the press; ``flakes`` are of steel at its weakest.

    A flake map of an earlier run that no longer holds is removed.
    """
    folder.mkdir(parents=True, exist_ok=True)
    units, name = study.units, prediction.layout
    plan = hold_plan(prediction, press, study.rated_load_n, units)
    curve, gauge = folder / "press-curve.png", folder / "gauge-chart.png"
    draw_curve(prediction, units, f"{name} in the press", curve, press)
    draw_gauge_chart(press, plan.holds, units, f"Gauge chart: {name}", gauge)
    pictures = [
        PaperPicture(
            curve.read_bytes(),
            "Force against ram travel, with the gauge's scale to the right.",
            f"Press curve of {name}",
        )
    ]
    flake_map = folder / "flake-map.png"
    flake_map.unlink(missing_ok=True)
    stops = flake_stops(plan, prediction, study, press)
    if flakes is not None and stops:
        known = flakes.scaled(prediction.yield_times)
        draw_flake_map(known, stops, f"Where mill scale should crack: {name}", flake_map)
        pictures.append(
            PaperPicture(
                flake_map.read_bytes(),
                "Where mill scale should crack and flake at each stop; lay it beside the block.",
                f"Flake map of {name} at {len(stops)} stops",
            )
        )
    pictures.append(
        PaperPicture(
            gauge.read_bytes(),
            "To pin to the press: gauge readings beside forces, stops marked.",
            f"Gauge chart for {name}",
        )
    )
    paper = PressTestPaper(
        study.title, prediction, press, plan, study.rated_load_n, units, tuple(pictures)
    )
    sheet = press_test_sheet(paper)
    write_whole(folder / "press-test.pdf", pdf_bytes(sheet, size))
    write_whole(folder / "press-test.html", html_text(sheet, size).encode())
    return paper


def flake_stops(
    plan: HoldPlan, prediction: Prediction, study: Study, press: Press
) -> tuple[Stop, ...]:
    """The stops past first yield, where there may be something to see."""
    starts = prediction.threshold("starts")
    return tuple(
        Stop(
            hold.force_n,
            f"{press.gauge.show(hold.reading)}, {study.units.show_force(hold.force_n)}: "
            + ", ".join(hold.why),
        )
        for hold in plan.holds
        if starts is not None and hold.force_n >= starts.force_n
    )
