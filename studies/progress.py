"""How a run says what it is doing, a line at a time, and how such lines are read again."""

import re
from dataclasses import dataclass

_LINE = re.compile(r"^ *(\d+\.\d) s  (.*)$", re.MULTILINE)

FINISHED = ("done", "failed", "kept from before")
"""What is said of a layout last."""


@dataclass(frozen=True)
class Step:
    """At ``seconds`` after the start, ``what`` is being done with the layout ``name``."""

    seconds: float
    name: str
    what: str


def progress_line(step: Step) -> str:
    """For example ``  12.3 s  Mid-wall ribs: meshing``."""
    return f"{step.seconds:6.1f} s  {step.name}: {step.what}"


def read_progress(text: str, names: tuple[str, ...]) -> tuple[Step, ...]:
    """Every step told in ``text`` of the layouts ``names``; other lines are passed over."""
    found = []
    # A name may begin another, and may have a colon in it.
    longest_first = sorted(names, key=len, reverse=True)
    for line in _LINE.finditer(text):
        for name in longest_first:
            if line[2].startswith(f"{name}: "):
                found.append(Step(float(line[1]), name, line[2].removeprefix(f"{name}: ")))
                break
    return tuple(found)


def seconds_left(gone_s: float, computed: int, waiting: int) -> float | None:
    """What is left if layouts go on taking as long as those computed; None before the first."""
    return gone_s / computed * waiting if computed and waiting else None
