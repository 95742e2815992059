"""`bellywork sheet`: files whole or none, never over another's, the same bytes twice, tables as the JSON answers."""

import os
import shutil
import stat
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from schemas import valid

Run = Callable[..., Any]
SAMPLES = Path(__file__).resolve().parents[2] / "sample_boards"


def test_all_sheets_in_all_formats_the_same_bytes_twice(ran: Run, grand: Path, tmp_path: Path) -> None:
    words = ("sheet", grand, "--what", "bearing,bridge,ribs,plate", "--format", "pdf,dxf,xlsx", "--plate-first")
    done = ran(*words, "--to", tmp_path / "one", "--json")
    assert done.code == 0
    valid(done.json)
    names = [Path(each["file"]).name for each in done.json["written"]]
    assert names == [
        "bearing.pdf", "bridge.pdf", "ribs.pdf", "plate.pdf", "bridge.dxf", "ribs.dxf", "tables.xlsx",
    ]  # fmt: skip
    assert sorted(names) == sorted(path.name for path in (tmp_path / "one").iterdir())
    assert all(each["pages"] > 0 for each in done.json["written"] if each["format"] == "pdf")
    assert ran(*words, "--to", tmp_path / "two").code == 0
    for name in names:
        assert (tmp_path / "one" / name).read_bytes() == (tmp_path / "two" / name).read_bytes()


def test_earlier_sheets_get_a_number_or_are_replaced(ran: Run, grand: Path, tmp_path: Path) -> None:
    words = ("sheet", grand, "--what", "plate,ribs", "--to", tmp_path, "--format", "dxf,xlsx")
    ran(*words)
    first = (tmp_path / "tables.xlsx").read_bytes()
    again = ran(*words)
    assert "ribs-2.dxf" in again.out
    assert {path.name for path in tmp_path.iterdir()} == {"ribs.dxf", "tables.xlsx", "ribs-2.dxf", "tables-2.xlsx"}
    ran("sheet", grand, "--what", "plate", "--to", tmp_path, "--format", "xlsx", "--replace")
    assert (tmp_path / "tables.xlsx").read_bytes() != first
    assert len(list(tmp_path.iterdir())) == 4


def test_a_users_own_file_is_never_replaced_and_nothing_else_is_written(ran: Run, grand: Path, tmp_path: Path) -> None:
    own = tmp_path / "tables.xlsx"
    own.write_text("my own", encoding="utf-8")
    done = ran("sheet", grand, "--what", "ribs", "--to", tmp_path, "--format", "dxf,xlsx", "--replace")
    assert done.code == 2
    assert done.err == f"bellywork: {own} is there already and is no result of bellywork; give another name.\n"
    assert [path.name for path in tmp_path.iterdir()] == ["tables.xlsx"]
    assert own.read_text(encoding="utf-8") == "my own"


def test_a_full_disk_leaves_nothing(ran: Run, grand: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    flushed: list[int] = []

    def full(handle: int) -> None:
        flushed.append(handle)
        if len(flushed) == 2:
            raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    done = ran("sheet", grand, "--what", "ribs", "--to", tmp_path, "--format", "dxf,xlsx")
    assert done.code == 2
    assert "no space left on device" in done.err
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_cannot_be_is_said(ran: Run, grand: Path, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    for folder, reason in ((tmp_path / "file", "it is a file"), (tmp_path / "file" / "b", "not a directory")):
        done = ran("sheet", grand, "--what", "ribs", "--to", folder, "--format", "dxf")
        assert done.code == 2
        assert done.err == f"bellywork: {folder} cannot be used ({reason}); give a folder that you may write to.\n"


def test_a_name_that_the_sheets_letters_cannot_write_is_said(ran: Run, grand: Path, tmp_path: Path) -> None:
    """Right to left, and long: the sheets are made, and it is said what stands for the name on them."""
    board = shutil.copytree(grand, tmp_path / "board")
    toml = (board / "board.toml").read_text(encoding="utf-8")
    (board / "board.toml").write_text(toml.replace("Seven-foot grand, invented", "פסנתר כנף"), encoding="utf-8")
    done = ran("sheet", board, "--what", "ribs", "--to", tmp_path / "to", "--paper", "roll")
    assert done.code == 0
    assert "have no sign for some of the board's name" in " ".join(done.out.split())
    plain = ran("sheet", grand, "--what", "ribs", "--to", tmp_path / "to", "--paper", "roll")
    assert "have no sign" not in plain.out


def test_a_missing_folder_is_made_with_its_parents(ran: Run, grand: Path, tmp_path: Path) -> None:
    assert ran("sheet", grand, "--what", "ribs", "--to", tmp_path / "a" / "b", "--format", "dxf").code == 0
    assert [path.name for path in (tmp_path / "a" / "b").iterdir()] == ["ribs.dxf"]


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write anywhere")
def test_a_folder_without_leave_to_write_is_said(ran: Run, grand: Path, tmp_path: Path) -> None:
    tmp_path.chmod(stat.S_IRUSR | stat.S_IXUSR)
    done = ran("sheet", grand, "--what", "ribs", "--to", tmp_path, "--format", "dxf")
    tmp_path.chmod(stat.S_IRWXU)
    assert done.code == 2
    assert "give a folder that you may write to" in done.err


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (
            ("--what", "bearing,bidge"),
            "found 'bidge', expected some of bearing, bridge, ribs, plate, crown, owner, schemes, solids",
        ),
        (("--what", "ribs", "--format", "svg"), "found 'svg', expected some of pdf, dxf, xlsx"),
        (("--what", "ribs", "--paper", "a3"), "invalid choice: 'a3'"),
        (("--what", "plate", "--format", "dxf"), "Nothing of plate is drawn at full size, so there is no DXF"),
    ],
)
def test_bad_words_are_said(ran: Run, grand: Path, tmp_path: Path, words: tuple[str, ...], sentence: str) -> None:
    done = ran("sheet", grand, *words, "--to", tmp_path / "out")
    assert done.code == 2
    assert sentence in done.err
    assert not (tmp_path / "out").exists()


