"""3D pictures drawn by processes of their own, for VTK ends the whole process without OpenGL."""

import json
import os
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from fea.errors import PictureError

OPENGL_PACKAGES = "libgl1 libegl1 libxcursor1 libxft2 libxinerama1"

_PROBE_SECONDS = 60
_DRAW_SECONDS = 600
_LOOK_AGAIN_SECONDS = 0.02


def window_system() -> str | None:
    """The VTK window class that can draw here, or None when none can."""
    for name in ("vtkEGLRenderWindow", "vtkOSOpenGLRenderWindow"):
        try:
            probe = subprocess.run(
                _child("studies.probe_child"),
                env=_environment(name),
                capture_output=True,
                timeout=_PROBE_SECONDS,
                check=False,
            )
        except subprocess.TimeoutExpired:
            continue
        if probe.returncode == 0:
            return name
    return None


def no_opengl() -> PictureError:
    """What is said where ``window_system`` found nothing."""
    return PictureError(
        "the 3D pictures were left out: this machine has no OpenGL to draw with",
        f"install {OPENGL_PACKAGES} and run again",
    )


def draw_jobs(
    jobs: list[dict[str, Any]],
    scratch: Path,
    window: str,
    module: str,
    seconds: float | None = None,
) -> None:
    """Have ``module`` draw all jobs, split over two processes.

    Raises PictureError when one of them stops or is not done after ``seconds``.
    """
    with drawing(jobs, scratch, window, module, seconds) as drawn:
        drawn()


@contextmanager
def drawing(
    jobs: list[dict[str, Any]],
    scratch: Path,
    window: str,
    module: str,
    seconds: float | None = None,
) -> Iterator[Callable[..., None]]:
    """As ``draw_jobs``, begun; what is yielded waits, and raises PictureError.

    Given paths it waits until all of them are there, given none until every process has ended.
    """
    children = []
    for number, half in enumerate((jobs[0::2], jobs[1::2])):
        path = scratch / f"jobs-{number}.json"
        path.write_text(json.dumps(half), encoding="utf-8")
        children.append(
            subprocess.Popen(
                _child(module, str(path)),
                env=_environment(window),
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
            )
        )

    over = time.monotonic() + (seconds or _DRAW_SECONDS)

    def drawn(*paths: Path) -> None:
        while True:
            codes = [child.poll() for child in children]
            if paths and all(path.exists() for path in paths):
                return
            if any(codes) or time.monotonic() > over or None not in codes:
                break
            time.sleep(_LOOK_AGAIN_SECONDS)
        if codes != [0] * len(codes):
            code = max((code for code in codes if code is not None), key=abs, default=-1)
            raise PictureError(
                f"the 3D pictures were left out: drawing them stopped (code {code})",
                f"check that {OPENGL_PACKAGES} are installed and run again; "
                "all numbers are complete",
            )

    try:
        yield drawn
    finally:
        for child in children:
            child.kill()
            child.wait()


def _child(module: str, *arguments: str) -> list[str]:
    return [sys.executable, "-P", "-m", module, *arguments]


def _environment(window: str) -> dict[str, str]:
    # Two children share the cores: without this each would start a thread for every core.
    return {**os.environ, "VTK_DEFAULT_OPENGL_WINDOW": window, "LP_NUM_THREADS": "1"}
