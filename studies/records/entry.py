"""What the user typed about a press test, checked and made into one."""

import csv
import io
import re
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from fea.errors import InputError
from geometry.block import Layout
from studies.pressing.gauge import Gauge, on_scale
from studies.pressing.prediction import Prediction, block_key
from studies.records.press_test import Marks, PressTest, Reading
from studies.study import Study
from studies.units import parsed

_LONGEST = {"name": 60, "saw": 200, "note": 2000, "photo": 200}
_MOST_READINGS = 2000
_LARGEST_TRAVEL_MM = 500.0
_LARGEST_FILE_BYTES = 1_000_000
_PLAIN = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)", re.ASCII)
_STARTS_A_NUMBER = re.compile(r"[+-]?[.\d]", re.ASCII)
_ABSENT = ("", "-", "–")


@dataclass(frozen=True)
class Typed:
    """A test as typed: texts for every quantity, None where an option was not given.

    readings holds a gauge reading, a travel and what was seen for each stop; a ``-`` stands for a
    travel that was not measured.
    """

    tested_by: str
    tested_on: str | None
    zero: str | None
    readings: tuple[tuple[str, ...], ...]
    readings_file: Path | None
    seen_at: str | None
    no_set_at: str | None
    set_at: str | None
    crushed_at: str | None
    note: str
    photos: tuple[str, ...]


def entered(
    study: Study, layout: Layout, gauge: Gauge, typed: Typed, prediction: Prediction | None
) -> PressTest:
    """The test; raises InputError for whatever in it cannot be."""
    gauge = _at_rest(gauge, typed.zero)
    typed_readings = [(f"--reading {number}", row) for number, row in _numbered(typed.readings)]
    if typed.readings_file is not None:
        typed_readings += _from_file(typed.readings_file)
    if len(typed_readings) > _MOST_READINGS:
        raise InputError(f"{len(typed_readings)} readings are too many", f"give {_MOST_READINGS}")
    length = study.units.length
    readings = tuple(_reading(gauge, length, where, row) for where, row in typed_readings)
    marks = Marks(
        *(
            None if text is None else _gauge_reading(gauge, option, text)
            for option, text in (
                ("--seen-at", typed.seen_at),
                ("--no-set-at", typed.no_set_at),
                ("--set-at", typed.set_at),
                ("--crushed-at", typed.crushed_at),
            )
        )
    )
    if not readings and marks == Marks():
        raise InputError(
            "nothing was read off the gauge",
            'give --reading "2500 psi" "0.4 mm", or --no-set-at "2500 psi"',
        )
    if marks.set_at is not None and marks.no_set_at is not None and marks.set_at <= marks.no_set_at:
        raise InputError(
            f"--set-at {gauge.show(marks.set_at)} is not above --no-set-at "
            f"{gauge.show(marks.no_set_at)}",
            "a block that stays shorter after the lower one cannot spring back after the higher",
        )
    return PressTest(
        tested_on=_day(typed.tested_on),
        tested_by=_text("--by", typed.tested_by, "name", needed=True),
        study=study.title,
        layout=layout.name,
        pattern=layout.pattern,
        block_key=block_key(layout.block),
        rated_load_n=study.rated_load_n,
        gauge=gauge,
        readings=readings,
        marks=marks,
        note=_text("--note", typed.note, "note"),
        photos=tuple(_text("--photo", name, "photo", needed=True) for name in typed.photos),
        prediction=prediction,
        predicted_before=prediction is not None,
    )


def _numbered(rows: tuple[tuple[str, ...], ...]) -> list[tuple[int, tuple[str, ...]]]:
    return list(enumerate(rows, start=1))


def _at_rest(gauge: Gauge, zero: str | None) -> Gauge:
    """The gauge with what its needle showed at no load on that day."""
    if zero is None:
        return gauge
    reading = _on_gauge(gauge, "--zero", zero)
    if not 0.0 <= reading < gauge.full_scale:
        raise InputError(
            f"--zero {zero!r:.40} is not on the scale",
            f"give what the needle showed at no load, 0 to {gauge.show(gauge.full_scale)}",
        )
    return Gauge(
        gauge.unit,
        gauge.full_scale,
        gauge.division,
        reading,
        gauge.accuracy,
        gauge.newtons_per_unit,
    )


