"""The form: every table and key of the study file's schema, with what may be written there.

Nothing here names a field of its own: what ``StudyTable`` gains, the form gains. Help is the note
beside the line in the commented study file, or else an entry of ``words.toml``.
"""

import types
from dataclasses import dataclass
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel, BeforeValidator
from pydantic.fields import FieldInfo

from fea.grades import GRADES
from geometry.bolts import BOLT_GRADES
from geometry.patterns import PATTERNS
from studies.page.words import help_of, label_of
from studies.pressing.gauge import ACCURACIES
from studies.schema import OwnSteel, StudyTable

Sort = Literal[
    "text", "number", "count", "switch", "choice", "pair", "texts", "steel",
    "table", "tables", "lines",
]  # fmt: skip
"""How a value is asked for; ``lines`` are keys of the user's own choice, as in ``[sweep]``."""

_PROPOSED: dict[str, tuple[str, ...]] = {
    "clamp.grade": tuple(BOLT_GRADES),
    "press.gauge_accuracy": tuple(ACCURACIES),
    "layouts.pattern": tuple(PATTERNS),
    "shelf.steel": tuple(GRADES),
}


@dataclass(frozen=True)
class Field:
    """One key of the study file; ``fields`` and ``variants`` are those of a table below it.

    ``choices`` are all that may be chosen, ``proposed`` what may be written among other things.
    ``variants`` maps each kind of a list's entries to its own fields.
    """

    key: str
    label: str
    help: str
    sort: Sort
    required: bool
    choices: tuple[Any, ...] = ()
    proposed: tuple[str, ...] = ()
    default: Any = None
    fields: tuple["Field", ...] = ()
    variants: dict[str, tuple["Field", ...]] | None = None


def study_form() -> tuple[Field, ...]:
    """Every key of the study file, in the schema's order."""
    return _fields(StudyTable, "")


def _fields(model: type[BaseModel], part: str) -> tuple[Field, ...]:
    return tuple(_field(name, info, part) for name, info in model.model_fields.items())


def _field(name: str, info: FieldInfo, part: str) -> Field:
    key = info.alias or name
    dotted = f"{part}.{key}".lstrip(".")
    kind: Any = info.annotation
    if info.metadata:
        kind = Annotated[(kind, *info.metadata)]
    sort, more = _sort_of(kind, dotted)
    return Field(
        key=key,
        label=label_of(dotted),
        help=help_of(dotted),
        sort=sort,
        required=info.is_required(),
        default=_shown(info),
        **more,
    )


def _shown(info: FieldInfo) -> Any:
    """A default worth showing: a choice or a switch."""
    return info.default if isinstance(info.default, str | bool) else None


def _sort_of(kind: Any, dotted: str) -> tuple[Sort, dict[str, Any]]:
    """How a value of this type is asked for, and the choices or fields that go with it."""
    bare, marks = _bare(kind)
    proposed = {"proposed": _PROPOSED.get(dotted, ())}
    if any(isinstance(mark, BeforeValidator) for mark in marks):
        return "text", proposed
    origin, inside = get_origin(bare), get_args(bare)
    if origin is Literal:
        return "choice", {"choices": inside}
    if origin is tuple:
        return "pair", {}
    if origin is list:
        return _list_of(inside[0], dotted)
    if origin in (Union, types.UnionType) and OwnSteel in [_bare(one)[0] for one in inside]:
        return "steel", {"proposed": tuple(GRADES), "fields": _fields(OwnSteel, "own_steel")}
    if isinstance(bare, type) and issubclass(bare, BaseModel):
        return "table", {"fields": _fields(bare, dotted)}
    plain: dict[Any, Sort] = {bool: "switch", int: "count", float: "number", str: "text"}
    if bare in plain:
        return plain[bare], proposed
    return "lines", {}


def _list_of(kind: Any, dotted: str) -> tuple[Sort, dict[str, Any]]:
    bare, marks = _bare(kind)
    if any(isinstance(mark, BeforeValidator) for mark in marks):
        return "texts", {}
    if isinstance(bare, type) and issubclass(bare, BaseModel):
        return "tables", {"fields": _fields(bare, dotted)}
    variants = {}
    for model in get_args(bare):
        fields = _fields(model, dotted)
        chosen = next(one for one in fields if one.key == "kind")
        variants[str(chosen.choices[0])] = tuple(one for one in fields if one is not chosen)
    return "tables", {"variants": variants}


def _bare(kind: Any) -> tuple[Any, tuple[Any, ...]]:
    """A type without "or nothing" and without its marks, and the marks."""
    marks: tuple[Any, ...] = ()
    while True:
        if get_origin(kind) is Annotated:
            kind, *more = get_args(kind)
            marks = (*marks, *more)
            continue
        inside = get_args(kind)
        if get_origin(kind) in (Union, types.UnionType) and type(None) in inside:
            others = [one for one in inside if one is not type(None)]
            kind = others[0] if len(others) == 1 else Union[tuple(others)]  # noqa: UP007
            continue
        return kind, marks
