"""Every published check that ``gussetry verify`` runs; the source stands in each."""

from importlib.resources import files

import pytest

from studies.published.catalogue import TOPICS, catalogue
from studies.published.check import PublishedCheck, found

CHECKS = catalogue()


@pytest.mark.parametrize("check", [pytest.param(check, id=check.case) for _, check in CHECKS])
def test_our_value_is_the_published_one(check: PublishedCheck) -> None:
    finding = found(check)
    assert finding.passed, f"{finding.ours:g} for {check.published:g} by {check.source}"


def test_every_topic_is_listed() -> None:
    """A file of checks that nobody runs would prove nothing."""
    sources = [item for item in files("studies.published").iterdir() if item.name.endswith(".py")]
    with_checks = {
        item.name.removesuffix(".py")
        for item in sources
        if "\nCHECKS" in item.read_text(encoding="utf-8")
    }
    assert with_checks == set(TOPICS)


def test_every_check_says_what_it_is_and_could_fail() -> None:
    cases = [check.case for _, check in CHECKS]
    assert len(set(cases)) == len(cases)
    for _, check in CHECKS:
        lowest, highest = check.allowed
        assert check.source
        assert -0.5 <= lowest <= 0.0 <= highest <= 0.5, check.case
        assert check.published, check.case
