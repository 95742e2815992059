"""Whether pictures can be made here: without its GL libraries VTK ends the process, so a child is asked first."""

from __future__ import annotations

import os
import subprocess
import sys
from functools import cache
from importlib.util import find_spec

from bellywork.errors import OutputError

WINDOW = "VTK_DEFAULT_OPENGL_WINDOW"
SOFTWARE = "vtkOSOpenGLRenderWindow"
KNOWN = (SOFTWARE, "vtkEGLRenderWindow", "vtkXOpenGLRenderWindow", "vtkWin32OpenGLRenderWindow", "vtkCocoaRenderWindow")
PROBE = (
    "import pyvista as pv;"
    "p = pv.Plotter(off_screen=True, window_size=(32, 32)); p.add_mesh(pv.Cube(), color='red');"
    "raise SystemExit(0 if p.screenshot(return_img=True).std() > 1 else 3)"
)
WAIT_S = 120


def begun() -> None:
    """Start asking in the background, so that `made_ready` need not wait long; does nothing without PyVista."""
    if find_spec("pyvista") is not None:
        _asked(_ways()[0])


def made_ready() -> None:
    """Choose a way to draw that works here; without a screen, one that needs none.

    Raises OutputError, saying in one sentence what to install, where PyVista or GL is missing.
    """
    if find_spec("pyvista") is None:
        raise OutputError("The viewer needs PyVista: pip install 'bellywork[viewer]'.")
    for way in _ways():
        if _works(way):
            if way:
                os.environ[WINDOW] = way
            return
    raise OutputError(
        "Nothing can be drawn here, GL is missing: install libosmesa6 (Debian: apt install libosmesa6), "
        "or libegl1 with libgl1-mesa-dri."
    )


def has_screen() -> bool:
    """True where a window can be opened."""
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY")) or sys.platform in ("win32", "darwin")


def _ways() -> tuple[str, ...]:
    """Render windows to ask VTK for, the likeliest first; "" is its own choice."""
    asked = os.environ.get(WINDOW)
    if asked in KNOWN:
        return (asked,)
    os.environ.pop(WINDOW, None)  # VTK would warn of it at each picture, and then choose for itself
    return ("", SOFTWARE) if has_screen() else (SOFTWARE, "")


@cache
def _asked(way: str) -> subprocess.Popen[bytes]:
    given = {**os.environ, WINDOW: way} if way else dict(os.environ)
    quiet = subprocess.DEVNULL
    return subprocess.Popen([sys.executable, "-c", PROBE], env=given, stdout=quiet, stderr=quiet)


@cache
def _works(way: str) -> bool:
    try:
        return _asked(way).wait(timeout=WAIT_S) == 0
    except subprocess.TimeoutExpired:
        _asked(way).kill()
        return False
