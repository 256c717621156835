"""What is wrong with a study file, in one plain line, from what the schema library found."""

import difflib
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel, ValidationError

from fea.errors import InputError
from studies import schema
from studies.clamping.table import ClampTable
from studies.pressing.table import PressTable
from studies.shop import table as shop
from studies.welding.table import WeldCheckTable

_BRANCHES = ("crush", "pad", "wrap", "OwnSteel", "str")
"""Names the schema library puts into a location that are not keys of the file."""

_LONGEST_SHOWN = 60

Location = tuple[int | str, ...]


@dataclass(frozen=True)
class Refusal:
    """What is wrong at one place of a study file; ``problem`` follows the key in a sentence."""

    location: Location
    problem: str
    remedy: str


def first_refusal(file_name: str, data: dict[str, Any], error: ValidationError) -> InputError:
    """The worst problem found in ``data``, and how many there are besides."""
    every = every_refusal(data, error)
    first = every[0]
    others = f" ({len(every) - 1} more after it)" if len(every) > 1 else ""
    return InputError(
        f"{file_name}: {_dotted(data, first.location)}{first.problem}{others}", first.remedy
    )


def every_refusal(data: dict[str, Any], error: ValidationError) -> list[Refusal]:
    """All problems found in ``data``, the worst first."""
    problems = error.errors(include_url=False)
    # An unknown key is often a misspelt one that is missing too: tell of the misspelling first.
    problems.sort(key=lambda one: one["type"] != "extra_forbidden")
    found = []
    for one in problems:
        location = tuple(
            step
            for depth, step in enumerate(one["loc"])
            # The third step into the shelf is a kind of stock, which shares its name with a key.
            if step not in _BRANCHES and not (depth == 2 and one["loc"][0] == "shelf")
        )
        found.append(Refusal(location, *_in_words(data, location, one)))
    return found


def _in_words(
    data: dict[str, Any], location: Location, found: Mapping[str, Any]
) -> tuple[str, str]:
    """The problem, to follow the key, and the remedy."""
    kind, context = found["type"], found.get("ctx", {})
    if kind == "value_error":
        problem, remedy = context["error"].args
        return f": {problem}", str(remedy)
    if kind == "extra_forbidden":
        known = _known_keys(data, location)
        near = difflib.get_close_matches(str(location[-1]), known, n=1, cutoff=0.5)
        return ": unknown key", f"did you mean {near[0]!r}?" if near else f"use {_either(known)}"
    if kind == "missing":
        return ": is missing", _added(str(location[-1]))
    shown = f" = {_written(data, location)!r:.{_LONGEST_SHOWN}}"
    if kind == "union_tag_invalid":
        written = _written(data, (*location, "kind"))
        of, kinds = _KINDS_OF[str(location[0])]
        return f".kind: {written!r:.{_LONGEST_SHOWN}} is no kind of {of}", f"write {kinds}"
    if kind == "union_tag_not_found":
        return ".kind: is missing", f"write kind = {_KINDS_OF[str(location[0])][1]}"
    if kind == "literal_error":
        return f"{shown}: is not one of the choices", f"write {context['expected']}"
    if kind == "string_type" and ("steel" in location or location[-1] == "rib_steel"):
        return f"{shown}: is no steel", 'write a grade such as "S355", or its yield and ultimate'
    if kind == "list_type" and location[-1] in ("layouts", "loads", "shelf"):
        return f": there must be a list of {location[-1]}", f"start each with [[{location[-1]}]]"
    words = _WORDS.get(kind)
    if words is None:
        return f"{shown}: cannot be used here", str(found["msg"]).lower()
    problem, remedy = words(context)
    return f"{shown}: {problem}", remedy


_KINDS_OF = {
    "loads": ("load", '"crush", "pad" or "wrap"'),
    "shelf": ("stock", '"tube", "plate" or "round bar"'),
}

_TWO_SIZES = ("needs two sizes in a list", 'write for example ["120 mm", "80 mm"]')
_TABLE = ("needs keys of its own", "write it as a table, as in the file from: gussetry new")
_LIST = ("needs a list", "write it as in the file from: gussetry new")
_NAME = ("is not a name of 1 to 60 characters", "write a short name in quotes")
_SWITCH = ("is neither yes nor no", "write true or false, without quotes")
_COUNT = ("is not a whole number", "write how many, without quotes, such as 2")
_NUMBER = ("is not a plain number", "write the figure alone, without quotes or a unit")

_WORDS: dict[str, Callable[[Mapping[str, Any]], tuple[str, str]]] = {
    "tuple_type": lambda _: _TWO_SIZES,
    "too_long": lambda c: (
        _TWO_SIZES
        if c.get("field_type") == "Tuple"
        else ("has too many entries", f"give at most {c['max_length']}")
    ),
    "too_short": lambda _: ("is empty", "give at least one"),
    "model_type": lambda _: _TABLE,
    "model_attributes_type": lambda _: _TABLE,
    "dict_type": lambda _: _TABLE,
    "list_type": lambda _: _LIST,
    "string_type": lambda _: _NAME,
    "string_too_short": lambda _: _NAME,
    "string_too_long": lambda _: _NAME,
    "greater_than_equal": lambda c: ("is too small", f"give at least {c['ge']:g}"),
    "bool_type": lambda _: _SWITCH,
    "float_type": lambda _: _NUMBER,
    "int_type": lambda _: _COUNT,
    "finite_number": lambda _: _NUMBER,
    "greater_than": lambda c: ("is too small", f"give more than {c['gt']:g}"),
    "less_than": lambda c: ("is too large", f"give less than {c['lt']:g}"),
    "less_than_equal": lambda c: ("is too large", f"give at most {c['le']:g}"),
}


