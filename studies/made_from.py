"""Which state of a study file the results in a folder were made from.

Told by the file's content: the times of files say nothing where a clock was put right.
"""

import hashlib
from pathlib import Path

from studies.whole_files import write_whole

_NOTES = Path("store") / "made-from"


def state_of(study: Path) -> str:
    """A short text that changes with every change of a study file; empty where there is none."""
    try:
        return hashlib.sha256(study.read_bytes()).hexdigest()
    except OSError:
        return ""


def note_state(results: Path, folder: Path, state: str) -> None:
    """Keep which state of the study what lies in ``folder`` is of; raises OSError.

    ``results`` is the study's own folder, ``folder`` that or one below it.
    """
    note = _note(results, folder)
    note.parent.mkdir(parents=True, exist_ok=True)
    write_whole(note, f"{state}\n".encode())


def noted_state(results: Path, folder: Path) -> str | None:
    """What was noted for ``folder``; None when nothing was."""
    try:
        return _note(results, folder).read_text(encoding="ascii").strip()
    except (OSError, UnicodeDecodeError):
        return None


def _note(results: Path, folder: Path) -> Path:
    return results / _NOTES / "--".join(("study", *folder.relative_to(results).parts))
