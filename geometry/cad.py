"""The only file that touches gmsh: opened here, closed here, whatever happens in between."""

import contextlib
import os
import sys
from collections.abc import Iterator
from typing import Any

from fea.errors import MeshError

SYSTEM_PACKAGES = "libglu1-mesa libgl1 libegl1 libxcursor1 libxft2 libxinerama1 libgomp1"


@contextlib.contextmanager
def gmsh_session(name: str) -> Iterator[Any]:
    """Open gmsh with an empty model and yield the module; close it on the way out.

    Raises MeshError when gmsh cannot be loaded (a system library is missing) and when anything
    inside the session fails in gmsh.
    """
    try:
        import gmsh
    except (ImportError, OSError) as error:
        raise MeshError(
            f"the mesher cannot be loaded ({error})", f"install {SYSTEM_PACKAGES}"
        ) from error
    gmsh.initialize(interruptible=False, readConfigFiles=False)
    try:
        for option, value in (
            ("General.Terminal", 0),
            ("General.NumThreads", 1),
            ("Mesh.RandomSeed", 1),
            ("Mesh.MeshSizeExtendFromBoundary", 0),
            ("Mesh.MeshSizeFromPoints", 0),
            ("Mesh.Algorithm", 6),
            ("Mesh.Algorithm3D", 1),
        ):
            gmsh.option.setNumber(option, value)
        gmsh.model.add(name)
        yield gmsh
    except MeshError:
        raise
    except Exception as error:
        # gmsh raises bare Exception, so nothing narrower can be caught.
        raise MeshError(
            f"the mesher gave up ({str(error).strip() or 'no reason given'})",
            "change a size slightly, or use fused joints instead of fillet welds",
        ) from error
    finally:
        gmsh.finalize()


@contextlib.contextmanager
def silenced() -> Iterator[None]:
    """Send to nowhere what the CAD kernel prints by itself when it writes a file."""
    sys.stdout.flush()
    kept = os.dup(1)
    try:
        with open(os.devnull, "wb") as nowhere:
            os.dup2(nowhere.fileno(), 1)
            yield
    finally:
        os.dup2(kept, 1)
        os.close(kept)
