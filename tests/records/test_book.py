"""The book of press tests: two writers, a killed one, old versions, damage."""

import json
import os
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
from contextlib import suppress
from dataclasses import replace
from pathlib import Path

import pytest
from pretend_press import prediction, press_test

from fea.errors import InputError
from studies.pressing.prediction import prediction_json
from studies.records.book import opened
from studies.records.press_test import Marks
from studies.records.rows import added, all_tests, one_test, predicted
from studies.records.steps import APPLICATION, STEPS, VERSION

ROOT = Path(__file__).parents[2]
PATHS = [str(ROOT), str(ROOT / "tests" / "helpers")]
READINGS = 40

WRITER = f"""
import sys
sys.path[:0] = {PATHS!r}
from dataclasses import replace
from pathlib import Path
from pretend_press import press_test
from studies.records.rows import added
path, name, count = Path(sys.argv[1]), sys.argv[2], int(sys.argv[3])
test = replace(press_test(tuple(0.01 * step for step in range({READINGS}))), tested_by=name)
print("ready", flush=True)
sys.stdin.readline()
for number in range(count):
    print(added(path, replace(test, note=f"{{name}} {{number}}")), flush=True)
"""


def _writer(path: Path, name: str, count: int) -> "subprocess.Popen[str]":
    """A process that adds tests once told to start."""
    process = subprocess.Popen(
        [sys.executable, "-c", WRITER, str(path), name, str(count)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert process.stdout is not None
    assert process.stdout.readline() == "ready\n"
    return process


def _start(process: "subprocess.Popen[str]") -> None:
    assert process.stdin is not None
    process.stdin.write("go\n")
    process.stdin.flush()


def test_a_test_comes_back_as_it_went_in(tmp_path: Path) -> None:
    book = tmp_path / "new folder" / "book.sqlite"
    test = replace(
        press_test((0.1, 0.2), predicted=prediction(), marks=Marks(seen_at=300.0)),
        note="=1+1; ü; ' --",
        photos=("a.jpg", "b c.jpg"),
    )
    bare = press_test((0.1,))
    assert (added(book, test), added(book, bare)) == (1, 2)
    assert [one.test for one in all_tests(book)] == [test, bare]
    assert one_test(book, 2).test == bare
    with pytest.raises(InputError, match="there is no test 3"):
        one_test(book, 3)
    assert [item.name for item in book.parent.iterdir()] == ["book.sqlite"]


def test_two_writers_at_once_lose_nothing(tmp_path: Path) -> None:
    """Both begin the book at the same moment."""
    book = tmp_path / "book.sqlite"
    writers = [_writer(book, name, 25) for name in ("left", "right")]
    for process in writers:
        _start(process)
    said = [process.communicate(timeout=60) for process in writers]
    assert [process.returncode for process in writers] == [0, 0], said
    numbers = [int(line) for out, _ in said for line in out.split()]
    assert sorted(numbers) == list(range(1, 51))
    tests = [one.test for one in all_tests(book)]
    assert {len(test.readings) for test in tests} == {READINGS}
    for name in ("left", "right"):
        assert [test.note for test in tests if test.tested_by == name] == [
            f"{name} {number}" for number in range(25)
        ]


def test_a_killed_writer_leaves_whole_tests(tmp_path: Path) -> None:
    """Every test it said was kept is there with all its readings, and at most one more."""
    book = tmp_path / "book.sqlite"
    chance = random.Random(5)
    known = 0
    for turn in range(6):
        process = _writer(book, f"turn {turn}", 10_000)
        _start(process)
        assert process.stdout is not None
        said = [int(process.stdout.readline()) for _ in range(3)]
        time.sleep(chance.uniform(0.0, 0.05))
        os.kill(process.pid, signal.SIGKILL)
        said += [int(line) for line in process.communicate()[0].split("\n")[:-1]]
        tests = all_tests(book)
        assert [one.number for one in tests] == list(range(1, len(tests) + 1))
        assert said[0] == known + 1
        assert said[-1] <= len(tests) <= said[-1] + 1
        assert {len(one.test.readings) for one in tests} == {READINGS}
        known = len(tests)


def test_a_power_cut_in_the_middle_leaves_the_book_as_it_was(tmp_path: Path) -> None:
    """The disk as it stands half way through a test: pages already overwritten, journal beside."""
    book, after = tmp_path / "book.sqlite", tmp_path / "after" / "book.sqlite"
    _whole(book)
    connection = sqlite3.connect(book, isolation_level=None)
    connection.execute("PRAGMA cache_size = 1")
    connection.execute("BEGIN IMMEDIATE")
    connection.execute("UPDATE tests SET tested_by = 'nobody'")
    connection.execute("DELETE FROM readings WHERE number = 1")
    connection.executemany(
        "INSERT INTO readings VALUES (2, ?, 1.0, NULL, ?)",
        [(READINGS + place, "x" * 500) for place in range(2000)],
    )
    after.parent.mkdir()
    for item in (book, book.with_name("book.sqlite-journal")):
        shutil.copy(item, after.parent / item.name)
    connection.close()
    assert b"nobody" in after.read_bytes(), "the cut must come after pages were overwritten"
    tests = [one.test for one in all_tests(after)]
    assert {test.tested_by for test in tests} == {"J. Fitter"}
    assert [len(test.readings) for test in tests] == [READINGS] * 5
    assert added(after, press_test((0.1,))) == 6


def test_a_flipped_byte_never_ends_in_anything_but_one_line(tmp_path: Path) -> None:
    """300 bytes flipped one at a time: refused in one line, or read where it was only a letter."""
    book = tmp_path / "book.sqlite"
    content = _whole(book)
    chance = random.Random(7)
    read = 0
    for _ in range(300):
        harmed = bytearray(content)
        harmed[chance.randrange(len(content))] ^= 1 << chance.randrange(8)
        book.write_bytes(harmed)
        with suppress(InputError):
            tests = all_tests(book)
            assert [one.number for one in tests] == [1, 2, 3, 4, 5]
            read += 1
        assert book.read_bytes() == harmed
    assert 10 < read < 290


def _first_version(path: Path) -> None:
    """A book as version 1 wrote it, with one test."""
    connection = sqlite3.connect(path)
    connection.executescript(STEPS[0])
    connection.execute(f"PRAGMA application_id = {APPLICATION}")
    connection.execute("PRAGMA user_version = 1")
    connection.execute(
        "INSERT INTO tests VALUES (1, '2026-01-02T03:04:05+00:00', '2026-01-02', 'A. Welder', "
        "'Risers', 'Plain', 'plain', 'abc', 30000.0, 'psi', 10000.0, 200.0, 1000.0, 'grade B', "
        "0.02, 0.03, 40.0, NULL, 4000.0, NULL, NULL, 'first')"
    )
    connection.execute("INSERT INTO readings VALUES (1, 0, 4000.0, 0.4, 'ok')")
    connection.execute("INSERT INTO photos VALUES (1, 0, 'a.jpg')")
    connection.commit()
    connection.close()


def test_a_book_of_version_one_is_brought_up_to_date(tmp_path: Path) -> None:
    book = tmp_path / "book.sqlite"
    _first_version(book)
    (one,) = all_tests(book)
    assert one.recorded_at == "2026-01-02T03:04:05+00:00"
    assert one.test.tested_by == "A. Welder"
    assert one.test.gauge.force_n(4000.0) == 120_000.0
    assert one.test.readings[0].saw == "ok"
    assert one.test.photos == ("a.jpg",)
    assert one.test.prediction is None
    with sqlite3.connect(book) as connection:
        assert connection.execute("PRAGMA user_version").fetchone() == (VERSION,)
    connection.close()
    predicted(book, 1, prediction())
    assert one_test(book, 1).test.prediction == prediction()
    assert not one_test(book, 1).test.predicted_before
    assert added(book, press_test((0.1,))) == 2


def test_a_step_that_fails_leaves_the_old_version_whole(tmp_path: Path) -> None:
    """A table of that name in the way: the step fails, nothing of it is kept."""
    book = tmp_path / "book.sqlite"
    _first_version(book)
    connection = sqlite3.connect(book)
    connection.execute("CREATE TABLE predictions (number INTEGER)")
    connection.commit()
    connection.close()
    before = book.read_bytes()
    with pytest.raises(InputError, match="damaged"):
        all_tests(book)
    assert book.read_bytes() == before


def _whole(path: Path) -> bytes:
    for _ in range(5):
        added(path, press_test(tuple(0.01 * step for step in range(READINGS))))
    return path.read_bytes()


def _refused(path: Path, said: str) -> None:
    before = {item.name: item.read_bytes() for item in path.parent.iterdir()}
    for attempt in (lambda: all_tests(path), lambda: added(path, press_test((0.1,)))):
        with pytest.raises(InputError) as caught:
            attempt()
        assert said in str(caught.value)
        assert str(caught.value).isprintable()
        assert str(path) in str(caught.value)
    assert {item.name: item.read_bytes() for item in path.parent.iterdir()} == before


@pytest.mark.parametrize("harm", ["head", "middle", "tail", "empty", "text"])
def test_a_damaged_book_is_refused_and_kept(harm: str, tmp_path: Path) -> None:
    book = tmp_path / "book.sqlite"
    content = bytearray(_whole(book))
    if harm == "head":
        content[:100] = b"\x00" * 100
    elif harm == "middle":
        content[4096 : len(content) - 4096] = b"\xa5" * (len(content) - 8192)
    elif harm == "tail":
        del content[len(content) // 2 :]
    elif harm == "empty":
        content.clear()
    else:
        content[:] = b"not a book at all\n" * 400
    book.write_bytes(content)
    _refused(book, "damaged")


def test_a_newer_book_is_refused(tmp_path: Path) -> None:
    book = tmp_path / "book.sqlite"
    _whole(book)
    connection = sqlite3.connect(book)
    connection.execute(f"PRAGMA user_version = {VERSION + 1}")
    connection.close()
    _refused(book, f"version {VERSION + 1}, newer than")


def test_another_programs_database_is_refused(tmp_path: Path) -> None:
    book = tmp_path / "book.sqlite"
    connection = sqlite3.connect(book)
    connection.execute("CREATE TABLE songs (name TEXT)")
    connection.close()
    _refused(book, "another program's")


def test_a_lost_book_is_not_quietly_begun_again(tmp_path: Path) -> None:
    """Its journal is still there: the book was moved away while somebody wrote."""
    book = tmp_path / "book.sqlite"
    with pytest.raises(InputError, match="there is no book"):
        all_tests(book)
    assert not book.exists()
    (tmp_path / "book.sqlite-journal").write_bytes(b"x")
    _refused(book, "is gone")
    (tmp_path / "folder.sqlite").mkdir()
    with pytest.raises(InputError, match="is not a file"):
        all_tests(tmp_path / "folder.sqlite")


def test_a_writer_who_does_not_finish_is_not_waited_for_without_end(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    book = tmp_path / "book.sqlite"
    _whole(book)
    monkeypatch.setattr("studies.records.book._WAIT_SECONDS", 0.2)
    other = sqlite3.connect(book, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    with pytest.raises(InputError, match="somebody else is writing"):
        added(book, press_test((0.1,)))
    assert len(all_tests(book)) == 5
    other.execute("ROLLBACK")
    other.close()
    assert added(book, press_test((0.1,))) == 6


def test_half_a_test_is_never_kept(tmp_path: Path) -> None:
    """The database itself refuses the fourth reading; the three before it go too."""
    book = tmp_path / "book.sqlite"
    added(book, press_test((0.1,)))
    bad = press_test((0.1, 0.2, 0.3, 0.4))
    broken = replace(bad.readings[3], gauge="high")  # type: ignore[arg-type]
    with pytest.raises(InputError, match="does not take this"):
        added(book, replace(bad, readings=(*bad.readings[:3], broken)))
    assert len(all_tests(book)) == 1
    with opened(book) as connection:
        assert connection.execute("SELECT count(*) FROM readings").fetchone() == (1,)


def test_a_prediction_once_there_is_never_changed(tmp_path: Path) -> None:
    book = tmp_path / "book.sqlite"
    added(book, press_test((0.1,), predicted=prediction()))
    added(book, press_test((0.1,)))
    with pytest.raises(InputError, match="never changed"):
        predicted(book, 1, prediction(curve=False))
    with pytest.raises(InputError, match="another block"):
        predicted(book, 2, replace(prediction(), block_key="other"))
    with pytest.raises(InputError, match="no test 3"):
        predicted(book, 3, prediction())
    assert one_test(book, 1).test.prediction == prediction()


def test_predictions_in_old_books_stay_readable() -> None:
    """The fields of a kept prediction; a change here needs a step in ``steps`` as well."""
    assert set(json.loads(prediction_json(prediction()))) == {
        "layout", "block_key", "basis", "setting", "height_mm", "stiffness_n_per_mm",
        "thresholds", "travel_mm", "force_n", "valid_to_mm", "limit_reason", "still_rising",
        "steel_words", "mill_times", "mill_words", "yield_times", "yield_words", "wedge_deg",
    }  # fmt: skip
