"""Bolt threads and grades as published: sizes in mm, stress areas, proof strengths."""

import difflib
import math
import re
from dataclasses import dataclass
from typing import Literal

from fea.errors import InputError

System = Literal["metric", "inch"]

_INCH_MM = 25.4
_KSI_MPA = 6.894757293168361


@dataclass(frozen=True)
class Thread:
    """An outside thread by its name on a drawing: ``M16``, ``M16x1.5``, ``1/2-13``."""

    name: str
    diameter_mm: float
    pitch_mm: float
    system: System

    @property
    def stress_area_mm2(self) -> float:
        """Area that a stretched bolt is judged by.

        π/4 (d − 0.9382 P)² for metric threads (ISO 898-1) and π/4 (d − 0.9743 P)² for inch ones
        (ASME B1.1, SAE J429), whose rounding differs.
        """
        cut = 0.9382 if self.system == "metric" else 0.9743
        return math.pi / 4.0 * (self.diameter_mm - cut * self.pitch_mm) ** 2


@dataclass(frozen=True)
class BoltGrade:
    """A grade: proof and tensile strength up to each diameter.

    ``steps`` are (largest diameter in mm, proof in MPa, tensile in MPa). Proof is the stress a
    bolt must bear without staying longer; tensile is the least at which it may break.
    """

    name: str
    system: System
    steps: tuple[tuple[float, float, float], ...]

    def proof_mpa(self, thread: Thread) -> float:
        """Proof strength in this thread's size."""
        return self._step(thread)[1]

    def tensile_mpa(self, thread: Thread) -> float:
        """Least tensile strength in this thread's size."""
        return self._step(thread)[2]

    def _step(self, thread: Thread) -> tuple[float, float, float]:
        return next(step for step in self.steps if thread.diameter_mm <= step[0] + 1e-9)


def _metric(*sizes: tuple[float, float, tuple[float, ...]]) -> dict[str, Thread]:
    """Threads of (diameter, coarse pitch, fine pitches); the coarse pitch needs no mention."""
    made = {}
    for diameter, coarse, fine in sizes:
        made[f"M{diameter:g}"] = Thread(f"M{diameter:g}", diameter, coarse, "metric")
        for pitch in fine:
            name = f"M{diameter:g}x{pitch:g}"
            made[name] = Thread(name, diameter, pitch, "metric")
    return made


def _inch(*sizes: tuple[str, float, tuple[int, ...]]) -> dict[str, Thread]:
    """Threads of (name of the diameter, diameter in inches, threads to the inch)."""
    return {
        f"{name}-{n}": Thread(f"{name}-{n}", inches * _INCH_MM, _INCH_MM / n, "inch")
        for name, inches, counts in sizes
        for n in counts
    }


THREADS = {
    **_metric(
        (6.0, 1.0, ()),
        (8.0, 1.25, (1.0,)),
        (10.0, 1.5, (1.25, 1.0)),
        (12.0, 1.75, (1.5, 1.25)),
        (14.0, 2.0, (1.5,)),
        (16.0, 2.0, (1.5,)),
        (18.0, 2.5, (2.0, 1.5)),
        (20.0, 2.5, (2.0, 1.5)),
        (22.0, 2.5, (2.0, 1.5)),
        (24.0, 3.0, (2.0,)),
        (27.0, 3.0, (2.0,)),
        (30.0, 3.5, (2.0,)),
    ),
    **_inch(
        ("1/4", 0.25, (20, 28)),
        ("5/16", 0.3125, (18, 24)),
        ("3/8", 0.375, (16, 24)),
        ("7/16", 0.4375, (14, 20)),
        ("1/2", 0.5, (13, 20)),
        ("9/16", 0.5625, (12, 18)),
        ("5/8", 0.625, (11, 18)),
        ("3/4", 0.75, (10, 16)),
        ("7/8", 0.875, (9, 14)),
        ("1", 1.0, (8, 12, 14)),
        ("1-1/8", 1.125, (7, 12)),
        ("1-1/4", 1.25, (7, 12)),
    ),
}
"""Coarse and fine threads of ISO 261 and ASME B1.1 (from memory)."""


