"""Names and notes in CSV files that a spreadsheet opens."""

_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


def guarded(text: str) -> str:
    """Keep a spreadsheet from taking what somebody typed for a formula.

    >>> guarded("=1+1")
    "'=1+1"
    """
    return f"'{text}" if text.startswith(_FORMULA_STARTS) else text
