"""Short turns of each attack; the scripts beside this file run them for hours."""

from pathlib import Path

import pytest
from inputs import attacked, whole_book
from kills import VICTIMS, killed, recorded
from many_blocks import attempt


def test_mutated_studies_and_books_are_taken_or_refused(tmp_path: Path) -> None:
    folder = tmp_path / "worked in"
    folder.mkdir()
    found = attacked(160, 5, folder, whole_book(tmp_path / "whole.sqlite"))
    assert not found.bad
    assert found.counts["study taken"] > 5
    assert found.counts["study refused"] > 50
    assert found.counts["book refused"] > 20


def test_random_blocks_refused_are_refused_in_our_words(tmp_path: Path) -> None:
    refused = (1, 2, 4, 9, 14, 17)
    rows = [attempt(number, tmp_path) for number in refused]
    assert {row["verdict"] for row in rows} == {"refused"}
    assert not list(tmp_path.iterdir())


@pytest.mark.long
def test_a_pad_on_an_overhang_lifts_the_rest_of_the_plate(tmp_path: Path) -> None:
    row = attempt(8, tmp_path)
    assert row["verdict"] == "passed", row["words"]


@pytest.mark.long
def test_a_killed_sweep_takes_up_where_it_was(tmp_path: Path) -> None:
    sweep = next(one for one in VICTIMS if one.name == "sweep")
    assert killed(sweep, 3, 3, tmp_path) > 0


@pytest.mark.long
def test_a_confirmed_press_test_is_never_lost(tmp_path: Path) -> None:
    assert recorded(6, 3, tmp_path) > 0
