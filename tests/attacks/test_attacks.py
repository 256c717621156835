"""Short turns of each attack; the scripts beside this file run them for hours."""

from pathlib import Path

import pytest
from inputs import attacked, whole_book
from kills import VICTIMS, killed, recorded
from many_blocks import attempt
from page_kills import page_killed
from pages import Kept, attacked_pages
from wrong_blocks import is_whole, refused


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


def test_one_wrong_thing_is_refused_by_its_key(tmp_path: Path) -> None:
    whole = [number for number in range(80) if is_whole(number, tmp_path)]
    found = [refused(number, tmp_path) for number in whole]
    assert len({what for what, _ in found}) > 12
    assert not [(what, amiss) for what, amiss in found if amiss]
    assert not list(tmp_path.iterdir())


def test_what_a_page_keeps_is_read_whole_or_not_at_all(tmp_path: Path) -> None:
    found = attacked_pages(14, 3, Kept(tmp_path))
    assert not found.bad
    assert found.counts["page left out"] + found.counts["page taken"] == 14
    assert found.counts["page left out"]


@pytest.mark.long
def test_a_pad_on_an_overhang_lifts_the_rest_of_the_plate(tmp_path: Path) -> None:
    row = attempt(8, tmp_path)
    assert row["verdict"] == "passed", row["words"]


@pytest.mark.long
def test_a_killed_sweep_takes_up_where_it_was(tmp_path: Path) -> None:
    sweep = next(one for one in VICTIMS if one.name == "sweep")
    killed(sweep, 3, 3, tmp_path)


@pytest.mark.long
def test_a_confirmed_press_test_is_never_lost(tmp_path: Path) -> None:
    recorded(6, 3, tmp_path)


@pytest.mark.long
def test_a_killed_page_takes_up_where_it_was(tmp_path: Path) -> None:
    assert page_killed(4, 3, tmp_path) > 0
