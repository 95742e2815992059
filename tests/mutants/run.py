"""Plant single mutants in a copy of the tree and say which the tests kill: python tests/mutants/run.py [WORDS]

WORDS pick mutants whose file or words hold one of them; without, all are planted. By hand, and by a weekly job: it
takes long. The exit code is 1 where fewer than 95 % are killed. A mutant that runs into the time limit counts as not
killed.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
TABLE = Path(__file__).with_name("mutants.toml")
LIMIT_S = 400
LEAST = 0.95


def mutants() -> list[dict]:
    """The table: what, file, old, new, tests."""
    return tomllib.loads(TABLE.read_text(encoding="utf-8"))["mutant"]


def copied(home: Path) -> Path:
    """A copy of every file that git knows or would take up."""
    names = subprocess.run(
        ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
        cwd=ROOT, capture_output=True, text=True, check=True,
    ).stdout.split("\0")  # fmt: skip
    tree = home / "tree"
    for name in filter(None, names):
        if (ROOT / name).is_file():
            (tree / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(ROOT / name, tree / name)
    return tree


def tested(tree: Path, tests: list[str]) -> tuple[str, str]:
    """What comes of a tree's tests, "passed", "failed" or "time", and pytest's last lines."""
    paths = os.pathsep.join([str(tree), str(tree / "viewer")])
    words = ["-x", "-q", "-n", "0", "-p", "no:cacheprovider", *tests]
    try:
        # no bytecode: a changed file of the same size within one second would be taken for the old one
        done = subprocess.run(
            [sys.executable, "-B", "-m", "pytest", *words], cwd=tree, capture_output=True, text=True, timeout=LIMIT_S,
            env={**os.environ, "PYTHONPATH": paths, "OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"},
        )  # fmt: skip
    except subprocess.TimeoutExpired:
        return "time", ""
    last = "\n".join(done.stdout.splitlines()[-8:])
    if done.returncode not in (0, 1, 2):
        sys.exit(f"pytest could not run {' '.join(tests)}:\n{last}\n{done.stderr}")
    return "failed" if done.returncode else "passed", last


def main(words: list[str]) -> int:
    """Plant each mutant in turn and count."""
    wanted = [each for each in mutants() if not words or any(w in each["file"] + each["what"] for w in words)]
    with tempfile.TemporaryDirectory() as home:
        tree = copied(Path(home))
        sound = sorted({test for each in wanted for test in each["tests"]})
        said, last = tested(tree, sound)
        if said == "failed":
            sys.exit(f"The tests fail without any mutant, so nothing can be said:\n{last}")
        killed = 0
        for number, each in enumerate(wanted, 1):
            path = tree / each["file"]
            text = path.read_text(encoding="utf-8")
            path.write_text(text.replace(each["old"], each["new"]), encoding="utf-8")
            said = {"failed": "killed", "passed": "SURVIVED", "time": "TIME"}[tested(tree, each["tests"])[0]]
            path.write_text(text, encoding="utf-8")
            killed += said == "killed"
            print(f"{number:3d}/{len(wanted)} {said:8s} {each['file']}: {each['what']}", flush=True)
    print(f"{killed} of {len(wanted)} killed, {100.0 * killed / max(len(wanted), 1):.0f} %")
    return 0 if killed >= LEAST * len(wanted) else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
