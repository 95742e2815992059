"""Rings that do not stand upright in the panel."""

import shutil
from pathlib import Path

from bellywork.files.read import read_board

LOPSIDED = Path(__file__).resolve().parents[2] / "sample_boards" / "lopsided_board"


def test_the_angle_of_the_rings_turns_the_panels_wood(tmp_path: Path) -> None:
    folder = shutil.copytree(LOPSIDED, tmp_path / "board")
    text = (folder / "board.toml").read_text(encoding="utf-8")
    (folder / "board.toml").write_text(
        text.replace("grain_deg = 33.0\n", "grain_deg = 33.0\nring_angle_deg = 65\n"), encoding="utf-8"
    )
    quarter, found = (read_board(each).board.needed_body("a test").panel.wood for each in (LOPSIDED, folder))
    assert found == quarter.with_rings_at(65.0)
    assert found.E_R < 0.45 * quarter.E_R
