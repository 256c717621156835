"""The chosen folder: the only place the page reads from and writes to."""

import hashlib
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from fea.errors import InputError
from studies.reader import data_of, toml_data
from studies.study import slug
from studies.template import study_template
from studies.toml_text import study_text
from studies.whole_files import write_whole

OUT = "out"
LARGEST_BYTES = 1_000_000

_NAME = re.compile(r"[^\W_][\w .()+-]{0,59}\.toml", re.IGNORECASE)
_SHOWN = frozenset(
    (".html", ".png", ".webp", ".svg", ".csv", ".json", ".md", ".pdf", ".dxf", ".step", ".vtu",
     ".txt", ".glb", ".zip")
)  # fmt: skip
EXAMPLES: dict[str, Literal["mm", "in"]] = {
    "trailer_risers.toml": "mm",
    "bench_block.toml": "in",
}
"""Studies that are there to look at before any file is, by the name they are saved under."""


@dataclass(frozen=True)
class Opened:
    """A study as it stands in the folder; ``mark`` changes with every change of the file."""

    name: str
    data: dict[str, Any]
    mark: str


class ChangedMeanwhileError(InputError):
    """The file is no longer the one that was opened."""


class StudyFolder:
    """Study files directly inside ``root``, and what runs leave in ``root``/out."""

    def __init__(self, root: Path) -> None:
        try:
            self.root = root.resolve(strict=True)
        except OSError as error:
            raise InputError(
                f"{root}: {(error.strerror or 'cannot be found').lower()}",
                "give a folder that is there",
            ) from error
        if not self.root.is_dir():
            raise InputError(f"{root}: is not a folder", "give the folder of your study files")
        self.inside(self.out, "")

    @property
    def out(self) -> Path:
        """Where results go."""
        return self.root / OUT

    def names(self) -> list[str]:
        """Study files there are, by name."""
        found = [
            path.name
            for path in self.root.iterdir()
            if _NAME.fullmatch(path.name) and path.is_file() and not path.is_symlink()
        ]
        return sorted(found, key=str.casefold)

    def opened(self, name: str) -> Opened:
        """Read a study file, or an example of that name; raises InputError as ``toml_data``."""
        path = self.path(name)
        if not path.exists() and name in EXAMPLES:
            return Opened(name, data_of(study_template(EXAMPLES[name]), name), "")
        data = toml_data(path)
        return Opened(name, data, _mark(path))

    def saved(self, name: str, data: dict[str, Any], mark: str) -> str:
        """Write a study file; return its new mark.

        ``mark`` is the one it was opened with, "" for a new file. Raises ChangedMeanwhileError when
        the file is another now, InputError for a name that will not do.
        """
        path = self.path(name)
        there = _mark(path) if path.exists() else ""
        if there != mark:
            raise ChangedMeanwhileError(
                f"{name} was changed meanwhile, in another window or by another program"
                if mark
                else f"{name} is there already",
                "open it again, or save this one under another name",
            )
        twins = [one for one in self.names() if one != name and slug(one[:-5]) == slug(name[:-5])]
        if twins and not there:
            raise InputError(
                f"{name} and {twins[0]} would share one folder of results", "choose another name"
            )
        before = ""
        if there:
            before = path.read_text(encoding="utf-8-sig")
        elif name in EXAMPLES:
            before = study_template(EXAMPLES[name])
        text = study_text(data, before)
        if len(text.encode()) > LARGEST_BYTES:
            raise InputError(f"{name} would be larger than a megabyte", "take entries out")
        write_whole(path, text.encode())
        return _mark(path)

    def path(self, name: str) -> Path:
        """Where a study file of this name lies; raises InputError for a name that will not do."""
        if not _NAME.fullmatch(name):
            raise InputError(
                f"{name!r:.70} will not do as the name of a study file",
                "use letters, digits, spaces and hyphens, and end it in .toml",
            )
        path = self.root / name
        if path.is_symlink():
            raise InputError(f"{name} is a link", "put the file itself into the folder")
        return path

    def results(self, name: str) -> Path:
        """Where the results of a study go; raises InputError if that leads out of the folder."""
        return self.inside(self.out / slug(Path(name).stem), name)

    def unlinked(self, name: str) -> None:
        """Raise InputError if anything a run of this study may write to is a link."""
        folder = self.results(name)
        for path in folder.rglob("*"):
            if path.is_symlink():
                self.inside(path, name)

    def result_file(self, below: str) -> Path | None:
        """A file of results by its path below ``out``; None for whatever is not one of them."""
        path = self.out / below
        try:
            real = path.resolve(strict=True)
        except (OSError, ValueError):
            return None
        shown = real.suffix.lower() in _SHOWN and real.is_file()
        hidden = any(step.startswith(".") for step in Path(below).parts)
        return real if shown and not hidden and real == path.absolute() else None

    def inside(self, path: Path, name: str) -> Path:
        """``path`` itself, if no link leads out of the folder on the way there."""
        if path.resolve() != path.absolute():
            raise InputError(
                f"{name or path.name}: its results lie behind a link", "remove the link"
            )
        return path


def _mark(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()[:16]
