"""The release script, on small trees made for it: what stands in its way is said, and it tags what it built."""

import importlib.util
import subprocess
import sys
from pathlib import Path
from types import ModuleType

import pytest

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture
def release() -> ModuleType:
    spec = importlib.util.spec_from_file_location("release", ROOT / "tests" / "release.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture
def tree(tmp_path: Path) -> Path:
    """A repository of two files, committed, that says 1.2.0."""
    (tmp_path / "docs").mkdir()
    (tmp_path / "pyproject.toml").write_text('[project]\nname = "bellywork"\nversion = "1.2.0"\n', encoding="utf-8")
    (tmp_path / "docs" / "changes.md").write_text("# Changes\n\n## 1.2.0\n\n- All.\n", encoding="utf-8")
    git(tmp_path, "init", "--quiet")
    git(tmp_path, "add", ".")
    git(tmp_path, "commit", "--quiet", "--message", "all")
    return tmp_path


def git(folder: Path, *words: str) -> str:
    own = ["-c", "user.name=test", "-c", "user.email=test@example.org", "-c", "tag.gpgsign=false"]
    return subprocess.run(["git", *own, *words], cwd=folder, check=True, capture_output=True, text=True).stdout.strip()


def test_nothing_stands_in_the_way_of_a_clean_tree_of_that_version(release: ModuleType, tree: Path) -> None:
    assert release.refusals(tree, "1.2.0") == []


def test_each_thing_in_the_way_is_said(release: ModuleType, tree: Path) -> None:
    git(tree, "tag", "v1.3.0")
    (tree / "new.txt").write_text("", encoding="utf-8")
    assert [line.split(":")[0] for line in release.refusals(tree, "1.3.0")] == [
        "pyproject.toml says version 1.2.0, expected 1.3.0.",
        "docs/changes.md has no heading '## 1.3.0'",
        "The tree holds what is not committed",
        "The tag v1.3.0 stands already",
    ]


def test_it_checks_builds_and_tags_and_sends_nothing(
    release: ModuleType, tree: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The check command and the build, tried elsewhere, are stood in for by what notes that they were asked."""
    (tree / "tests").mkdir()
    (tree / "tests" / "check.py").write_text("open('checked', 'w').close()", encoding="utf-8")
    (tree / ".gitignore").write_text("checked\n", encoding="utf-8")
    git(tree, "add", ".")
    git(tree, "commit", "--quiet", "--message", "check")
    for name in ("GIT_AUTHOR_NAME", "GIT_COMMITTER_NAME"):
        monkeypatch.setenv(name, "test")
    for name in ("GIT_AUTHOR_EMAIL", "GIT_COMMITTER_EMAIL"):
        monkeypatch.setenv(name, "test@example.org")
    monkeypatch.chdir(tree)
    monkeypatch.setattr(release, "ROOT", tree)
    monkeypatch.setattr(release, "built", lambda root: [root / "bellywork-1.2.0.tar.gz"])
    assert release.main(["1.2.0"]) == 0
    assert (tree / "checked").exists()
    assert git(tree, "rev-parse", "v1.2.0^{commit}") == git(tree, "rev-parse", "HEAD")
    assert "Left to you: git push origin v1.2.0" in capsys.readouterr().out
    assert release.main(["1.2.0"]) == 1
    assert release.main([]) == 2


def test_the_script_runs_from_the_command_line() -> None:
    done = subprocess.run([sys.executable, ROOT / "tests" / "release.py"], capture_output=True, text=True)
    assert (done.returncode, done.stdout) == (2, "")
    assert "VERSION" in done.stderr
