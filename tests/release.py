"""Make a release of what stands committed: python3 tests/release.py VERSION

Checks that the tree is clean and says VERSION in pyproject.toml and docs/changes.md, runs the one check command, builds
sdist and wheel into build/release, runs the wheel in a bare environment, and tags the commit. Nothing is sent anywhere:
pushing the tag and publishing the files is left to people.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import tomllib
import venv
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
ALONE = {name: value for name, value in os.environ.items() if name != "PYTHONPATH"}  # which may name a checkout


def _git(root: Path, *words: str) -> str:
    return subprocess.run(["git", *words], cwd=root, check=True, capture_output=True, text=True).stdout.strip()


def refusals(root: Path, version: str) -> list[str]:
    """What stands in the way of a release, in sentences; nothing where it may be made."""
    said = tomllib.loads((root / "pyproject.toml").read_text(encoding="utf-8"))["project"]["version"]
    changes = (root / "docs" / "changes.md").read_text(encoding="utf-8").splitlines()
    found = []
    if said != version:
        found.append(f"pyproject.toml says version {said}, expected {version}.")
    if f"## {version}" not in changes:
        found.append(f"docs/changes.md has no heading '## {version}': what is not yet released goes under it.")
    if _git(root, "status", "--porcelain"):
        found.append("The tree holds what is not committed: commit it, or put it aside.")
    if _git(root, "tag", "--list", f"v{version}"):
        found.append(f"The tag v{version} stands already: choose the next version.")
    return found


def built(root: Path) -> list[Path]:
    """Sdist and wheel of the tree, the wheel tried in an environment that holds nothing else."""
    folder = root / "build" / "release"
    python = root / ".venv" / ("Scripts" if os.name == "nt" else "bin") / "python"
    words = [python, "-m", "build", "--installer", "pip", "--outdir", folder, root]
    subprocess.run(words, check=True, stdout=subprocess.DEVNULL)
    files = sorted(folder.iterdir(), key=lambda path: path.stat().st_mtime)[-2:]
    (wheel,) = (path for path in files if path.suffix == ".whl")
    with tempfile.TemporaryDirectory() as home:
        venv.create(home, with_pip=True)
        programs = Path(home) / ("Scripts" if os.name == "nt" else "bin")
        subprocess.run([programs / "python", "-m", "pip", "install", "--quiet", wheel], check=True, env=ALONE)
        subprocess.run([programs / "bellywork", "--version"], check=True, cwd=home, env=ALONE)
    return files


def main(words: list[str]) -> int:
    """Make the release; the exit code is 1 where something stands in its way."""
    if len(words) != 1:
        print("usage: python3 tests/release.py VERSION", file=sys.stderr)
        return 2
    (version,) = words
    found = refusals(ROOT, version)
    if found:
        print("\n".join(found), file=sys.stderr)
        return 1
    subprocess.run([sys.executable, ROOT / "tests" / "check.py"], check=True)
    files = built(ROOT)
    _git(ROOT, "tag", "--annotate", f"v{version}", "--message", f"bellywork {version}")
    print(f"Tagged v{version}. Left to you: git push origin v{version}, and publishing")
    print("\n".join(f"  {path}" for path in files))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