_EXAMPLES = {
    "title": '"Trailer risers"',
    "name": '"My own name"',
    "rated_load": '"30 kN"',
    "demand": "10",
    "all": '"S355"',
    "yield": '"355 MPa"',
    "ultimate": '"490 MPa"',
    "size": '["120 mm", "80 mm"]',
    "start": '["60 mm", "0 mm"]',
    "wall": '"6 mm"',
    "height": '"44 mm"',
    "thickness": '"8 mm"',
    "diameter": '"16 mm"',
    "length": '"12 mm"',
    "direction": '"0 deg"',
    "pattern": '"mid-wall"',
    "toward": '"front"',
    "capacity": '"20 US ton"',
    "gauge_range": '"10000 psi"',
    "bolt": '"M16"',
    "grade": '"8.8"',
    "quantity": "2",
    "spring_width": '"60 mm"',
    "spring_height": '"45 mm"',
    "rod": '"12 mm"',
    "nut": '"10 mm"',
    "thread_past_nut": '"10 mm"',
}


def _added(key: str) -> str:
    if key in _EXAMPLES:
        return f"add it, for example {key} = {_EXAMPLES[key]}"
    heading = f"[[{key}]]" if key in ("layouts", "loads") else f"[{key}]"
    return f"add a part {heading}, as in the file from: gussetry new"


_AS_IN_TEMPLATE = "compare it and the line before with the file from: gussetry new"


def unreadable_line(file_name: str, text: str, error: Exception) -> InputError:
    """Which line cannot be read and what is most likely wrong with it.

    The TOML reader's own words speak of statements and characters; the line itself says more.
    """
    if isinstance(error, RecursionError):
        return InputError(
            f"{file_name}: has brackets within brackets without end", "close each with a bracket"
        )
    lines = text.replace("\r\n", "\n").split("\n")
    found = re.search(r"at line (\d+)", str(error))
    filled = [number for number, line in enumerate(lines, 1) if line.strip()]
    number = int(found[1]) if found else max(filled, default=1)
    line = lines[min(number, len(lines)) - 1].strip()
    problem, remedy = _wrong_with(line, str(error))
    return InputError(f"{file_name}: line {number}, {line:.50}: {problem}", remedy)


def _wrong_with(line: str, said: str) -> tuple[str, str]:
    key, equals, value = (part.strip() for part in line.partition("="))
    value = value.split("#")[0].strip()
    if re.search("overwrite|twice|mutate|already", said):
        return "is there twice", "keep one of the two"
    if "\\" in line:
        return "has a backslash", "write / instead"
    if value.count('"') % 2:
        return "a quote is missing or one too many", 'write it like "6 mm", inches as "1/4 in"'
    if value in ("True", "TRUE", "False", "FALSE"):
        return "true and false are written small", f"write {key:.40} = {value.lower()}"
    if not equals and not line.startswith("["):
        return "is not a key with its value", 'write key = "value", or start a note with #'
    if value and value[0] not in "\"'[{":
        return "the value needs quotes", f'write {key:.40} = "{value:.40}"'
    return "cannot be read", _AS_IN_TEMPLATE


def _either(names: list[str]) -> str:
    return ", ".join(names[:-1]) + f" or {names[-1]}" if len(names) > 1 else "".join(names)


def _written(data: dict[str, Any], location: Location) -> Any:
    """The value at a place in the file, as the user wrote it; None where there is none."""
    value: Any = data
    for step in location:
        try:
            value = value[step]
        except (KeyError, IndexError, TypeError):
            return None
    return value


def _dotted(data: dict[str, Any], location: Location) -> str:
    """``layouts['Mid-wall ribs'].pattern``: with an item's own name where it has one."""
    text = ""
    for index, step in enumerate(location):
        if isinstance(step, int):
            item = _written(data, location[: index + 1])
            name = item.get("name") if isinstance(item, dict) else None
            text += f"[{name!r:.40}]" if isinstance(name, str) else f"[{step + 1}]"
        else:
            text += f".{step!s:.40}" if text else f"{step!s:.40}"
    return (text or "the file").replace("\n", " ")


def _known_keys(data: dict[str, Any], location: Location) -> list[str]:
    """The keys allowed where an unknown one stands."""
    model: type[BaseModel] = schema.StudyTable
    for depth, step in enumerate(location[:-1]):
        if isinstance(step, int):
            continue
        if step in ("loads", "shelf"):
            kind = _written(data, (*location[: depth + 2], "kind"))
            model = _BY_KIND.get(kind, schema.WrapTable)
        else:
            model = _NESTED.get(step, schema.OwnSteel)
    return [field.alias or name for name, field in model.model_fields.items()]


_BY_KIND: dict[str, type[BaseModel]] = {
    "crush": schema.CrushTable,
    "pad": schema.PadTable,
    "tube": shop.TubeStock,
    "plate": shop.PlateStock,
    "round bar": shop.BarStock,
}

_NESTED: dict[str, type[BaseModel]] = {
    "units": schema.UnitsTable,
    "steel": schema.Steels,
    "tube": schema.TubeTable,
    "bottom_plate": schema.PlateTable,
    "top_plate": schema.PlateTable,
    "pin": schema.PinTable,
    "hole": schema.HoleTable,
    "clamp": ClampTable,
    "welds": schema.WeldTable,
    "press": PressTable,
    "weld_check": WeldCheckTable,
    "shop": shop.ShopTable,
    "axle": shop.AxleTable,
    "ubolt": shop.UboltTable,
    "layouts": schema.LayoutTable,
    "ribs": schema.FreeRib,
}
