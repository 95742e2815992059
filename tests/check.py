"""The one check command: python3 tests/check.py

Sets itself up in .venv (python3 with venv is all it needs), then runs lint, formatting, types, import contracts,
tests, doctests and a dry run of the benchmarks, and stops at the first that fails. Words after it go to pytest.
"""

from __future__ import annotations

import os
import subprocess
import sys
import venv
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
HOME = ROOT / ".venv"
BIN = HOME / ("Scripts" if os.name == "nt" else "bin")
LEAST = (3, 11)


def ready() -> None:
    """Make the environment, or bring it up to date with pyproject.toml."""
    if sys.version_info < LEAST:
        sys.exit(f"bellywork needs Python {LEAST[0]}.{LEAST[1]} or newer; this is {sys.version.split()[0]}.")
    stamp, wanted = HOME / "checked-with", (ROOT / "pyproject.toml").read_text(encoding="utf-8")
    if stamp.exists() and stamp.read_text(encoding="utf-8") == wanted:
        return
    print("Setting up .venv (a few minutes the first time) …", flush=True)
    venv.create(HOME, with_pip=True)
    subprocess.run([BIN / "python", "-m", "pip", "install", "--quiet", "--editable", ".[test]"], cwd=ROOT, check=True)
    stamp.write_text(wanted, encoding="utf-8")


def main(words: list[str]) -> int:
    """Run every check; the exit code is that of the first that failed."""
    ready()
    workers = [] if words else ["--numprocesses", str(min(os.cpu_count() or 1, 4))]
    for command in (
        ["ruff", "check", "."],
        ["ruff", "format", "--check", "."],
        ["mypy"],
        ["lint-imports"],
        ["pytest", *workers, *words],
    ):
        print(f"\n── {' '.join(command)}", flush=True)
        # one thread per process: the tests already keep every core busy
        environment = {**os.environ, "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}
        code = subprocess.run([BIN / command[0], *command[1:]], cwd=ROOT, env=environment).returncode
        if code:
            print(f"\n{command[0]} found something to mend (exit code {code}).")
            return code
    print("\nAll checks passed.")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
