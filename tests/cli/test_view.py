"""`bellywork view` as a user meets it: pictures, a page, plots, and one sentence for what cannot be."""

from pathlib import Path

import pytest

from bellywork.cli.main import main

SAMPLES = Path(__file__).resolve().parents[2] / "sample_boards"
GRAND, LINE = str(SAMPLES / "seven_foot_grand"), str(SAMPLES / "string_line_inches")


@pytest.fixture(autouse=True)
def _no_screen(monkeypatch):
    monkeypatch.delenv("DISPLAY", raising=False)
    monkeypatch.delenv("WAYLAND_DISPLAY", raising=False)


def test_shot_and_page_are_written_and_named(tmp_path, capsys):
    from bellywork_viewer import gl

    from bellywork.errors import OutputError

    try:
        gl.made_ready()
    except OutputError as error:
        pytest.skip(str(error))
    shot, page = tmp_path / "v.png", tmp_path / "v.html"
    words = ["view", GRAND, "--shot", str(shot), "--page", str(page), "--size", "320x200", "--beside", "planed"]
    assert main(words) == 0
    said = capsys.readouterr().out.splitlines()
    assert said[0] == f"{shot}: Seven-foot grand, invented, strung."
    assert said[1].startswith(f"{page}: one page of ")
    assert shot.read_bytes().startswith(b"\x89PNG")
    assert page.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")


def test_plots_of_a_string_line_and_of_a_board(tmp_path, capsys):
    assert main(["view", LINE, "--plots", str(tmp_path / "a")]) == 0
    assert sorted(path.name for path in (tmp_path / "a").iterdir()) == ["bearing.png", "bridge.png", "downforce.png"]
    assert len(capsys.readouterr().out.splitlines()) == 3


def test_a_board_without_body_is_drawn_flat(tmp_path, capsys):
    assert main(["view", LINE, "--shot", str(tmp_path / "v.png")]) == 0
    assert "the string line alone, drawn flat" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ([LINE], "The board in three dimensions needs panel and outline, string_plan.csv and scale.csv; --shot "
                 "FILE.png draws its string line flat."),
        ([GRAND], "There is no screen here: give --shot FILE.png, --page FILE.html or --plots FOLDER."),
        ([GRAND, "--shot", "v.jpg"], "found the file 'v.jpg', expected a name that ends in .png. 'bellywork view "
                                     "--help' tells what it takes."),
        ([GRAND, "--size", "big"], "found 'big' as --size, expected width and height such as 1600x1000, each 200 to "
                                   "8192 pixels. 'bellywork view --help' tells what it takes."),
        ([GRAND, "--heights", "0"], "found 0 as --heights, expected 0.1 to 50. 'bellywork view --help' tells what it "
                                    "takes."),
    ],
)  # fmt: skip
def test_what_cannot_be_is_one_sentence(words, said, capsys):
    try:
        code = main(["view", *words])
    except SystemExit as end:
        code = end.code
    assert code == 2
    assert capsys.readouterr().err.strip().splitlines()[-1] == f"bellywork: {said}"


def test_an_unwritable_file_is_named(tmp_path, capsys):
    assert main(["view", LINE, "--shot", str(tmp_path / "missing" / "v.png")]) == 2
    assert "cannot be written" in capsys.readouterr().err


def test_another_board_beside_that_is_not_there_is_named(tmp_path, capsys):
    assert main(["view", GRAND, "--shot", str(tmp_path / "v.png"), "--beside", str(tmp_path / "none")]) == 2
    assert "none" in capsys.readouterr().err
