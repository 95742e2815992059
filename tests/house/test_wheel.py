"""A wheel built from this tree works in a bare environment: no extras, nothing of the checkout."""

import json
import os
import subprocess
import sys
import time
import venv
from pathlib import Path

import pytest

from bellywork.cli.common import EXTRAS

pytestmark = pytest.mark.slow
ROOT = Path(__file__).resolve().parents[2]
ALONE = {name: value for name, value in os.environ.items() if name != "PYTHONPATH"}  # which may name a checkout
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
    words = ["--quiet", "--no-compile", "--disable-pip-version-check", str(wheel)]
    install = [programs / "python", "-m", "pip", "install", *words]
    subprocess.run(install, check=True, capture_output=True, env=ALONE)
    return programs


def ran(bare: Path, folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([bare / "bellywork", *words], cwd=folder, env=ALONE, capture_output=True, text=True)


def test_no_extra_came_along(bare: Path) -> None:
    modules = [module for extra in EXTRAS.values() for module in extra]
    probe = f"import importlib.util as u; print([m for m in {modules} if u.find_spec(m)])"
    done = subprocess.run([bare / "python", "-c", probe], env=ALONE, capture_output=True, text=True)
    assert done.stdout.strip() == "[]"


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
        done = ran(bare, tmp_path, "check", kind)
        assert (done.returncode, done.stderr) == (1, ""), "the example's rows are something to look at"
        assert "0 to mend, 1 to look at." in done.stdout


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("view", "--shot", "grand.png"), "This needs matplotlib and pyvista: pip install 'bellywork[viewer]'."),
        (("season", "--plot", "y.png"), "This needs matplotlib and pyvista: pip install 'bellywork[viewer]'."),
        (("sheet", "--what", "ribs", "--to", "."), "This needs reportlab and ezdxf: pip install 'bellywork[sheets]'."),
        (("crown", "--scan", str(GRAND / "board.toml")), "This needs trimesh: pip install 'bellywork[solids]'."),
    ],
)
def test_what_a_command_lacks_is_said_before_it_computes(
    bare: Path, tmp_path: Path, words: tuple[str, ...], sentence: str
) -> None:
    start = time.perf_counter()
    done = ran(bare, tmp_path, words[0], str(GRAND), *words[1:])
    assert (done.returncode, done.stdout, done.stderr) == (2, "", f"bellywork: {sentence}\n")
    assert time.perf_counter() - start < 5.0  # a season alone takes longer
    assert list(tmp_path.iterdir()) == []


def test_tables_can_be_written_as_a_workbook_without_any_extra(bare: Path, tmp_path: Path) -> None:
    words = ("sheet", str(GRAND), "--what", "ribs", "--format", "xlsx", "--to", ".")
    assert ran(bare, tmp_path, *words).returncode == 0
    assert (tmp_path / "tables.xlsx").stat().st_size > 1000
