"""The README's commands on a clean copy, in its order and once more: each must stand after the others."""

import os
import re
import shutil
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


def commands() -> list[str]:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    return [block.strip() for block in re.findall(r"^```sh\n(.*?)^```", text, re.MULTILINE | re.DOTALL)]


def test_the_readme_has_two_commands_a_schedule_and_the_checks() -> None:
    schedule, checks = commands()
    assert schedule.endswith("bellywork plane sample_boards/seven_foot_grand")
    assert checks == "python3 tests/check.py"


@pytest.mark.slow
@pytest.mark.skipif(os.name == "nt", reason="the commands are written for a POSIX shell")
def test_the_readmes_commands_run_one_after_the_other(tmp_path: Path) -> None:
    """The checks are started whole, but of the tests only the names are asked for: this test is one of them."""
    here = tmp_path / "bellywork"
    listed = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=True).stdout
    for name in filter(None, listed.split("\0")):
        (here / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(ROOT / name, here / name)
    if (ROOT / ".mypy_cache").exists():  # it goes by the files' content, and the libraries' types are most of it
        shutil.copytree(ROOT / ".mypy_cache", here / ".mypy_cache")
    subprocess.run(["git", "init", "--quiet"], cwd=here, check=True)  # so that .gitignore holds, as in a clone
    schedule, checks = commands()
    checks += " --collect-only -q tests/house"
    # in one shell, as they would be typed: the first leaves its environment active
    script = "\n".join(["set -e", schedule, checks, schedule, checks])
    environment = {name: value for name, value in os.environ.items() if name not in ("PYTHONPATH", "VIRTUAL_ENV")}
    environment["PIP_COMPILE"] = "0"  # Python compiles what it imports; the rest is a quarter of an installation's time
    done = subprocess.run(["bash", "-c", script], cwd=here, env=environment, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout[-4000:] + done.stderr[-4000:]
    assert done.stdout.count("All checks passed.") == 2
    assert len(re.findall(r"^Seven-foot grand", done.stdout, re.MULTILINE)) == 2
    assert "Traceback" not in done.stderr
