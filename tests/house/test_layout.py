"""The house itself: what stands at the top, what the core imports, what the README promises."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
TOP = {
    "README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml", "bellywork", "viewer", "tests", "sample_boards", "docs",
}  # fmt: skip


def tracked() -> list[str]:
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True)
    return listed.stdout.split("\n")


def test_nothing_else_stands_at_the_top() -> None:
    top = {name.split("/")[0] for name in tracked() if name}
    assert {name for name in top if not name.startswith(".")} == TOP


def test_readme_opens_with_one_paragraph_that_states_the_job() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    title, paragraph, *_ = readme.split("\n\n")
    assert title == "# bellywork"
    for word in ("soundboard", "crown", "bearing", "bridge", "plane"):
        assert word in paragraph


def test_ci_calls_the_readmes_test_command() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    commands = [line.strip() for line in (ROOT / ".ci" / "run").read_text(encoding="utf-8").splitlines()]
    assert "python3 tests/check.py" in commands
    assert re.search(r"^python3 tests/check\.py$", readme, re.MULTILINE)


def test_the_core_loads_neither_vtk_nor_plotting_nor_what_a_command_does_not_need() -> None:
    program = (
        "import sys, bellywork.cli.main, bellywork.cli.bearing, bellywork.cli.plane, bellywork.cli.press;"
        "print(sorted({m.split('.')[0] for m in sys.modules}"
        " & {'vtk', 'vtkmodules', 'pyvista', 'matplotlib', 'trimesh', 'openpyxl', 'shapely'}))"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_the_public_face_gives_what_it_lists_and_loads_it_late() -> None:
    program = (
        "import sys, bellywork; late = sorted({m.split('.')[0] for m in sys.modules} & {'numpy', 'scipy'});"
        "print(late, [name for name in bellywork.__all__ if getattr(bellywork, name) is None])"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[] []"


def test_an_unknown_name_is_told_what_there_is() -> None:
    import bellywork

    with pytest.raises(AttributeError, match=r"^bellywork has no 'planning'; it has Change, Instrument,"):
        bellywork.planning  # noqa: B018
