"""Crown report and owner's page on paper: what is printed is what was surveyed."""

import subprocess
from pathlib import Path

import pytest

from bellywork.cli.main import main

OLD = Path(__file__).resolve().parents[2] / "sample_boards" / "old_small_grand"


def test_both_are_written_and_say_what_was_found(tmp_path):
    assert main(["sheet", str(OLD), "--what", "crown,owner", "--format", "pdf,xlsx", "--to", str(tmp_path)]) == 0
    assert {path.name for path in tmp_path.iterdir()} == {"crown.pdf", "owner.pdf", "tables.xlsx"}
    try:
        words = {
            name: subprocess.run(
                ["pdftotext", "-layout", tmp_path / f"{name}.pdf", "-"], capture_output=True, text=True, check=True
            ).stdout
            for name in ("crown", "owner")
        }
    except FileNotFoundError:
        pytest.skip("no pdftotext here (poppler-utils); the project's own checks install it")
    for said in ("reversed", "read again", "Net bearing, strung", "expected"):
        assert said in words["crown"]
    for said in ("What could be done", "common practice", "without strings", "is lost for good"):
        assert said in " ".join(words["owner"].split())
