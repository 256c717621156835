"""The press-test sheet: one page to print, with blank lines for what is read and seen."""

import math
from dataclasses import dataclass

from studies.paper import (
    Block,
    Bullets,
    Cautions,
    Heading,
    NewPage,
    Picture,
    Sheet,
    Table,
    Text,
)
from studies.pressing.cautions import press_cautions
from studies.pressing.gauge import Press
from studies.pressing.holds import Hold, HoldPlan
from studies.pressing.prediction import SET_SHARE, Prediction
from studies.pressing.words import name_of
from studies.units import OutputUnits, rounded

_TRAVEL_DECIMALS = {"mm": 2, "in": 3}
_GAP = "\u00a0" * 4
_BAND_WORDS = (
    "Mesh: how far finer meshes may still move the load. Steel: as strong as the mill usually "
    "delivers, over the standard's minimum that all loads here are for. Gauge: its accuracy and "
    "half a mark, at that load."
)
_BLANKS = ("_" * 7, "_" * 11)


@dataclass(frozen=True)
class PaperPicture:
    """A PNG picture, what it shows, and a text for those who cannot see it."""

    png: bytes
    caption: str
    alt: str


@dataclass(frozen=True)
class PressTestPaper:
    """All that goes on the sheet."""

    study: str
    prediction: Prediction
    press: Press
    plan: HoldPlan
    rated_load_n: float
    units: OutputUnits
    pictures: tuple[PaperPicture, ...]


def press_test_sheet(paper: PressTestPaper) -> Sheet:
    """The page to fill in, then what helps beside it: warnings, curve, gauge chart."""
    blocks: list[Block] = [*_to_fill_in(paper), NewPage()]
    blocks += [Heading("What the sheet rests on"), Bullets(basis(paper))]
    blocks += [Heading("How sure each load is"), threshold_table(paper), Text(_BAND_WORDS)]
    if paper.plan.warnings:
        blocks += [Heading("This press and this block"), Bullets(paper.plan.warnings)]
    if paper.plan.instead:
        blocks += [Text("What to do instead:"), Bullets(paper.plan.instead)]
    blocks += [Picture(one.png, one.caption, one.alt, 205.0) for one in paper.pictures]
    return _sheet(paper, tuple(blocks))


def first_page(paper: PressTestPaper) -> Sheet:
    """The page to fill in alone."""
    return _sheet(paper, _to_fill_in(paper))


def _sheet(paper: PressTestPaper, blocks: tuple[Block, ...]) -> Sheet:
    return Sheet(
        f"Press test: {paper.prediction.layout}",
        f"{paper.study}. Computed readings, an estimate: {_computed(paper.prediction)}.",
        blocks,
    )


def _to_fill_in(paper: PressTestPaper) -> tuple[Block, ...]:
    units, gauge = paper.units, paper.press.gauge
    limit = gauge.to_division(gauge.reading(paper.press.limit_n), careful=True)
    line, short, unit = "_" * 14, "_" * 8, gauge.unit
    most = f"{gauge.show(limit)}, {units.show_force(paper.press.limit_n)}"
    return (
        Cautions(press_cautions(most, paper.prediction.wedge_deg)),
        Text(f"Date {line}{_GAP}By {line}{_GAP}Who decides {line}"),
        Text(f"Gauge at no load {line} {unit}{_GAP}Height before {line} {units.length}"),
        hold_table(paper.plan.holds, paper, blanks=True),
        Text(f"First seen at {short} {unit}{_GAP}Load rose no further than {short} {unit}"),
        Text(f"Old height back from {short} {unit}{_GAP}Stayed shorter from {short} {unit}"),
        Text(f"Height after {short} {units.length}{_GAP}Photos {line}"),
    )


def hold_table(holds: tuple[Hold, ...], paper: PressTestPaper, blanks: bool) -> Table:
    """The stops; with ``blanks``, columns to write in."""
    gauge, units = paper.press.gauge, paper.units
    headings: tuple[str, ...] = (
        f"Stop at, {gauge.unit}",
        f"± {gauge.unit}",
        f"Force, {units.force}",
        f"Travel, {units.length}",
        "Why, and what to look for",
    )
    if blanks:
        headings = (*headings, "Travel read", "Seen")
    rows = tuple(hold_cells(hold, paper) + (_BLANKS if blanks else ()) for hold in holds)
    return Table(headings, rows, (0, 1, 2, 3))


def hold_cells(hold: Hold, paper: PressTestPaper) -> tuple[str, ...]:
    """A stop's gauge reading, how far off it may be, force, travel, and words."""
    why = ", ".join(hold.why)
    return (
        paper.press.gauge.plain(hold.reading),
        rounded(hold.tolerance),
        rounded(paper.units.force_in(hold.force_n)),
        travel_words(hold.travel_mm, paper.units),
        f"{why[0].upper()}{why[1:]}" + (f": {'; '.join(hold.look)}" if hold.look else ""),
    )


