"""Words for a terminal or a pipe that does not know every letter: plainer ones, never an error."""

import codecs
import io
import sys

_HANDLER = "gussetry-plain"
_PLAIN = {
    "±": "+/-", "–": "-", "—": "-", "−": "-", "•": "*", "·": ".", "×": "x", "≤": "<=", "≥": ">=",
    "²": "2", "³": "3", "°": " deg", "…": "...", "“": '"', "”": '"', "‘": "'", "’": "'",
    "✓": "v", "→": "->", "σ": "sigma", "µ": "u", "½": "1/2", "¼": "1/4", "¾": "3/4",
}  # fmt: skip


def write_plainly() -> None:
    """From now on what this process prints reaches its reader, whatever letters that one knows."""
    codecs.register_error(_HANDLER, _plainer)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors=_HANDLER)


def _plainer(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    unknown = error.object[error.start : error.end]
    return "".join(_PLAIN.get(letter, "?") for letter in unknown), error.end
