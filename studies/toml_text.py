"""A study's data as the text of a study file, with the notes of an earlier text kept."""

import tomllib
from collections.abc import Mapping, MutableMapping
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError


def study_text(data: Mapping[str, Any], before: str = "") -> str:
    """``data`` as TOML; what ``before`` says the same stays as it is there, notes included.

    Reading the text gives ``data`` again, always: where the notes stand in the way of that, they
    are left out.
    """
    try:
        document = tomlkit.parse(before)
        _brought_to(document, data)
        text = tomlkit.dumps(document)
        if tomllib.loads(text) == data:
            return text
    except (TOMLKitError, ValueError, KeyError, TypeError):
        pass
    return tomlkit.dumps(data)


def _brought_to(table: MutableMapping[str, Any], wanted: Mapping[str, Any]) -> None:
    for key in [key for key in table if key not in wanted]:
        del table[key]
    for key, value in wanted.items():
        there = table.get(key)
        if isinstance(value, Mapping) and isinstance(there, MutableMapping):
            _brought_to(there, value)
        elif _tables(value) and _tables(there):
            _list_brought_to(there, value)
        elif key not in table or there != value:
            table[key] = value


def _list_brought_to(tables: Any, wanted: list[Mapping[str, Any]]) -> None:
    del tables[len(wanted) :]
    for there, value in zip(tables, wanted, strict=False):
        _brought_to(there, value)
    for value in wanted[len(tables) :]:
        tables.append(tomlkit.item(dict(value)))


def _tables(value: Any) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(v, Mapping) for v in value)