def _ksi(*steps: tuple[float, float, float]) -> tuple[tuple[float, float, float], ...]:
    return tuple(
        (inch * _INCH_MM, proof * _KSI_MPA, pull * _KSI_MPA) for inch, proof, pull in steps
    )


BOLT_GRADES = {
    grade.name: grade
    for grade in (
        BoltGrade("4.6", "metric", ((39.0, 225.0, 400.0),)),
        BoltGrade("4.8", "metric", ((39.0, 310.0, 420.0),)),
        BoltGrade("5.6", "metric", ((39.0, 280.0, 500.0),)),
        BoltGrade("5.8", "metric", ((39.0, 380.0, 520.0),)),
        BoltGrade("6.8", "metric", ((39.0, 440.0, 600.0),)),
        BoltGrade("8.8", "metric", ((16.0, 580.0, 800.0), (39.0, 600.0, 830.0))),
        BoltGrade("10.9", "metric", ((39.0, 830.0, 1040.0),)),
        BoltGrade("12.9", "metric", ((39.0, 970.0, 1220.0),)),
        BoltGrade("grade 2", "inch", _ksi((0.75, 55.0, 74.0), (1.5, 33.0, 60.0))),
        BoltGrade("grade 5", "inch", _ksi((1.0, 85.0, 120.0), (1.5, 74.0, 105.0))),
        BoltGrade("grade 8", "inch", _ksi((1.5, 120.0, 150.0))),
    )
}
"""ISO 898-1 table 3 and SAE J429 table 1.

Proof of 8.8, 10.9, grade 5 and grade 8 as quoted from the standards by others; the rest from
memory.
"""


def thread(name: str) -> Thread:
    """A thread by its name; raises InputError with the nearest names for an unknown one.

    >>> thread('1/2"-13 UNC').name
    '1/2-13'
    """
    joined = re.sub(r"(\d)\s+(\d+/)", r"\1-\2", name.lower().replace("×", "x"))
    plain = re.sub(r"[\"″”\s]|unc|unf|in\b", "", joined)
    # A coarse pitch may be written out: M16x2 is M16.
    for known in THREADS.values():
        if plain in (known.name.lower(), f"{known.name.lower()}x{known.pitch_mm:g}"):
            return known
    head = re.split("[x-]", plain)[0]
    same = [one for one in THREADS if re.split("[x-]", one.lower())[0] == head]
    near = same or _nearest(plain) or ["M16", "5/8-18"]
    raise InputError(f"{name!r:.30} is no bolt thread we know", f"write it as {' or '.join(near)}")


def _nearest(plain: str) -> list[str]:
    """The metric threads next in size to what was written, or those written most alike."""
    size = re.fullmatch(r"m(\d+(?:\.\d+)?).*", plain)
    if size is None:
        return difflib.get_close_matches(plain, THREADS, n=2)
    coarse = [one for name, one in THREADS.items() if one.system == "metric" and "x" not in name]
    coarse.sort(key=lambda one: abs(one.diameter_mm - float(size[1])))
    return [one.name for one in coarse[:2]]


def bolt_grade(name: str, size: Thread) -> BoltGrade:
    """A grade by its name, for a thread of the same system.

    Raises InputError for an unknown grade and for inch grades on metric threads or the reverse.
    """
    plain = re.sub(r"^(sae|iso|j429|class|grade|gr\.?|\s)+", "", name.strip().lower())
    fitting = [one for one in BOLT_GRADES.values() if one.system == size.system]
    for grade in fitting:
        if plain == grade.name.removeprefix("grade "):
            return grade
    known = ", ".join(f'"{one.name}"' for one in fitting)
    others = [one for one in BOLT_GRADES.values() if one not in fitting]
    if any(plain == one.name.removeprefix("grade ") for one in others):
        kind = "metric" if size.system == "metric" else "inch"
        raise InputError(f"{name!r:.30} is no grade of {kind} bolts", f"use one of: {known}")
    raise InputError(f"{name!r:.30} is no bolt grade we know", f"use one of: {known}")
