"""Lists and ranges as a user writes them, such as ``8, 10, 12 mm`` or ``6 to 14 by 2 mm``."""

import re
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from fea.errors import InputError

_NUMBER = r"[+-]?(?:\d+[ -]\d+/\d+|\d+/\d+|(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,2})?)"
_UNIT = r"[^\d\s,.+-][^,]*?"
_ONE = re.compile(rf"({_NUMBER})\s*({_UNIT})?", re.ASCII)
_TWO = re.compile(rf"({_NUMBER})\s*({_UNIT})??\s*[x×]\s*({_NUMBER})\s*({_UNIT})?")
_RANGE = re.compile(
    rf"({_NUMBER})\s*({_UNIT})?\s+to\s+({_NUMBER})\s*({_UNIT})?\s+by\s+({_NUMBER})\s*({_UNIT})?",
    re.ASCII | re.IGNORECASE,
)
_SWITCHES = {"true": True, "false": False}
_EXAMPLE = 'write for example "8, 10, 12 mm" or "6 to 14 by 2 mm"'

MOST_VALUES = 1000
"""More steps than this in one range are a slip of the pen."""

_LONGEST_TEXT = 400

Written = str | int | float | bool | list[str]


@dataclass(frozen=True)
class Value:
    """One value of a varied quantity: as shown, and as the study file would hold it."""

    text: str
    written: Written


@dataclass(frozen=True)
class _Item:
    """A piece of the list, its numbers as text; ``unit`` is empty where none is written."""

    numbers: tuple[str, ...]
    unit: str
    word: str = ""


def listed(text: str) -> tuple[Value, ...]:
    """The values of a list, ranges in it counted out without rounding.

    A unit at the end holds for the numbers before it that have none.

    >>> [value.text for value in listed("6 to 10 by 2, 14 mm")]
    ['6 mm', '8 mm', '10 mm', '14 mm']

    Raises InputError when there is no value, a range never ends, or a value is there twice.
    """
    if len(text) > _LONGEST_TEXT:
        raise InputError(f"{text[:20]!r}… is too long for a list", _EXAMPLE)
    items = [item for piece in text.split(",") for item in _items(piece.strip(), text)]
    values: list[Value] = []
    unit = ""
    for item in reversed(items):
        unit = item.unit or unit
        values.append(_value(item, unit))
    values.reverse()
    texts = [value.text for value in values]
    for one in texts:
        if texts.count(one) > 1:
            raise InputError(f"{one!r} is there twice in {text!r:.60}", "give each value once")
    return tuple(values)


def _items(piece: str, text: str) -> list[_Item]:
    if not piece:
        raise InputError(f"{text!r:.60} has a value missing", _EXAMPLE)
    counted = _RANGE.fullmatch(piece)
    if counted:
        return _counted(piece, *counted.groups())
    pair = _TWO.fullmatch(piece)
    if pair:
        first, first_unit, second, second_unit = pair.groups()
        if first_unit and first_unit.strip() != second_unit:
            raise InputError(f"{piece!r:.60} mixes units", "write both sizes in one unit")
        return [_Item((first, second), second_unit or "")]
    if re.search(r"\bto\b|\bby\b|\.\.", piece) and re.match(r"[+-]?[\d.]", piece):
        raise InputError(f"{piece!r:.60} is no range", _EXAMPLE)
    one = _ONE.fullmatch(piece)
    if one:
        return [_Item((one[1],), one[2] or "")]
    return [_Item((), "", piece)]


def _counted(piece: str, *parts: str | None) -> list[_Item]:
    first, first_unit, last, last_unit, step, step_unit = parts
    units = {unit.strip() for unit in (first_unit, last_unit, step_unit) if unit}
    if len(units) > 1:
        raise InputError(f"{piece!r:.60} mixes units", "write the whole range in one unit")
    start, end, stride = (_exact(number or "", piece) for number in (first, last, step))
    if stride <= 0:
        raise InputError(f"{piece!r:.60} never gets there", "give a step of more than nothing")
    count = int(abs(end - start) / stride) + 1
    if count > MOST_VALUES:
        raise InputError(f"{piece!r:.60} has {count} values", "take longer steps")
    if end < start:
        stride = -stride
    in_parts = any("/" in (number or "") for number in (first, last, step))
    unit = next(iter(units), "")
    return [_Item((_shown(start + index * stride, in_parts),), unit) for index in range(count)]


def _exact(number: str, text: str) -> Fraction:
    sign = -1 if number.startswith("-") else 1
    size = number.lstrip("+-")
    try:
        pieces = size.replace("-", " ").split() if "/" in size else [size]
        return sign * sum((Fraction(piece) for piece in pieces), Fraction(0))
    except ZeroDivisionError:
        raise InputError(f"{text!r:.60} divides by zero", _EXAMPLE) from None


def _shown(number: Fraction, in_parts: bool) -> str:
    """``1-1/4`` where fractions were written, else the exact decimal."""
    if in_parts:
        whole, rest = divmod(abs(number), 1)
        sign = "-" if number < 0 else ""
        if not rest:
            return f"{sign}{whole}"
        return f"{sign}{whole}-{rest}" if whole else f"{sign}{rest}"
    return f"{(Decimal(number.numerator) / Decimal(number.denominator)).normalize():f}"


def _value(item: _Item, unit: str) -> Value:
    if item.word:
        return Value(item.word, _SWITCHES.get(item.word.lower(), item.word))
    if len(item.numbers) == 2:
        return Value(
            f"{item.numbers[0]} × {item.numbers[1]} {unit}".rstrip(),
            [f"{number} {unit}".rstrip() for number in item.numbers],
        )
    number = item.numbers[0]
    if unit:
        return Value(f"{number} {unit}", f"{number} {unit}")
    exact = _exact(number, number)
    return Value(number, int(exact) if exact.denominator == 1 else float(exact))
