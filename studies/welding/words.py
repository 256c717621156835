"""What is said of welds: the governing one, shortfalls, and the report's section."""

import csv
import io
import math
from dataclasses import dataclass

from fea.throat import INCH_MM
from studies.results import Comparison, LayoutResult
from studies.spreadsheets import guarded
from studies.units import OutputUnits
from studies.welding.judging import JudgedLine, governing, judged_case, judged_layout
from studies.welding.rules import METHODS, WeldRules

HEADINGS = (
    "Layout",
    "Joint",
    "Leg now",
    "Strength used",
    "Worst place and load",
    "Force there",
    "Over half, twice the length",
    "Leg that would do",
    "Standard's least",
    "Lay at least",
)

_JOINTS = ("tube to bottom plate", "tube to top plate", "ribs to plates", "ribs to tube")


@dataclass(frozen=True)
class WeldSection:
    """What the report says of welds, every cell as text; over says which rows are past 100 %."""

    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    over: tuple[bool, ...]
    notes: tuple[str, ...]


def governing_weld(comparison: Comparison, row: LayoutResult, index: int) -> str:
    """The weld that uses most of its strength under one load, for the table of layouts."""
    worst = governing(judged_case(row, index, comparison.weld_rules))
    if worst is None or worst.used is None:
        return "no fillet to check"
    return f"{worst.line.name}, {_percent(worst.used)} used"


def weld_shortfalls(comparison: Comparison) -> list[str]:
    """One sentence on all fillets that the standard would not let carry the demanded load."""
    short = []
    for row in comparison.results:
        for judged in judged_layout(row, comparison.weld_rules):
            worst = governing(judged)
            if worst is not None and (worst.used or 0.0) > 1.0:
                short.append(
                    f"{row.name} under {worst.load_name} ({worst.line.name}, "
                    f"{_percent(worst.used)} used)"
                )
    if not short:
        return []
    return [
        f"Welds too small for the demanded load by {METHODS[comparison.weld_rules.method]}: "
        f"{'; '.join(short)}."
    ]


def weld_section(comparison: Comparison) -> WeldSection:
    """The worst line of each kind of joint in every layout, over all loads."""
    rows, over, every = [], [], []
    for row in comparison.results:
        judged = [one for case in judged_layout(row, comparison.weld_rules) for one in case]
        every += judged
        for joint in _JOINTS:
            lines = [one for one in judged if _joint(one) == joint]
            for fillets in (True, False):
                some = [one for one in lines if bool(one.line.leg_mm) == fillets]
                if some:
                    worst = max(some, key=_demand)
                    rows.append((row.name, joint, *_cells(comparison.units, worst)))
                    over.append((worst.used or 0.0) > 1.0)
    return WeldSection(HEADINGS, tuple(rows), tuple(over), tuple(_notes(comparison, every)))


def _joint(one: JudgedLine) -> str:
    if one.line.kind == "tube end":
        return one.line.name
    return "ribs to plates" if one.line.kind == "rib on plate" else "ribs to tube"


def _demand(one: JudgedLine) -> float:
    return one.used if one.used is not None else max(one.along_line)


def _cells(units: OutputUnits, one: JudgedLine) -> tuple[str, ...]:
    where = one.place if one.line.kind == "tube end" else f"{one.line.name}, {one.place}"
    pull, outward, along = one.force
    side = math.hypot(outward, along)
    needed = one.needed_leg_mm
    return (
        units.show_length(one.line.leg_mm) if one.line.leg_mm else "no fillet",
        "not checked" if one.used is None else _percent(one.used),
        f"{where}; {one.load_name}",
        f"{units.show_stiffness(abs(pull))} {'pulling' if pull > 0 else 'pressing'}"
        + (f", {units.show_stiffness(side)} sideways" if side > 0.01 * abs(pull) else ""),
        f"{_percent(one.half)}, {_percent(one.double)}",
        "none on so short a line" if needed is None else units.show_length(needed),
        units.show_length(one.least_leg_mm),
        "–" if needed is None else _laid(units, max(needed, one.least_leg_mm)),
    )


def _percent(share: float | None) -> str:
    return "–" if share is None else f"{100.0 * share:.0f} %"


def _laid(units: OutputUnits, leg_mm: float) -> str:
    """A leg rounded up to what a shop lays: half millimetres or sixteenths of an inch."""
    if units.length == "in":
        sixteenths = math.ceil(16.0 * leg_mm / INCH_MM - 1e-6)
        whole, rest = divmod(sixteenths, 16)
        if not rest:
            return f"{whole} in"
        shared = math.gcd(rest, 16)
        part = f"{rest // shared}/{16 // shared}"
        return f"{whole}-{part} in" if whole else f"{part} in"
    return f"{math.ceil(2.0 * leg_mm - 1e-6) / 2.0:g} mm"


