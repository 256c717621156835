"""3D pictures drawn by processes of their own, for VTK ends the whole process without OpenGL."""

import json
import math
import os
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
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
    with drawers(scratch, window, module) as pair:
        pair.begin(jobs, seconds)
        pair.wait()


@contextmanager
def drawers(scratch: Path, window: str, module: str) -> Iterator["Drawers"]:
    """Two processes running ``module``, that make ready to draw until they are given jobs."""
    files = tuple(scratch / f"jobs-{number}.json" for number in range(2))
    pair = Drawers(files, tuple(_started(window, module, path) for path in files))
    try:
        yield pair
    finally:
        for child in pair.children:
            child.kill()
            child.communicate()


@dataclass
class Drawers:
    """Processes that draw, each its share of the jobs, which it finds in a file of its own."""

    files: tuple[Path, ...]
    children: tuple[subprocess.Popen[str], ...]
    _over: float = math.inf

    def begin(self, jobs: list[dict[str, Any]], seconds: float | None = None) -> None:
        """Give all of them their jobs, to be done within ``seconds``."""
        self._over = time.monotonic() + (seconds or _DRAW_SECONDS)
        for number, (path, child) in enumerate(zip(self.files, self.children, strict=True)):
            path.write_text(json.dumps(jobs[number :: len(self.files)]), encoding="utf-8")
            assert child.stdin is not None
            # One that has died already is found when waited for.
            with suppress(OSError):
                child.stdin.write("begin\n")
                child.stdin.flush()

    def wait(self, *paths: Path) -> None:
        """Until all ``paths`` are there or, given none, every process has ended.

        Raises PictureError when one of them stops or takes too long.
        """
        while True:
            codes = [child.poll() for child in self.children]
            if paths and all(path.exists() for path in paths):
                return
            if any(codes) or time.monotonic() > self._over or None not in codes:
                break
            time.sleep(_LOOK_AGAIN_SECONDS)
        if codes != [0] * len(codes):
            code = max((code for code in codes if code is not None), key=abs, default=-1)
            raise PictureError(
                f"the 3D pictures were left out: drawing them stopped (code {code})",
                f"check that {OPENGL_PACKAGES} are installed and run again; "
                "all numbers are complete",
            )


def _started(window: str, module: str, jobs: Path) -> subprocess.Popen[str]:
    return subprocess.Popen(
        _child(module, str(jobs)),
        env=_environment(window),
        stdin=subprocess.PIPE,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        text=True,
    )


def _child(module: str, *arguments: str) -> list[str]:
    return [sys.executable, "-P", "-m", module, *arguments]


def _environment(window: str) -> dict[str, str]:
    # Two children share the cores: without this each would start a thread for every core.
    return {**os.environ, "VTK_DEFAULT_OPENGL_WINDOW": window, "LP_NUM_THREADS": "1"}
