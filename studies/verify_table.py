"""Published values beside ours, as text: for the screen, for files and for the report."""

import csv
import io
from dataclasses import dataclass
from pathlib import Path

from studies.verify import Outcome, Verification, kept_verification

HEADINGS = {
    "case": "What is computed",
    "source": "Source",
    "published": "Published",
    "ours": "Ours",
    "difference": "Difference",
    "allowed": "Allowed",
    "verdict": "Verdict",
}


@dataclass(frozen=True)
class CheckLine:
    """One row of the printed table, every cell as text."""

    topic: str
    case: str
    source: str
    published: str
    ours: str
    difference: str
    allowed: str
    verdict: str
    passed: bool


def check_lines(verification: Verification) -> list[CheckLine]:
    """The printed table, in the order in which the checks ran."""
    return [_line(outcome) for outcome in verification.outcomes]


def _line(outcome: Outcome) -> CheckLine:
    difference = outcome.difference
    return CheckLine(
        topic=outcome.topic,
        case=outcome.case,
        source=outcome.source,
        published=_value(outcome.published, outcome.unit),
        ours="–" if outcome.ours is None else _value(outcome.ours, outcome.unit),
        difference="–" if difference is None else _percent(difference),
        allowed=_range(outcome.allowed),
        verdict="passed" if outcome.passed else f"FAILED, {outcome.reason}",
        passed=outcome.passed,
    )


def _percent(difference: float) -> str:
    shown = f"{100.0 * difference:+.2f}"
    return f"{'0.00' if shown in ('+0.00', '-0.00') else shown} %"


def _value(value: float, unit: str) -> str:
    return f"{value:.5g} {unit}".strip()


def _range(allowed: tuple[float, float]) -> str:
    low, high = (100.0 * side for side in allowed)
    if low == -high:
        return f"±{high:.2g} %"
    return f"{low:+.2g} to {high:+.2g} %"


def summary(verification: Verification) -> str:
    """How many checks passed, when and with which version, in one sentence."""
    count, failed = len(verification.outcomes), len(verification.failures)
    passed = f"All {count}" if not failed else f"{count - failed} of {count}"
    return (
        f"{passed} published values reproduced, Gussetry {verification.version}, "
        f"{verification.when}."
    )


@dataclass(frozen=True)
class CheckSection:
    """What the report says of the verification last kept in a folder; no lines if there is none."""

    folder: str
    summary: str
    current: bool
    failed: bool
    lines: tuple[CheckLine, ...]


def check_section(folder: Path) -> CheckSection:
    """The report's appendix on the verification that ``folder`` holds."""
    kept = kept_verification(folder)
    if kept is None:
        return CheckSection(str(folder), "", False, False, ())
    lines = tuple(check_lines(kept))
    return CheckSection(str(folder), summary(kept), kept.is_current, bool(kept.failures), lines)


def csv_text(verification: Verification) -> str:
    """One row a check, numbers as numbers."""
    stream = io.StringIO()
    writer = csv.writer(stream)
    writer.writerow(
        [
            *("topic", "case", "source", "published", "ours", "unit"),
            *("ours / published - 1", "lowest allowed", "highest allowed"),
            *("passed", "reason", "seconds", "version", "when"),
        ]
    )
    for one in verification.outcomes:
        writer.writerow(
            [
                *(one.topic, one.case, one.source, one.published),
                *("" if one.ours is None else one.ours, one.unit),
                *("" if one.difference is None else one.difference, *one.allowed),
                *(one.passed, one.reason, f"{one.seconds:.2f}"),
                *(verification.version, verification.when),
            ]
        )
    return stream.getvalue()


def markdown_text(verification: Verification) -> str:
    """The printed table under its summary."""
    out = ["# Checked against published values", "", summary(verification), ""]
    out.append("| " + " | ".join(HEADINGS.values()) + " |")
    out.append("|" + "---|" * len(HEADINGS))
    for line in check_lines(verification):
        cells = [str(getattr(line, key)).replace("|", "\\|") for key in HEADINGS]
        out.append("| " + " | ".join(cells) + " |")
    return "\n".join(out) + "\n"