def test_what_the_board_does_not_reach_is_said(ran: Run, tmp_path: Path) -> None:
    board = SAMPLES / "string_line_inches"
    done = ran("sheet", board, "--what", "bearing,ribs", "--to", tmp_path / "out")
    assert done.code == 2
    assert "A rib sheet needs the board itself" in done.err
    assert not (tmp_path / "out").exists()
    assert ran("sheet", board, "--what", "bearing,plate", "--to", tmp_path / "out").code == 0


def test_the_workbook_holds_what_the_json_answer_says(ran: Run, grand: Path, tmp_path: Path) -> None:
    ran("sheet", grand, "--what", "bearing,plate", "--to", tmp_path, "--format", "xlsx", "--plate-first")
    book = openpyxl.load_workbook(tmp_path / "tables.xlsx")
    answer = ran("plane", grand, "--plate-first", "--json").json
    bounds = {"planed_net_clamped_deg", "planed_net_hinged_deg"}  # the rim's range is the answer's alone
    head, *rows = book["plane"].iter_rows(values_only=True)
    keys = [key for key in answer["notes"][0] if key not in bounds]
    assert head[keys.index("faired_front_mm")] == "cut front (mm)"
    assert head[keys.index("net_deg")] == "net (°)"
    assert head[keys.index("strength_share")] == "strength (%)"
    assert len(rows) == len(answer["notes"]) == 88
    factor = {"strength_share": 100.0}
    for row, note in zip(rows, answer["notes"]):
        for cell, key in zip(row, keys, strict=True):
            told = note[key]
            if isinstance(told, float):
                told = pytest.approx(told * factor.get(key, 1.0), rel=1e-9, abs=1e-9)
            assert cell == told, key
    _, *supports = book["supports"].iter_rows(values_only=True)
    moves = {each["support"]: each["move_mm"] for each in answer["plate"]["supports"]}
    assert {row[0]: row[4] for row in supports} == pytest.approx(moves)
    assert all(sheet.freeze_panes == "A2" for sheet in book if sheet.title != "about")


def test_sheets_beside_a_board_are_no_part_of_it(ran: Run, grand: Path, tmp_path: Path) -> None:
    board = tmp_path / "board"
    shutil.copytree(grand, board)
    before = ran("check", board, "--json").json
    ran("sheet", board, "--what", "ribs", "--to", board, "--format", "dxf,xlsx")
    assert ran("check", board, "--json").json == before


def test_the_command_starts_without_the_libraries_it_may_not_need() -> None:
    program = (
        "import sys, bellywork.cli.sheet;"
        "print(sorted({m.split('.')[0] for m in sys.modules} & {'reportlab', 'ezdxf', 'openpyxl', 'scipy'}))"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_schemes_are_held_against_the_boards_own_ribs(ran: Run, tmp_path: Path) -> None:
    board = Path(__file__).parents[2] / "sample_boards" / "lopsided_board"
    fewer = tmp_path / "every_other.csv"
    head, *ribs = (board / "ribs.csv").read_text(encoding="utf-8").splitlines()
    fewer.write_text("\n".join([head, *ribs[::2]]) + "\n", encoding="utf-8")
    words = ("sheet", board, "--what", "schemes", "--to", tmp_path / "out", "--format", "xlsx")
    alone = ran(*words)
    assert alone.code == 2
    assert "found only one of '--what schemes' and '--scheme FILE', expected both" in alone.err
    assert ran(*words, "--scheme", fewer).code == 0
    book = openpyxl.load_workbook(tmp_path / "out" / "tables.xlsx")
    _, own, other = book["schemes"].iter_rows(values_only=True)
    assert (own[:2], other[:2]) == (("as described", 4), ("every other", 2))
    assert other[2] < own[2]  # fewer ribs weigh less
