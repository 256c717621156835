"""The form says all that a study file can, and gives it back unchanged."""

import copy
from collections.abc import Iterator
from typing import Any

import pytest
from demo_text import GOOD, INCHES
from tiny_study import TINY

from studies.page.form import Field, study_form
from studies.page.problems import checked, located
from studies.reader import data_of
from studies.template import study_notes
from studies.toml_text import study_text

DEMOS = {"metric": GOOD, "inches": INCHES, "tiny": TINY}

MORE: dict[str, Any] = {
    "accuracy": "4 %",
    "clamp": {"bolt": "M12", "grade": "8.8", "torque": "75 N m", "u_bolts": 2, "threads": "oiled"},
    "sweep": {"tube.wall": "5, 6 mm"},
    "steel": {"all": {"name": "mill cert", "yield": "380 MPa", "ultimate": "520 MPa"}},
    "hole": {"diameter": "11/16 in", "position": ["1 mm", "0 mm"]},
}


def _every(fields: tuple[Field, ...]) -> Iterator[Field]:
    for field in fields:
        yield field
        yield from _every(field.fields)
        for variant in (field.variants or {}).values():
            yield from _every(variant)


def _asked(value: Any, fields: tuple[Field, ...], path: str) -> Iterator[str]:
    """Keys of ``value`` that no field asks for."""
    known = {field.key: field for field in fields}
    for key, inside in value.items():
        field = known.get(key)
        if field is None:
            yield f"{path}.{key}"
        elif field.sort == "table" or (field.sort == "steel" and isinstance(inside, dict)):
            yield from _asked(inside, field.fields, f"{path}.{key}")
        elif field.sort == "tables":
            for entry in inside:
                below = field.variants[entry["kind"]] if field.variants else field.fields
                said = {k: v for k, v in entry.items() if not (field.variants and k == "kind")}
                yield from _asked(said, below, f"{path}.{key}")


@pytest.mark.parametrize("text", DEMOS.values(), ids=DEMOS)
def test_the_form_asks_for_every_key_of_a_study_file(text: str) -> None:
    data = {**data_of(text, "demo"), **MORE}
    assert list(_asked(data, study_form(), "")) == []


def test_each_key_is_named_and_helped_in_words() -> None:
    unhelped = [
        field.key
        for field in _every(study_form())
        if not field.label or (not field.help and field.key not in ("name", "kind"))
    ]
    assert unhelped == []


def test_sorts_follow_the_schema() -> None:
    sorts = {field.key: field for field in study_form()}
    assert sorts["rated_load"].sort == "text"
    assert sorts["demand"].sort == "number"
    assert sorts["mesh"].choices == ("quick", "normal", "fine")
    assert sorts["layouts"].sort == "tables"
    assert set(sorts["loads"].variants or {}) == {"crush", "pad", "wrap"}
    assert {one.key: one.sort for one in sorts["tube"].fields} == {
        "size": "pair",
        "wall": "text",
        "height": "text",
        "standard": "choice",
        "corner_radius": "text",
        "reduced_wall": "switch",
    }
    assert sorts["sweep"].sort == "lines"


def test_notes_come_from_the_commented_study_file() -> None:
    notes = study_notes()
    assert notes["rated_load"] == "what one block carries in service"
    assert notes["clamp.torque"].startswith("at each nut")
    assert notes["shop.paper"] == "A4 or Letter"


@pytest.mark.parametrize("text", DEMOS.values(), ids=DEMOS)
def test_a_study_opened_and_saved_is_the_same_study(text: str) -> None:
    data = data_of(text, "demo.toml")
    for before in (text, ""):
        again = data_of(study_text(data, before), "demo.toml")
        assert checked(again, "demo.toml").study == checked(data, "demo.toml").study is not None
    assert study_text(data, text) == text


def test_changed_values_keep_the_notes_beside_them() -> None:
    data = data_of(GOOD, "demo")
    data["tube"]["wall"] = "1/4 in"
    data |= copy.deepcopy(MORE)
    del data["pin"]
    data["layouts"] = [*data["layouts"][1:], {"name": "New", "pattern": "plain", "baseline": True}]
    text = study_text(data, GOOD)
    assert data_of(text, "demo") == data
    assert "demand = 10               # the shop wants" in text
    assert "[pin]" not in text


def test_all_problems_are_told_with_their_places() -> None:
    data = data_of(GOOD, "demo")
    data["tube"]["wall"] = "6 kN"
    data["layouts"][3]["rib_thickness"] = "thick"
    data["welds"]["tube_top"] = "0 mm"
    del data["steel"]["all"]
    data["press"]["gauge_rang"] = "600 bar"
    found = checked(data, "demo.toml")
    assert found.study is None
    assert found.drawable is None
    assert {one.location for one in found.problems} == {
        ("tube", "wall"),
        ("layouts", 3, "rib_thickness"),
        ("welds", "tube_top"),
        ("steel", "all"),
        ("press", "gauge_rang"),
    }
    assert found.problems[0].location == ("press", "gauge_rang")
    assert "did you mean 'gauge_range'" in found.problems[0].remedy


def test_the_block_is_drawn_while_loads_are_wrong() -> None:
    data = data_of(GOOD, "demo")
    data["loads"][1]["offset"] = "200 mm"
    data["press"]["bore"] = "much"
    found = checked(data, "demo.toml")
    assert found.study is None
    assert found.drawable is not None
    assert len(found.drawable.layouts) == 6


def test_what_cannot_be_built_is_told_at_its_own_box() -> None:
    data = data_of(GOOD, "demo")
    data["welds"]["tube_bottom"] = "9 mm"
    (problem,) = checked(data, "demo.toml").problems
    assert problem.location == ("welds", "tube_bottom")
    assert "9 mm does not suit" in problem.problem
    data = data_of(GOOD, "demo")
    data["layouts"][3]["rib_length"] = "90 mm"
    (problem,) = checked(data, "demo.toml").problems
    assert problem.location[:2] == ("layouts", 3)


@pytest.mark.parametrize(
    ("key", "location"),
    [
        ("tube.wall", ("tube", "wall")),
        ("steel.all (for top_plate)", ("steel", "all")),
        ("layouts['it's [1]'].pattern", ("layouts",)),
        ('layouts["it\'s [1]"].pattern', ("layouts", 0, "pattern")),
        ("shelf[2].wall", ("shelf", 1, "wall")),
        ("layouts", ("layouts",)),
    ],
)
def test_keys_of_messages_are_found_in_the_data(key: str, location: tuple[Any, ...]) -> None:
    data = {"layouts": [{"name": "it's [1]"}], "shelf": [{}, {}]}
    assert located(key, data) == location
