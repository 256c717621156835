"""What steel and time cost, as a shop writes it: ``2.40 per kg``, ``12 min per m``."""

import re
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import BeforeValidator

from studies.units import size_of

_RATE = re.compile(r"(\d+\.?\d*|\.\d+)\s*(min|h)?\s*(?:per|/)\s*([a-z]+)", re.ASCII)
_KG_PER = {"kg": 1.0, "lb": 0.45359237}
_LENGTHS = ("m", "ft", "in", "mm")
_MIN_PER = {"min": 1.0, "h": 60.0}
_LARGEST = 1e6


@dataclass(frozen=True)
class Price:
    """What a shop pays for stock: money per kg or per mm of length; the other is None."""

    per_kg: float | None
    per_mm: float | None

    def cost(self, mass_kg: float, length_mm: float) -> float:
        """Money for one piece."""
        return (self.per_kg or 0.0) * mass_kg + (self.per_mm or 0.0) * length_mm


def _read(text: Any, example: str) -> tuple[float, str, str]:
    """Number, time unit ("" for money) and what it is per; raises ValueError."""
    found = _RATE.fullmatch(" ".join(text.split()).lower()) if isinstance(text, str) else None
    if found is None:
        raise ValueError(f"{text!r:.40} is not understood", f"write it like {example}")
    number = float(found[1])
    if number > _LARGEST:
        raise ValueError(f"{text!r:.40} is too large", f"write it like {example}")
    return number, found[2] or "", found[3]


def _price(text: Any, lengths: bool) -> Price:
    example = '"2.40 per kg"' + (' or "18 per m"' if lengths else "")
    number, time, per = _read(text, example)
    if not time and per in _KG_PER:
        return Price(number / _KG_PER[per], None)
    if not time and lengths and per in _LENGTHS:
        return Price(None, number / size_of(per, "length"))
    raise ValueError(f"{text!r:.40} is no price of steel", f"write it like {example}")


def _time_per_mm(text: Any) -> float:
    number, time, per = _read(text, '"12 min per m" or "4 min per ft"')
    if not time or per not in _LENGTHS:
        raise ValueError(f"{text!r:.40} is no time per length", 'write it like "12 min per m"')
    return number * _MIN_PER[time] / size_of(per, "length")


def _time_per_cut(text: Any) -> float:
    number, time, per = _read(text, '"4 min per cut"')
    if not time or per != "cut":
        raise ValueError(f"{text!r:.40} is no time per cut", 'write it like "4 min per cut"')
    return number * _MIN_PER[time]


def _money_per_min(text: Any) -> float:
    number, time, per = _read(text, '"48 per h"')
    if time or per not in (*_MIN_PER, "hour"):
        raise ValueError(f"{text!r:.40} is no hourly rate", 'write it like "48 per h"')
    return number / _MIN_PER.get(per, 60.0)


LengthPrice = Annotated[Price, BeforeValidator(lambda text: _price(text, lengths=True))]
MassPrice = Annotated[Price, BeforeValidator(lambda text: _price(text, lengths=False))]
MinutesPerMm = Annotated[float, BeforeValidator(_time_per_mm)]
MinutesPerCut = Annotated[float, BeforeValidator(_time_per_cut)]
MoneyPerMinute = Annotated[float, BeforeValidator(_money_per_min)]