def _notes(comparison: Comparison, every: list[JudgedLine]) -> list[str]:
    units, rules = comparison.units, comparison.weld_rules
    said = [_method_note(units, rules)]
    said.append(
        "In the model, tube ends and rib edges are grown to the plates over their whole section, "
        "with the fillets beside them. What crosses each joint is taken from that model place by "
        "place; together it balances the load to a millionth, which is checked on every run."
    )
    if rules.tube_ends == "sawn":
        said.append(
            "All of it is given to the fillets, pressing too: a sawn tube end may stand on a few "
            "high spots only, so nothing is counted on that would pass by contact."
        )
    else:
        said.append(
            "Where the tube's end presses on a plate, that pressing is left to the contact, which "
            "asks for ends faced square and fully in touch; pulls and sideways forces are given to "
            "the fillets. Ribs are taken as sawn: all that crosses their joints goes through the "
            "fillets."
        )
    if any(case.clamp for row in comparison.results for case in row.cases):
        said.append("Under a load on the clamped block, welds carry clamp and load together.")
    lengths = sorted({units.show_length(one.over_mm) for one in every})
    if lengths:
        said.append(
            f"Forces are evened out over {' or '.join(lengths)} of weld, the shortest fillet the "
            "standard lets carry load on its own; the column beside shows what half and twice that "
            "length would give. Lines that are shorter are judged at their ends by F/L ± 6 M/L²."
        )
    short = _short(units, [one for one in every if one.too_short and one.line.leg_mm])
    if short:
        consequence = (
            "EN 1993-1-8 (4.5.1) would not have such fillets designed to carry load, so what the "
            "table says of them is only what the model sends through them"
            if rules.european
            else "AISC 360 (J2.2b) counts a leg of at most a quarter of the length, as done here"
        )
        said.append(f"Shorter than that are fillets of: {short}; {consequence}.")
    bare = [one for one in every if not one.line.leg_mm]
    if bare:
        said.append(
            "Joints without a fillet are computed as one piece, welded through their whole "
            "section, and not checked; the table says which fillet would do in their place. A tube "
            f"end that merely stands on its plate is not computed{_opening(units, bare)}."
        )
    return said


def _short(units: OutputUnits, lines: list[JudgedLine]) -> str:
    """Kinds of joint with the shortest and longest of some fillets on them."""
    said = []
    for joint in _JOINTS:
        lengths = [one.line.length_mm for one in lines if _joint(one) == joint]
        ends = dict.fromkeys(units.show_length(end(lengths)) for end in (min, max) if lengths)
        if ends:
            said.append(f"{joint} ({' to '.join(ends)} long)")
    return ", ".join(said)


def _method_note(units: OutputUnits, rules: WeldRules) -> str:
    if rules.european:
        figures = (
            f"partial factor γM2 = {rules.gamma:g}, ultimate of the weaker part joined, and βw "
            + (f"= {rules.correlation:g}" if rules.correlation else "of its steel")
        )
    else:
        figures = f"filler of {units.show_stress(rules.electrode_mpa)}"
    return (
        f"Fillets are judged by {METHODS[rules.method]}, with {figures}. The demanded load is "
        "taken as it stands, with no further load factor. The parts beside the welds are judged by "
        "first yield, not here."
    )


def _opening(units: OutputUnits, bare: list[JudgedLine]) -> str:
    """Whether an unwelded tube end would open, by the strongest pull on it."""
    ends = [one for one in bare if one.line.kind == "tube end"]
    if not ends:
        return ""
    worst = max(ends, key=lambda one: one.most_pull)
    if worst.most_pull <= 0.0:
        return "; under these loads it would be pressed all round"
    return (
        f"; under {worst.load_name} it would open, for {worst.line.name} is pulled with "
        f"{units.show_stiffness(worst.most_pull)}"
    )


def welds_csv(comparison: Comparison) -> str:
    """Every line of every layout under every load, numbers in the study's units."""
    units = comparison.units
    per = f"{units.force}/{units.length}"
    stream = io.StringIO()
    writer = csv.writer(stream)
    writer.writerow(
        [
            "layout",
            "load case",
            "joint",
            f"leg ({units.length})",
            f"length of each bead ({units.length})",
            "beads",
            "strength used",
            "place",
            f"pull ({per})",
            f"outward ({per})",
            f"along ({per})",
            f"evened over ({units.length})",
            "used over half the length",
            "used over twice the length",
            f"leg that would do ({units.length})",
            f"standard's least leg ({units.length})",
        ]
    )
    for row in comparison.results:
        for judged in judged_layout(row, comparison.weld_rules):
            for one in judged:
                writer.writerow(_csv_row(units, row, one))
    return stream.getvalue()


def _csv_row(units: OutputUnits, row: LayoutResult, one: JudgedLine) -> list[object]:
    per = units.force_in(1.0) / units.length_in(1.0)
    return [
        guarded(row.name),
        guarded(one.load_name),
        guarded(one.line.name),
        units.length_in(one.line.leg_mm),
        units.length_in(one.line.length_mm),
        len(one.line.beads),
        "" if one.used is None else one.used,
        one.place,
        *(value * per for value in one.force),
        units.length_in(one.over_mm),
        "" if one.half is None else one.half,
        "" if one.double is None else one.double,
        "" if one.needed_leg_mm is None else units.length_in(one.needed_leg_mm),
        units.length_in(one.least_leg_mm),
    ]
