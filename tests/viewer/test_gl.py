"""The probe: a missing GL or PyVista ends in one sentence, never in a crash."""

import subprocess
import sys

import pytest
from bellywork_viewer import gl

from bellywork.errors import OutputError


def test_a_window_kind_that_crashes_is_told_in_one_sentence(monkeypatch):
    monkeypatch.setenv(gl.WINDOW, gl.SOFTWARE)
    monkeypatch.setattr(gl, "PROBE", "import os; os.kill(os.getpid(), 11)")
    gl._asked.cache_clear()
    gl._works.cache_clear()
    try:
        with pytest.raises(OutputError, match=r"^Nothing can be drawn here, GL is missing: install libosmesa6"):
            gl.made_ready()
    finally:
        gl._asked.cache_clear()
        gl._works.cache_clear()


def test_without_pyvista_it_says_what_to_install(monkeypatch):
    monkeypatch.setattr(gl, "find_spec", lambda name: None)
    gl.begun()
    with pytest.raises(OutputError, match=r"^The viewer needs PyVista: pip install 'bellywork\[viewer\]'\.$"):
        gl.made_ready()


def test_the_scene_needs_neither_vtk_nor_matplotlib():
    program = (
        "import sys, bellywork_viewer.scene, bellywork_viewer.page;"
        "print(sorted({m.split('.')[0] for m in sys.modules} & {'vtkmodules', 'pyvista', 'matplotlib'}))"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_a_kind_of_window_that_vtk_does_not_know_is_not_asked_for(monkeypatch):
    monkeypatch.setenv(gl.WINDOW, "vtkNoSuchRenderWindow")
    assert set(gl._ways()) == {"", gl.SOFTWARE}
    assert gl.WINDOW not in gl.os.environ
    monkeypatch.setenv(gl.WINDOW, "vtkEGLRenderWindow")
    assert gl._ways() == ("vtkEGLRenderWindow",)
