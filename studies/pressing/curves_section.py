"""Press curves of a study's layouts in the report: which there are, and the loads along them."""

from dataclasses import dataclass
from pathlib import Path

from studies.pressing.choice import prediction_file
from studies.pressing.prediction import Prediction, ThresholdKey, kept_prediction
from studies.pressing.words import NAMES
from studies.results import Comparison
from studies.study import Study

_SHOWN: tuple[ThresholdKey, ...] = (
    "starts",
    "through",
    "faint",
    "plain",
    "permanent_set",
    "crush",
)


@dataclass(frozen=True)
class PressSection:
    """A row of text for each layout with a curve, and remarks on what the curves leave out."""

    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    remarks: tuple[str, ...]
    absent: str


def kept_curves(study: Study, out: Path) -> tuple[Prediction, ...]:
    """Predictions with a computed curve that are kept for just these blocks, in their order."""
    found = (
        kept_prediction(prediction_file(out, study, layout), layout.block)
        for layout in study.layouts
    )
    return tuple(one for one in found if one is not None and one.travel_mm)


def press_section(comparison: Comparison, curves: tuple[Prediction, ...]) -> PressSection:
    """The report's section, which also names the layouts that have no curve yet."""
    units = comparison.units
    shown = [key for key in _SHOWN if any(one.threshold(key) for one in curves)]
    rows = []
    for one in curves:
        cells = []
        for key in shown:
            mark = one.threshold(key)
            still = key == "crush" and one.still_rising
            cells.append(
                "not reached"
                if mark is None
                else f"{'over ' if still else ''}{units.show_force(mark.force_n)}"
            )
        rows.append((one.layout, *cells, one.setting))
    with_curve = {one.layout for one in curves}
    return PressSection(
        headings=("Layout", *(NAMES[key].capitalize() for key in shown), "Mesh setting"),
        rows=tuple(rows),
        remarks=tuple(
            f"{one.layout}: drawn dashed where {one.limit_reason}."
            for one in curves
            if one.limit_reason
        ),
        absent=", ".join(row.name for row in comparison.results if row.name not in with_curve),
    )
