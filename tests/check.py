"""The one check command: python3 tests/check.py [--quick] [words for pytest]

Sets itself up in .venv (python3 with venv is all it needs), then runs lint, formatting, spelling, types, import
contracts, tests, doctests and a dry run of the benchmarks, and stops at the first that fails. --quick leaves out what
takes long.
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
PYTHON = BIN / ("python.exe" if os.name == "nt" else "python")
STAMP = HOME / "checked-with"
LEAST = (3, 11)
# The rooms whose tests are quick, chosen by measured time; single slow tests in them are marked slow
ROOMS = ("board", "docs", "files", "fuzz", "geometry", "house", "mechanics")
QUICK = ("bellywork", *(f"tests/{room}" for room in ROOMS))


def ready() -> None:
    """Make the environment, or bring the one that stands there up to date with pyproject.toml."""
    if sys.version_info < LEAST:
        sys.exit(f"bellywork needs Python {LEAST[0]}.{LEAST[1]} or newer; this is {sys.version.split()[0]}.")
    wanted = (ROOT / "pyproject.toml").read_text(encoding="utf-8")
    if STAMP.exists() and STAMP.read_text(encoding="utf-8") == wanted and _tests_this_tree():
        return
    print("Setting up .venv (a few minutes the first time) …", flush=True)
    if not _runs("import pip"):
        # links, as `python3 -m venv` makes them: a copy over a link that stands there would be onto itself
        venv.create(HOME, with_pip=True, symlinks=os.name != "nt")
    # not compiled: Python does that at the first import, and most files are never imported
    words = ["install", "--quiet", "--no-compile", "--editable", ".[test]"]
    subprocess.run([PYTHON, "-m", "pip", *words], cwd=ROOT, check=True)
    STAMP.write_text(wanted, encoding="utf-8")


def _tests_this_tree() -> bool:
    """Whether the environment imports this tree; after `pip install .` it holds a copy that no later edit reaches."""
    return _runs(f"import bellywork, sys; sys.exit({str(ROOT / 'bellywork')!r} not in bellywork.__path__)")


def _runs(program: str) -> bool:
    """Whether a program runs to its end in the environment."""
    words = [PYTHON, "-c", program]
    return PYTHON.exists() and subprocess.run(words, cwd=HOME, stderr=subprocess.DEVNULL).returncode == 0


def main(words: list[str]) -> int:
    """Run every check; the exit code is that of the first that failed."""
    ready()
    quick = "--quick" in words
    words = [word for word in words if word != "--quick"]
    # neighbours in one process, so that what the tests of a file or room share is made once; the last ones go where a
    # process is free
    workers = [] if words else ["--numprocesses", str(min(os.cpu_count() or 1, 4)), "--dist", "worksteal"]
    for command in (
        ["ruff", "check", "."],
        ["ruff", "format", "--check", "."],
        ["codespell"],
        ["mypy"],
        ["lint-imports"],
        ["pytest", *workers, *(["-m", "not slow", *QUICK] if quick else []), *words],
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