def _on_gauge(gauge: Gauge, where: str, text: str) -> float:
    """A reading typed with its unit, or bare in the gauge's own."""
    text = text.strip()
    try:
        return float(text) if _PLAIN.fullmatch(text) else on_scale(text, gauge.unit)
    except InputError as error:
        raise InputError(f"{where}: {error.problem}", error.remedy) from error


def _gauge_reading(gauge: Gauge, where: str, text: str) -> float:
    reading = _on_gauge(gauge, where, text)
    if reading > gauge.full_scale:
        raise InputError(
            f"{where}: {text!r:.40} is past the gauge's end, {gauge.show(gauge.full_scale)}",
            "check it; a needle past its last mark tells nothing",
        )
    if reading < gauge.zero:
        raise InputError(
            f"{where}: {text!r:.40} is below the {gauge.show(gauge.zero)} at no load",
            "write what the gauge showed, with its zero error, or give --zero as it was that day",
        )
    return reading


def _reading(gauge: Gauge, length: str, where: str, row: tuple[str, ...]) -> Reading:
    if not 1 <= len(row) <= 3:
        raise InputError(
            f"{where}: {len(row)} entries",
            "give the gauge reading, the travel (or -) and what was seen",
        )
    gauge_text, travel, saw = (*row, "", "")[:3]
    return Reading(
        _gauge_reading(gauge, where, gauge_text),
        _travel_mm(length, where, travel.strip()),
        _text(where, saw, "saw"),
    )


def _travel_mm(length: str, where: str, text: str) -> float | None:
    if text in _ABSENT:
        return None
    try:
        travel_mm = parsed(f"{text} {length}" if _PLAIN.fullmatch(text) else text, "length")
    except InputError as error:
        raise InputError(f"{where}: travel {error.problem}", error.remedy) from error
    if not 0.0 <= travel_mm <= _LARGEST_TRAVEL_MM:
        raise InputError(
            f"{where}: travel {text!r:.40} is {'negative' if travel_mm < 0.0 else 'too far'}",
            "give how far the ram had come since it touched the block",
        )
    return travel_mm


def _from_file(path: Path) -> list[tuple[str, tuple[str, ...]]]:
    """Rows of a CSV file: gauge reading, travel, what was seen; a heading row is passed over."""
    try:
        if path.stat().st_size > _LARGEST_FILE_BYTES:
            raise InputError(f"{path.name}: is larger than a megabyte", "give a CSV of readings")
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "is not a text file"
        raise InputError(f"{path}: {reason.lower()}", "give a CSV of readings") from error
    semicolons = ";" in text
    found: list[tuple[str, tuple[str, ...]]] = []
    for number, row in enumerate(csv.reader(io.StringIO(text), delimiter=";,"[not semicolons]), 1):
        cells = [cell.strip() for cell in row]
        while cells and not cells[-1]:
            cells.pop()
        if not cells or (not found and not _STARTS_A_NUMBER.match(cells[0])):
            continue
        if semicolons:  # written where the comma is the decimal point
            cells[:2] = [cell.replace(",", ".") for cell in cells[:2]]
        found.append((f"{path.name}: line {number}", tuple(cells)))
    if not found:
        raise InputError(f"{path.name}: no readings in it", "write one stop a line: 2500, 0.4, ok")
    return found


def _day(text: str | None) -> str:
    if text is None:
        return date.today().isoformat()
    try:
        day = date.fromisoformat(text.strip())
    except ValueError as error:
        raise InputError(f"--date {text!r:.40} is no date", "write it as 2026-03-31") from error
    if day > date.today():
        raise InputError(f"--date {text!r:.40} is still to come", "give the day of the test")
    return day.isoformat()


def _text(where: str, text: str, kind: str, needed: bool = False) -> str:
    text = " ".join(text.split())
    if needed and not text:
        raise InputError(f"{where}: is empty", "write a few letters")
    if len(text) > _LONGEST[kind]:
        raise InputError(f"{where}: is too long", f"use at most {_LONGEST[kind]} characters")
    if not text.isprintable():
        raise InputError(f"{where}: has a character that cannot be printed", "type it again")
    return text
