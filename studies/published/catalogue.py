"""All published checks, topic by topic."""

from importlib import import_module

from studies.published.check import PublishedCheck

TOPICS: dict[str, str] = {
    "elements": "The elements themselves",
    "elastic": "Elastic bodies",
    "buckling": "Thin plates and a column that buckle",
    "clamp": "Bolts and their torque",
    "seat": "Seats that press",
    "stock": "Tubes from the shelf",
    "slenderness": "How slender walls may be",
    "welds": "Welds",
    "plastic": "Steel that yields",
    "press": "Gauge readings and forces",
    "weights": "What the cut list weighs",
}
"""A new topic is a file in ``studies/published/`` that defines ``CHECKS``, and its row here."""


def catalogue() -> tuple[tuple[str, PublishedCheck], ...]:
    """Every check under its topic's title, in order."""
    return tuple(
        (title, check)
        for name, title in TOPICS.items()
        for check in import_module(f"studies.published.{name}").CHECKS
    )
