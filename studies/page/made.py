"""The files that runs have left of a study, grouped for the page."""

from dataclasses import dataclass
from pathlib import Path

from studies.made_from import noted_state, state_of

_PAPERS = ("papers.pdf", "papers.html", "press-test.pdf", "press-test.html")
_SHOWN = (".pdf", ".html", ".csv", ".md", ".json", ".png", ".step", ".dxf", ".zip", ".glb", ".svg")


@dataclass(frozen=True)
class MadeFile:
    """One file: ``path`` below the results' folder, ``stale`` if the study has changed since."""

    path: str
    name: str
    group: str
    picture: bool
    stale: bool


def made_files(folder: Path, out: Path, study: Path) -> list[MadeFile]:
    """What lies below a study's folder of results that people look at, papers first."""
    now = state_of(study)
    found = []
    for path in sorted(folder.rglob("*")) if folder.is_dir() else []:
        steps = path.relative_to(folder).parts
        if (
            steps[0] in ("store", "meshes", "fields")
            or path.suffix not in _SHOWN
            or path.is_symlink()
            or not path.is_file()
        ):
            continue
        found.append(
            MadeFile(
                path.relative_to(out).as_posix(),
                path.name,
                " / ".join(steps[:-1]) or "comparison",
                path.suffix == ".png",
                _noted_for(path, folder) not in (now, None),
            )
        )
    return sorted(found, key=lambda one: (one.group, one.name not in _PAPERS, one.name))


def _noted_for(path: Path, folder: Path) -> str | None:
    """The state of the study that was noted nearest to a file below ``folder``."""
    while (path := path.parent) != folder:
        if (noted := noted_state(folder, path)) is not None:
            return noted
    return noted_state(folder, folder)
