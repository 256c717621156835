"""Which quantities of a study file a sweep varies, and putting their values into its data."""

import copy
import difflib
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from fea.errors import InputError
from studies.schema import LayoutTable, StudyTable
from studies.sweeps.values import Value, listed

_STEP = re.compile(r"""\[\s*(?:"([^"]*)"|'([^']*)')\s*\]|\.?([^.\[\]]+)""")
_EXAMPLE = "write for example: tube.wall = 5, 6, 8 mm"

Path = tuple[str, ...]

_RIB_PATHS: tuple[Path, ...] = (("welds", "rib_plate"), ("welds", "rib_tube"), ("steel", "ribs"))


@dataclass(frozen=True)
class Axis:
    """One quantity, or several that change together, and the values it takes.

    ``source`` says in a message where the user wrote it.
    """

    key: str
    paths: tuple[Path, ...]
    values: tuple[Value, ...]
    source: str

    @property
    def heading(self) -> str:
        """The key as words, for example ``bottom plate thickness``."""
        return " and ".join(" ".join(path[path[0] == "layouts" :]) for path in self.paths).replace(
            "_", " "
        )

    def bears_on(self, layout: Mapping[str, Any]) -> tuple[Path, ...]:
        """Its paths that matter to a layout's table: its own, and of ribs if it has any."""
        return tuple(path for path in self.paths if _matters(path, layout))


def _matters(path: Path, layout: Mapping[str, Any]) -> bool:
    if path[0] == "layouts" and len(path) > 2 and path[1] != layout["name"]:
        return False
    of_ribs = path in _RIB_PATHS or (path[0] == "layouts" and path[-1].startswith("rib_"))
    return not (of_ribs and layout["pattern"] == "plain")


def axes_of(data: Mapping[str, Any], vary: Sequence[str], file_name: str) -> tuple[Axis, ...]:
    """The axes written in the file's ``[sweep]`` and on the command line, which goes first.

    Raises InputError when nothing is varied, a value is none, or a quantity is varied twice.
    """
    found = {axis.paths: axis for axis in _of_file(data.get("sweep", {}), file_name)}
    given = [_of_option(text) for text in vary]
    for axis in given:
        if sum(axis.paths == other.paths for other in given) > 1:
            raise InputError(f"--vary {axis.key!r:.60} is there twice", "give each quantity once")
    found |= {axis.paths: axis for axis in given}
    if not found:
        raise InputError(
            f"{file_name}: nothing is varied",
            'add --vary "tube.wall = 5, 6, 8 mm", or a part [sweep] with such lines in the file',
        )
    every = [path for axis in found.values() for path in axis.paths]
    for path in every:
        if every.count(path) > 1:
            raise InputError(
                f"{'.'.join(path)} is varied twice", "write quantities that go together just once"
            )
    return tuple(found.values())


def _of_option(text: str) -> Axis:
    key, equals, values = text.partition("=")
    if not equals or not key.strip() or not values.strip():
        raise InputError(f"--vary {text!r:.60} is not a quantity with its values", _EXAMPLE)
    return _axis(key.strip(), values.strip(), "--vary")


def _of_file(table: Any, file_name: str) -> list[Axis]:
    source = f"{file_name}: sweep"
    if not isinstance(table, dict):
        raise InputError(f"{source}: is not a part of its own", "write [sweep] above its lines")
    made = []
    for key, values in _flat(table):
        if isinstance(values, list) and all(isinstance(value, str) for value in values):
            values = ", ".join(values)
        if not isinstance(values, str):
            raise InputError(
                f"{source}.{key}: {values!r:.60} is no list of values",
                f'write for example {key} = "5, 6, 8 mm"',
            )
        made.append(_axis(key, values, source))
    return made


def _flat(table: dict[str, Any], before: str = "") -> list[tuple[str, Any]]:
    """A dotted key that is not in quotes reads as parts within parts: put it together again."""
    lines: list[tuple[str, Any]] = []
    for key, value in table.items():
        if isinstance(value, dict):
            lines += _flat(value, f"{before}{key}.")
        else:
            lines.append((f"{before}{key}", value))
    return lines


def _axis(key: str, values: str, source: str) -> Axis:
    paths = tuple(_path(part, source) for part in re.split(r"\s+and\s+", key))
    try:
        return Axis(key, paths, listed(values), source)
    except InputError as error:
        raise InputError(f"{source}: {key}: {error.problem}", error.remedy) from error


def _path(text: str, source: str) -> Path:
    """``layouts['Mid-wall ribs'].rib_length`` → its steps; a layout's key may stand alone."""
    steps, at = [], 0
    for found in _STEP.finditer(text.strip()):
        if found.start() != at:
            break
        steps.append(next(group for group in found.groups() if group is not None).strip())
        at = found.end()
    if at != len(text.strip()) or not all(steps):
        raise InputError(f"{source}: {text!r:.60} is no quantity of a study file", _EXAMPLE)
    if steps[0] not in StudyTable.model_fields and steps[0] in LayoutTable.model_fields:
        steps.insert(0, "layouts")
    if steps[-1] in ("name", "title", "baseline") or steps[0] in ("sweep", "units"):
        raise InputError(f"{source}: {text!r:.60} cannot be varied", "vary a size, steel or load")
    return tuple(steps)


def with_value(
    data: Mapping[str, Any], paths: tuple[Path, ...], value: Value, source: str
) -> dict[str, Any]:
    """A copy of a study file's data with one value put in; raises InputError for no such place."""
    changed: dict[str, Any] = copy.deepcopy(dict(data))
    for path in paths:
        for table in _tables(changed, path, source):
            table[path[-1]] = value.written
    return changed


def _tables(data: dict[str, Any], path: Path, source: str) -> list[dict[str, Any]]:
    """The tables of the file in which the last step of ``path`` is to be set.

    A step into a list is followed by an entry's name; where none follows all layouts are meant, or
    the loads in which such a key is written.
    """
    tables, done = [data], ""
    steps = list(path[:-1])
    while steps:
        step = steps.pop(0)
        done = f"{done}.{step}" if done else step
        below = [table.setdefault(step, {}) for table in tables]
        if all(isinstance(one, list) for one in below):
            every = [entry for one in below for entry in one]
            if steps:
                tables = _named(every, done, steps.pop(0), source)
            else:
                tables = _with_key(every, done, path[-1], source)
        elif all(isinstance(one, dict) for one in below):
            tables = below
        else:
            raise InputError(
                f"{source}: {done} has no keys of its own in the file", f"vary {done} itself"
            )
    return tables


def _named(every: list[dict[str, Any]], done: str, name: str, source: str) -> list[dict[str, Any]]:
    found = [one for one in every if one.get("name") == name]
    if found:
        return found
    names = [str(one.get("name")) for one in every]
    near = difflib.get_close_matches(name, names, n=1)
    raise InputError(
        f"{source}: none of the {done} is called {name!r:.60}",
        f"did you mean {near[0]!r}?" if near else f"known: {', '.join(names)}",
    )


def _with_key(
    every: list[dict[str, Any]], done: str, key: str, source: str
) -> list[dict[str, Any]]:
    found = [one for one in every if done == "layouts" or key in one]
    if found:
        return found
    raise InputError(
        f"{source}: none of the {done} has {key!r:.60} written in the file",
        f"name the one you mean: {done}['{every[0].get('name')}'].{key}",
    )
