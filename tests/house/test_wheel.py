"""A wheel built from this tree works in a bare environment: no extras, nothing of the checkout."""

import json
import os
import subprocess
import sys
import venv
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
GRAND = ROOT / "sample_boards" / "seven_foot_grand"


@pytest.fixture(scope="module")
def bare(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Folder of programs of a new environment that holds the wheel and its core dependencies only."""
    home = tmp_path_factory.mktemp("bare")
    build = [sys.executable, "-m", "build", "--wheel", "--installer", "pip", "--outdir", str(home / "dist"), str(ROOT)]
    subprocess.run(build, check=True, capture_output=True)
    venv.create(home / "env", with_pip=True)
    programs = home / "env" / ("Scripts" if os.name == "nt" else "bin")
    (wheel,) = (home / "dist").glob("bellywork-*.whl")
    install = [programs / "python", "-m", "pip", "install", "--quiet", "--disable-pip-version-check", wheel]
    subprocess.run(install, check=True, capture_output=True)
    return programs


def ran(bare: Path, folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([bare / "bellywork", *words], cwd=folder, capture_output=True, text=True)


def test_no_extra_came_along(bare: Path) -> None:
    probe = "import importlib.util as u; print([m for m in ('pyvista', 'vtkmodules', 'matplotlib') if u.find_spec(m)])"
    assert subprocess.run([bare / "python", "-c", probe], capture_output=True, text=True).stdout.strip() == "[]"


def test_commands_run_on_the_sample_grand(bare: Path, tmp_path: Path) -> None:
    for command in ("check", "bearing", "plane"):
        done = ran(bare, tmp_path, command, str(GRAND))
        assert done.returncode in (0, 1), done.stderr
        assert "Traceback" not in done.stderr
    notes = json.loads(ran(bare, tmp_path, "plane", str(GRAND), "--json").stdout)["notes"]
    assert [note["note"] for note in notes] == list(range(1, 89))


def test_a_new_folder_can_be_started_and_checked(bare: Path, tmp_path: Path) -> None:
    for kind in ("grand", "upright", "strings"):
        assert ran(bare, tmp_path, "new", kind, "--kind", kind).returncode == 0
        assert ran(bare, tmp_path, "check", kind).returncode == 0


def test_the_viewer_says_what_to_install_where_its_extra_is_missing(bare: Path, tmp_path: Path) -> None:
    done = ran(bare, tmp_path, "view", str(GRAND), "--shot", "grand.png")
    assert done.returncode == 2
    assert "pip install 'bellywork[viewer]'" in done.stderr
    assert len(done.stderr.strip().splitlines()) == 1
    assert list(tmp_path.iterdir()) == []
