"""Short turns of each attack; the scripts beside this file run them for hours."""

import random
from pathlib import Path

import numpy as np
import pytest
from inputs import attacked, mutated_bytes, try_study, whole_book
from kills import VICTIMS, killed, recorded, started
from many_blocks import attempt
from page_kills import page_killed
from pages import Kept, attacked_pages
from pretend import body, even_field
from pretend_press import crushed_box
from tiny_study import PRESSED
from wrong_blocks import is_whole, refused

from fea.errors import PictureError
from studies.fields import read_field
from studies.pressing.flakes import flakes_of, keep_crush, kept_crush


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


def test_a_line_without_end_is_told_in_a_short_one(tmp_path: Path) -> None:
    path = tmp_path / "mutated.toml"
    for line in ("x" * 70_000 + " = 6 mm", "x" * 70_000 + " = True", "a = " + "9" * 70_000 + " mm"):
        path.write_text(line)
        assert try_study(path) == "refused"


def test_a_damaged_field_is_told(tmp_path: Path) -> None:
    path = tmp_path / "x.vtu"
    even_field(body(), path, 0.5, 5.0)
    whole = path.read_bytes()
    for number in range(80):
        path.write_bytes(damaged := mutated_bytes(whole, random.Random(number)))
        if damaged != whole:
            with pytest.raises(PictureError, match="cannot be read"):
                read_field(path)


def test_a_damaged_press_curve_is_computed_again(tmp_path: Path) -> None:
    mesh, crushed = crushed_box()
    flakes = flakes_of(mesh, crushed)
    keep_crush(tmp_path, "k", crushed.curve, flakes)
    for number in range(60):
        chance = random.Random(number)
        path = tmp_path / ("k-press.npz" if number % 2 else "k-press.json")
        whole = path.read_bytes()
        path.write_bytes(mutated_bytes(whole, chance))
        kept = kept_crush(tmp_path, "k")
        if kept is not None:
            assert kept[0] == crushed.curve
            assert np.array_equal(kept[1].force_n, flakes.force_n)
        elif path.read_bytes() == whole:
            raise AssertionError("what was whole was not read")
        path.write_bytes(whole)
    assert kept_crush(tmp_path, "k") is not None


@pytest.mark.long
def test_commands_at_once_in_one_folder_tell_what_each_tells_alone(tmp_path: Path) -> None:
    told = []
    for name, at_once in (("apart", False), ("together", True)):
        folder = tmp_path / name
        folder.mkdir()
        (folder / "tiny.toml").write_text(PRESSED, encoding="utf-8")
        running = []
        for victim in VICTIMS:
            running.append(started(victim.words, folder))
            if not at_once:
                running[-1].wait(900)
        assert [run.wait(900) for run in running] == [0] * len(VICTIMS)
        assert not list(folder.rglob("*.part"))
        told.append([victim.told(folder) for victim in VICTIMS])
    assert all(told[0])
    assert told[0] == told[1]


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
