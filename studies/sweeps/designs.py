"""Every combination of a sweep's values with every layout: checked, or refused in one line."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from pathlib import Path
from typing import Any

from fea.errors import InputError
from geometry.block import Layout
from geometry.mesher import Setting
from studies.loads import LoadCase
from studies.reader import toml_data
from studies.study import Study, study_from, table_from
from studies.sweeps.axes import Axis, axes_of, with_value
from studies.sweeps.values import Value

IDLE = "–"
"""Shown for a quantity of ribs on a layout that has none."""


@dataclass(frozen=True)
class Design:
    """One layout with one value for each varied quantity, ready to be computed."""

    number: int
    layout_name: str
    values: tuple[str, ...]
    layout: Layout
    loads: tuple[LoadCase, ...]
    setting: Setting


@dataclass(frozen=True)
class Refused:
    """A combination that cannot be built, and why in one line."""

    number: int
    layout_name: str
    values: tuple[str, ...]
    reason: str


@dataclass(frozen=True)
class SweepPlan:
    """All that a sweep is to compute."""

    study: Study
    headings: tuple[str, ...]
    designs: tuple[Design | Refused, ...]


def planned(path: Path, vary: Sequence[str], setting: Setting | None, most: int) -> SweepPlan:
    """Read a study and lay out its sweep, layouts within combinations.

    ``setting`` holds instead of the file's. Raises InputError for a wrong file or ``vary``, more
    than ``most`` designs, or when not one of them can be built.
    """
    data = toml_data(path)
    study = study_from(table_from(data, path.name), path)
    axes = axes_of(data, vary, path.name)
    for axis in axes:
        for value in axis.values:
            # A value that cannot be read at all is refused here, once and for the whole sweep.
            table_from(with_value(data, axis.paths, value, axis.source), axis.source)
    chosen = _combinations(data, axes, most)
    designs = tuple(
        _design(number, path, *one, setting) for number, one in enumerate(chosen, start=1)
    )
    if all(isinstance(one, Refused) for one in designs):
        first = designs[0]
        assert isinstance(first, Refused)
        raise InputError(
            f"{path.name}: none of the {len(designs)} designs can be built",
            f"the first: {first.reason}",
        )
    return SweepPlan(study, tuple(axis.heading for axis in axes), designs)


def _combinations(
    data: Mapping[str, Any], axes: tuple[Axis, ...], most: int
) -> list[tuple[dict[str, Any], tuple[str, ...]]]:
    """A study file's data with one layout for each design, and the values as shown."""
    count = len(data["layouts"])
    for axis in axes:
        count *= len(axis.values)
    if count > 20 * most:
        raise _too_many(count, most)
    made: dict[tuple[str, tuple[str, ...]], dict[str, Any]] = {}
    for values in product(*(axis.values for axis in axes)):
        for layout in data["layouts"]:
            alone = {**data, "layouts": [{**layout, "baseline": True}]}
            changed, texts = _changed(alone, axes, values)
            # Values that do not bear on a layout would make the same design again.
            made.setdefault((layout["name"], texts), changed)
    if len(made) > most:
        raise _too_many(len(made), most)
    return [(changed, texts) for (_, texts), changed in made.items()]


def _changed(
    alone: dict[str, Any], axes: tuple[Axis, ...], values: tuple[Value, ...]
) -> tuple[dict[str, Any], tuple[str, ...]]:
    """The data of one layout with all values put in, and the values as shown."""
    texts = {}
    # A pattern goes in first: it decides whether quantities of ribs bear on the layout.
    first = sorted(range(len(axes)), key=lambda index: axes[index].paths[0][-1] != "pattern")
    for index in first:
        axis, value = axes[index], values[index]
        paths = axis.bears_on(alone["layouts"][0])
        texts[index] = value.text if paths else IDLE
        alone = with_value(alone, paths, value, axis.source)
    return alone, tuple(texts[index] for index in range(len(axes)))


def _design(
    number: int,
    path: Path,
    data: dict[str, Any],
    texts: tuple[str, ...],
    setting: Setting | None,
) -> Design | Refused:
    name: str = data["layouts"][0]["name"]
    try:
        study = study_from(table_from(data, path.name), path)
    except InputError as error:
        return Refused(number, name, texts, str(error).removeprefix(f"{path.name}: "))
    return Design(number, name, texts, study.layouts[0], study.loads, setting or study.setting)


def _too_many(count: int, most: int) -> InputError:
    return InputError(
        f"{count} designs are more than {most}",
        f"vary fewer quantities, take longer steps, or allow it with --most {count}",
    )
