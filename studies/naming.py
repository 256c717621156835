"""Rows under a layout's own name: names are not part of what determines the numbers."""

from dataclasses import replace

from geometry.block import Layout
from studies.results import LayoutFailure, LayoutResult


def result_for(row: LayoutResult, layout: Layout) -> LayoutResult:
    """A result under what ``layout`` is called in its study."""
    return replace(
        row,
        name=layout.name,
        baseline=layout.baseline,
        pattern=layout.pattern,
        sentence=layout.sentence,
    )


def for_layout(row: LayoutResult | LayoutFailure, layout: Layout) -> LayoutResult | LayoutFailure:
    """A result or a failure under what ``layout`` is called in its study."""
    if isinstance(row, LayoutResult):
        return result_for(row, layout)
    return replace(row, name=layout.name, baseline=layout.baseline)
