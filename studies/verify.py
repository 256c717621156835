"""Run the published checks on this machine, and keep what came of them."""

import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime
from importlib.metadata import version
from pathlib import Path

from pydantic import TypeAdapter, ValidationError

from studies.published.check import PublishedCheck, found
from studies.store import numerics, write_whole

KEPT_AS = "verification.json"


@dataclass(frozen=True)
class Outcome:
    """What came of one published check; without ``ours`` it broke, and ``reason`` says how."""

    topic: str
    case: str
    source: str
    published: float
    unit: str
    allowed: tuple[float, float]
    ours: float | None
    difference: float | None
    passed: bool
    reason: str
    seconds: float


@dataclass(frozen=True)
class Verification:
    """One run of the published checks: when, with which version, and on which numeric code."""

    version: str
    numerics: str
    when: str
    outcomes: tuple[Outcome, ...]

    @property
    def failures(self) -> tuple[Outcome, ...]:
        """The checks that did not pass."""
        return tuple(outcome for outcome in self.outcomes if not outcome.passed)

    @property
    def is_current(self) -> bool:
        """Whether the numeric code that ran then is the one that runs now."""
        return self.numerics == numerics()


_KEPT = TypeAdapter(Verification)


def verified(
    checks: Iterable[tuple[str, PublishedCheck]], heard: Callable[[Outcome], None]
) -> Verification:
    """Run ``checks`` (topic and check) one by one, telling ``heard`` of each as it is done."""
    outcomes = []
    for topic, check in checks:
        outcomes.append(_outcome(topic, check))
        heard(outcomes[-1])
    when = datetime.now().astimezone().isoformat(sep=" ", timespec="minutes")
    return Verification(version("gussetry"), numerics(), when, tuple(outcomes))


def _outcome(topic: str, check: PublishedCheck) -> Outcome:
    began = time.perf_counter()
    ours: float | None = None
    difference: float | None = None
    passed, reason = False, ""
    try:
        finding = found(check)
        ours, difference, passed = finding.ours, finding.difference, finding.passed
        reason = "" if passed else "outside what is allowed"
    except Exception as error:  # noqa: BLE001 - whatever broke a check, it has failed
        reason = f"broke: {type(error).__name__}: {error}"
    return Outcome(
        topic=topic,
        case=check.case,
        source=check.source,
        published=check.published,
        unit=check.unit,
        allowed=check.allowed,
        ours=ours,
        difference=difference,
        passed=passed,
        reason=" ".join(reason.split()),
        seconds=time.perf_counter() - began,
    )


def keep_verification(folder: Path, verification: Verification) -> None:
    """Write verification.json into ``folder``; raises OSError when that is not possible."""
    folder.mkdir(parents=True, exist_ok=True)
    write_whole(folder / KEPT_AS, _KEPT.dump_json(verification, indent=1))


def kept_verification(folder: Path) -> Verification | None:
    """The verification last kept in ``folder``, or None."""
    try:
        return _KEPT.validate_json((folder / KEPT_AS).read_bytes())
    except (OSError, ValidationError):
        return None