def threshold_table(paper: PressTestPaper) -> Table:
    """Each predicted load with what may move it: mesh, steel, gauge."""
    units, gauge, prediction = paper.units, paper.press.gauge, paper.prediction
    rows = []
    for one in prediction.thresholds:
        low_n, high_n = prediction.band_n(one)
        off_n = gauge.tolerance_n(gauge.reading(one.force_n))
        rows.append(
            (
                name_of(one.key, prediction.still_rising),
                rounded(units.force_in(one.force_n)),
                f"{math.ceil(100.0 * one.mesh_share - 1e-6)} %",
                f"{prediction.stronger_times:.2f}",
                rounded(units.force_in(off_n)),
                f"{rounded(units.force_in(max(low_n - off_n, 0.0)))} to "
                f"{rounded(units.force_in(high_n + off_n))}",
            )
        )
    headings = (
        "What happens",
        f"Force, {units.force}",
        "Mesh, ±",
        "Steel, up to times",
        f"Gauge, ± {units.force}",
        f"All told, {units.force}",
    )
    return Table(headings, tuple(rows), (1, 2, 3, 4, 5))


def travel_words(travel_mm: float | None, units: OutputUnits) -> str:
    """A travel without its unit, to what a dial indicator shows.

    >>> travel_words(0.004, OutputUnits())
    'under 0.01'
    """
    if travel_mm is None:
        return "–"
    decimals = _TRAVEL_DECIMALS[units.length]
    travel, least = units.length_in(travel_mm), 10.0**-decimals
    return f"under {least:g}" if travel < least else f"{travel:.{decimals}f}"


def basis(paper: PressTestPaper) -> tuple[str, ...]:
    """Where the figures come from, how far off they may be, in plain sentences."""
    units, gauge, prediction = paper.units, paper.press.gauge, paper.prediction
    said = [
        f"Readings have the zero error in them: the gauge shows {gauge.show(gauge.zero)} at no "
        "load. If it shows another figure on the day, add the difference to every reading.",
        f"A reading may be off by the gauge's accuracy, {gauge.accuracy.words}, and half a mark.",
        _pressed_by(paper),
        "Travel is the block's own, from first touch; the press's give comes on top.",
        *_wedge_words(prediction),
        f"Steel: {prediction.yield_words} ({prediction.steel_words}).",
        f"The block passes when it carries ten times its rated load, "
        f"{units.show_force(10.0 * paper.rated_load_n)}, and has its old height afterwards "
        "(common practice, no source).",
    ]
    starts = prediction.threshold("starts")
    if starts is not None and starts.place:
        said.append(f"First local yield is expected here: {starts.place}.")
    if starts is not None:
        low_n, high_n = prediction.band_n(starts)
        said.append(
            f"First yield may come anywhere from {units.show_force(low_n)} to "
            f"{units.show_force(high_n)} ({gauge.show(gauge.to_division(gauge.reading(low_n)))} to "
            f"{gauge.show(gauge.to_division(gauge.reading(high_n)))}): the mesh may be off by "
            f"{math.ceil(100.0 * starts.mesh_share - 1e-6)} %" + _mill_words(prediction) + "."
        )
    if not prediction.travel_mm:
        said.append(
            "Only springy steel was computed: nothing is known here of what the block carries past "
            "first yield. Past the last stop the test goes on without a prediction."
        )
    elif prediction.still_rising:
        said.append("The load was still rising where the computed curve ends.")
    if prediction.threshold("permanent_set") is not None:
        set_mm = SET_SHARE * prediction.height_mm
        said.append(f"0.2 % of the height is {units.show_length(set_mm)}.")
    return tuple(said)


def _wedge_words(prediction: Prediction) -> tuple[str, ...]:
    if not prediction.wedge_deg:
        return ()
    return (
        f"The block is tapered: it is reckoned as pressed through a stiff wedge of "
        f"{prediction.wedge_deg:.4g}° that goes straight down and lies true on the top plate. "
        "Heights and travel are at the hole.",
    )


def _pressed_by(paper: PressTestPaper) -> str:
    nose_mm, units = paper.press.nose_mm, paper.units
    if nose_mm is None:
        return "Pressed by a flat platen that covers the top plate; a smaller one is another test."
    along, across = (units.show_length(side) for side in nose_mm)
    return (
        f"Pressed by a flat nose of {along} lengthwise by {across} crosswise in the middle of the "
        "top plate; another size or place is another test."
    )


def _mill_words(prediction: Prediction) -> str:
    if prediction.yield_times != 1.0 or prediction.mill_times == 1.0:
        return ""
    return (
        f", and steel from the mill is usually up to {prediction.mill_times:.2f} times as strong "
        f"as its minimum ({prediction.mill_words})"
    )


def _computed(prediction: Prediction) -> str:
    if prediction.basis == "elastic":
        return "first-yield loads from springy steel; no press curve was computed"
    return "press curve from steel that yields and hardens"
