"""Draw 16 × 16 pixels, to see whether drawing works; run as a process of its own.

    python -m studies.probe_child

VTK ends the whole process where OpenGL is missing. The window system is chosen through
VTK_DEFAULT_OPENGL_WINDOW. Only what this needs is imported, for somebody waits for the answer.
"""

import importlib
import signal
import sys
from typing import Any

_SIDE = 16


def main() -> int:
    """0 when what was drawn can be seen."""
    # A window system that hangs hears of nothing: Ctrl-C must end the process all the same.
    signal.signal(signal.SIGINT, signal.SIG_DFL)
    core: Any = importlib.import_module("vtkmodules.vtkRenderingCore")
    sources: Any = importlib.import_module("vtkmodules.vtkFiltersSources")
    importlib.import_module("vtkmodules.vtkRenderingOpenGL2")
    mapper, actor, renderer = core.vtkPolyDataMapper(), core.vtkActor(), core.vtkRenderer()
    sphere = sources.vtkSphereSource()
    mapper.SetInputConnection(sphere.GetOutputPort())
    actor.SetMapper(mapper)
    renderer.AddActor(actor)
    window, picture = core.vtkRenderWindow(), core.vtkWindowToImageFilter()
    window.OffScreenRenderingOn()
    window.SetSize(_SIDE, _SIDE)
    window.AddRenderer(renderer)
    window.Render()
    picture.SetInput(window)
    picture.Update()
    darkest, lightest = picture.GetOutput().GetPointData().GetScalars().GetRange()
    return 0 if lightest > darkest else 1


if __name__ == "__main__":
    sys.exit(main())
