"""Press tests into the book and out of it."""

import sqlite3
from datetime import UTC, datetime
from pathlib import Path

from fea.errors import InputError
from studies.pressing.gauge import Accuracy, Gauge
from studies.pressing.prediction import Prediction, prediction_from, prediction_json
from studies.records.book import opened, reading, writing
from studies.records.press_test import Marks, Numbered, PressTest, Reading

_COLUMNS = (
    "recorded_at",
    "tested_on",
    "tested_by",
    "study",
    "layout",
    "pattern",
    "block_key",
    "rated_load_n",
    "gauge_unit",
    "full_scale",
    "division",
    "zero",
    "accuracy",
    "middle_share",
    "outer_share",
    "newtons_per_unit",
    "seen_at",
    "no_set_at",
    "set_at",
    "crushed_at",
    "note",
)


def added(path: Path, test: PressTest) -> int:
    """Write a test into the book at ``path``, begun if there is none; its number."""
    gauge, marks = test.gauge, test.marks
    values = (
        datetime.now(UTC).isoformat(timespec="seconds"),
        test.tested_on,
        test.tested_by,
        test.study,
        test.layout,
        test.pattern,
        test.block_key,
        test.rated_load_n,
        gauge.unit,
        gauge.full_scale,
        gauge.division,
        gauge.zero,
        gauge.accuracy.words,
        gauge.accuracy.middle_share,
        gauge.accuracy.outer_share,
        gauge.newtons_per_unit,
        marks.seen_at,
        marks.no_set_at,
        marks.set_at,
        marks.crushed_at,
        test.note,
    )
    with opened(path, begin=True) as connection, writing(path, connection):
        places = ", ".join("?" * len(_COLUMNS))
        made = connection.execute(
            f"INSERT INTO tests ({', '.join(_COLUMNS)}) VALUES ({places})", values
        )
        number = int(made.lastrowid or 0)
        connection.executemany(
            "INSERT INTO readings VALUES (?, ?, ?, ?, ?)",
            [
                (number, place, one.gauge, one.travel_mm, one.saw)
                for place, one in enumerate(test.readings)
            ],
        )
        connection.executemany(
            "INSERT INTO photos VALUES (?, ?, ?)",
            [(number, place, name) for place, name in enumerate(test.photos)],
        )
        if test.prediction is not None:
            _put_prediction(connection, number, test.prediction, test.predicted_before)
    return number


def predicted(path: Path, number: int, prediction: Prediction) -> None:
    """Put a prediction beside a test that has none, marked as made afterwards.

    Raises InputError when there is no such test, it has a prediction, or is of another block.
    """
    with opened(path) as connection, writing(path, connection):
        one = _found(path, connection, number)
        if one.test.prediction is not None:
            raise InputError(
                f"{path}: test {number} has its prediction, which is never changed afterwards",
                f"see: gussetry record show {number}",
            )
        if one.test.block_key != prediction.block_key:
            raise InputError(
                f"{path}: test {number} was of another block than {prediction.layout!r} is now",
                "give the study file and layout as they were when the block was pressed",
            )
        _put_prediction(connection, number, prediction, before=False)


def _put_prediction(
    connection: sqlite3.Connection, number: int, prediction: Prediction, before: bool
) -> None:
    connection.execute(
        "INSERT INTO predictions VALUES (?, ?, ?)",
        (number, int(before), prediction_json(prediction)),
    )


def all_tests(path: Path) -> tuple[Numbered, ...]:
    """Every test in the book, in the order they were recorded."""
    with opened(path) as connection, reading(path, connection):
        return _numbered(path, connection)


def one_test(path: Path, number: int) -> Numbered:
    """The test of this number; raises InputError when there is none."""
    with opened(path) as connection, reading(path, connection):
        return _found(path, connection, number)


def _found(path: Path, connection: sqlite3.Connection, number: int) -> Numbered:
    for one in _numbered(path, connection):
        if one.number == number:
            return one
    raise InputError(f"{path}: there is no test {number}", "see: gussetry record list")


def _numbered(path: Path, connection: sqlite3.Connection) -> tuple[Numbered, ...]:
    connection.row_factory = sqlite3.Row
    readings: dict[int, list[Reading]] = {}
    photos: dict[int, list[str]] = {}
    predictions = {}
    for row in connection.execute("SELECT * FROM readings ORDER BY number, place"):
        one = Reading(row["gauge"], row["travel_mm"], row["saw"])
        readings.setdefault(row["number"], []).append(one)
    for row in connection.execute("SELECT * FROM photos ORDER BY number, place"):
        photos.setdefault(row["number"], []).append(row["file_name"])
    for row in connection.execute("SELECT * FROM predictions"):
        body = prediction_from(row["body"])
        if body is None:
            raise InputError(
                f"{path}: the prediction of test {row['number']} cannot be read",
                "bring gussetry up to date, or bring back a copy of the book",
            )
        predictions[row["number"]] = (body, bool(row["before_the_test"]))
    made = []
    for row in connection.execute("SELECT * FROM tests ORDER BY number"):
        number = row["number"]
        accuracy = Accuracy(row["accuracy"], row["middle_share"], row["outer_share"])
        gauge = Gauge(
            row["gauge_unit"],
            row["full_scale"],
            row["division"],
            row["zero"],
            accuracy,
            row["newtons_per_unit"],
        )
        marks = Marks(row["seen_at"], row["no_set_at"], row["set_at"], row["crushed_at"])
        prediction, before = predictions.get(number, (None, False))
        test = PressTest(
            tested_on=row["tested_on"],
            tested_by=row["tested_by"],
            study=row["study"],
            layout=row["layout"],
            pattern=row["pattern"],
            block_key=row["block_key"],
            rated_load_n=row["rated_load_n"],
            gauge=gauge,
            readings=tuple(readings.get(number, ())),
            marks=marks,
            note=row["note"],
            photos=tuple(photos.get(number, ())),
            prediction=prediction,
            predicted_before=before,
        )
        made.append(Numbered(number, row["recorded_at"], test))
    return tuple(made)
