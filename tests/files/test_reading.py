"""Folders as shops write them, and as they should not be: read alike, or refused with findings and no traceback."""

import os
import re
import time
from pathlib import Path
from shutil import copytree
from zipfile import ZipFile

import numpy as np
import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from openpyxl import Workbook
from small import TEXTS, write_small

from bellywork.errors import OutputError, UnusableInput
from bellywork.files.columns import TABLES
from bellywork.files.read import read_board
from bellywork.files.reference import key_reference, table_reference
from bellywork.files.start import KINDS, new_folder
from bellywork.files.toml_keys import SCHEME_SECTIONS
from bellywork.files.write import MARK, write_result
from bellywork.review.board_review import reviewed

ROOT = Path(__file__).resolve().parents[2]
QUICK = settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


def codes(folder: Path) -> set[str]:
    try:
        return {finding.code for finding in read_board(folder).findings}
    except UnusableInput as error:
        return {finding.code for finding in error.findings}


def looked_at(folder: Path) -> list[str]:
    """Everything that is found in a folder, in words."""
    try:
        found = read_board(folder)
    except UnusableInput as error:
        return [str(finding) for finding in error.findings] or [""]
    return [str(finding) for finding in (*found.findings, *reviewed(found.board))]


def test_the_small_board_has_nothing_wrong(tmp_path: Path) -> None:
    found = read_board(write_small(tmp_path / "board"))
    assert [*found.findings, *reviewed(found.board)] == []


@QUICK
@given(separator=st.sampled_from([",", ";", "\t"]), comma=st.booleans(), mark=st.booleans(), crlf=st.booleans())
def test_any_spreadsheets_csv_reads_alike(
    tmp_path_factory: pytest.TempPathFactory, separator: str, comma: bool, mark: bool, crlf: bool
) -> None:
    """Separators, decimal commas, byte order marks and line ends change nothing."""
    text = TEXTS["notes.csv"]
    text = text.replace(",", "\0").replace(".", "," if comma and separator != "," else ".").replace("\0", separator)
    text = ("\ufeff" if mark else "") + text.replace("\n", "\r\n" if crlf else "\n")
    folder = write_small(tmp_path_factory.mktemp("board"), changed={"notes.csv": text})
    plain = write_small(tmp_path_factory.mktemp("plain"))
    one, other = (read_board(each).board.needed_strings("test") for each in (folder, plain))
    for name in ("note", "speaking_mm", "rows_mm", "back_mm", "front_height_mm", "bridge_front_mm", "rear_height_mm"):
        assert np.array_equal(getattr(one, name), getattr(other, name))


@QUICK
@example(data=b"\x01\r\x01", name="notes.csv")
@given(data=st.binary(max_size=400), name=st.sampled_from(["board.toml", "notes.csv", "ribs.csv", "outline.csv"]))
def test_no_bytes_whatever_break_the_reader(tmp_path_factory: pytest.TempPathFactory, data: bytes, name: str) -> None:
    folder = write_small(tmp_path_factory.mktemp("board"))
    (folder / name).write_bytes(data)
    assert all(looked_at(folder))


@QUICK
@given(cell=st.text(max_size=12), column=st.integers(0, 9))
def test_no_cell_whatever_breaks_the_reader(tmp_path_factory: pytest.TempPathFactory, cell: str, column: int) -> None:
    header, first, *rest = TEXTS["notes.csv"].splitlines()
    cells = first.split(",")
    cells[column % len(cells)] = '"' + cell.replace('"', '""') + '"'
    folder = write_small(
        tmp_path_factory.mktemp("board"), changed={"notes.csv": "\n".join([header, ",".join(cells), *rest, ""])}
    )
    assert all(looked_at(folder))


def test_inches_are_the_same_board(tmp_path: Path) -> None:
    """A folder of millimetres and one of inches agree to the inches' rounding."""
    header, *rows = TEXTS["notes.csv"].splitlines()
    names = header.split(",")
    lengths = [k for k, name in enumerate(names) if name.endswith("_mm")]
    typed = [",".join(name.replace("_mm", "_in") for name in names)]
    for row in rows:
        cells = row.split(",")
        for k in lengths:
            cells[k] = f"{float(cells[k]) / 25.4:.5f}" if cells[k] else ""
        typed.append(",".join(cells))
    metric = read_board(write_small(tmp_path / "mm")).board.needed_strings("test")
    inch = read_board(write_small(tmp_path / "in", changed={"notes.csv": "\n".join(typed) + "\n"}))
    assert inch.findings == ()
    line = inch.board.needed_strings("test")
    for name in ("speaking_mm", "rows_mm", "back_mm", "front_height_mm", "bridge_front_mm", "rear_height_mm"):
        assert getattr(line, name) == pytest.approx(getattr(metric, name), abs=25.4 * 6e-6)


def test_a_huge_file_is_refused(tmp_path: Path) -> None:
    folder = write_small(tmp_path / "board")
    (folder / "notes.csv").write_bytes(b"note,section\n" + b"40,middle\n" * 1_000_000)
    assert "file-too-large" in codes(folder)


def test_a_loop_of_links_is_refused(tmp_path: Path) -> None:
    folder = write_small(tmp_path / "board")
    (folder / "notes.csv").unlink()
    (folder / "notes.csv").symlink_to(folder / "other.csv")
    (folder / "other.csv").symlink_to(folder / "notes.csv")
    assert "unreadable" in codes(folder)
    loop = tmp_path / "loop"
    loop.symlink_to(loop)
    assert codes(loop)


def test_a_missing_folder_and_an_empty_one_are_refused(tmp_path: Path) -> None:
    assert codes(tmp_path / "nowhere") == {"folder-missing"}
    (tmp_path / "empty").mkdir()
    assert codes(tmp_path / "empty") == {"toml-missing"}


@pytest.mark.parametrize("kind", KINDS)
def test_a_starter_folder_is_sound_and_is_not_laid_over_another(tmp_path: Path, kind: str) -> None:
    folder = tmp_path / kind
    new_folder(folder, kind)
    found = read_board(folder)
    (untouched,) = [*found.findings, *reviewed(found.board)]
    assert untouched.code == "table-untouched"
    assert all(path.name in untouched.found for path in folder.glob("*.csv") if path.name != "sink.csv")
    assert "sink.csv" not in untouched.found
    (folder / "notes.csv").write_text((folder / "notes.csv").read_text().replace("bass", "low"), encoding="utf-8")
    assert not any("notes.csv" in each.found for each in read_board(folder).findings)
    with pytest.raises(OutputError):
        new_folder(folder, kind)


def test_results_are_whole_or_not_there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "out.csv"
    write_result(path, f"{MARK} first\n")

    def broken(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", broken)
    with pytest.raises(OutputError, match="no space left on device"):
        write_result(path, f"{MARK} second\n")
    assert path.read_text(encoding="utf-8") == f"{MARK} first\n"
    assert [each.name for each in tmp_path.iterdir()] == ["out.csv"]


def test_a_folder_that_may_not_be_written_to_is_said(tmp_path: Path) -> None:
    with pytest.raises(OutputError, match="give a folder that you may write to"):
        write_result(tmp_path / "missing" / "out.csv", MARK)


def test_the_file_reference_is_current() -> None:
    """docs/files.md holds what the column and key tables say."""
    page = (ROOT / "docs" / "files.md").read_text(encoding="utf-8")
    assert key_reference() in page
    assert table_reference(TABLES) in page
    assert key_reference(SCHEME_SECTIONS) in (ROOT / "docs" / "ribs.md").read_text(encoding="utf-8")


def test_readings_are_parsed_fully(tmp_path: Path) -> None:
    """A note by its name is the note by its number; ribs and supports keep the names that their tables give them."""
    text = TEXTS["readings.csv"]
    assert "front_deg,49," in text
    found = read_board(
        write_small(tmp_path / "board", changed={"readings.csv": text.replace("front_deg,49,", "front_deg,A4,")})
    )
    assert found.findings == ()
    told = {(each.kind, each.place, each.note) for each in found.board.readings}
    assert ("front_deg", "", 49) in told
    assert all((note is None) == (kind in ("thread", "straightedge", "plate_height")) for kind, _, note in told)


@pytest.mark.parametrize("table", sorted(name for name in TEXTS if name.endswith(".csv")))
def test_no_header_misspelt_or_dropped_breaks_the_reader(tmp_path: Path, table: str) -> None:
    """Each header of each table in capitals, without its first letter, and away with its column."""
    header, *rows = TEXTS[table].splitlines()
    names = header.split(",")
    for k, name in enumerate(names):
        spoiled = [
            "\n".join([",".join([*names[:k], other, *names[k + 1 :]]), *rows, ""])
            for other in (name.upper(), name[1:], "")
        ]
        dropped = [",".join(cell for j, cell in enumerate(row.split(",")) if j != k) for row in (header, *rows)]
        for number, text in enumerate([*spoiled, "\n".join([*dropped, ""])]):
            looked_at(write_small(tmp_path / f"{k}-{number}", changed={table: text}))


def test_a_sheet_that_says_it_is_smaller_is_read_whole(tmp_path: Path) -> None:
    """A stale <dimension> cuts nothing off."""
    book = Workbook()
    for line in TEXTS["notes.csv"].splitlines():
        book.active.append([cell if not cell.replace(".", "").isdigit() else float(cell) for cell in line.split(",")])
    names = tuple(name for name in TEXTS if name != "notes.csv")
    whole = read_board(write_small(tmp_path / "csv")).board.needed_strings("test")
    folder = write_small(tmp_path / "xlsx", names)
    book.save(tmp_path / "right.xlsx")
    with ZipFile(tmp_path / "right.xlsx") as right, ZipFile(folder / "notes.xlsx", "w") as stale:
        for item in right.namelist():
            content = right.read(item)
            if item == "xl/worksheets/sheet1.xml":
                content, times = re.subn(rb'<dimension ref="[^"]*"', b'<dimension ref="A1:C2"', content)
                assert times == 1
            stale.writestr(item, content)
    found = read_board(folder)
    assert found.findings == ()
    line = found.board.needed_strings("test")
    assert np.array_equal(line.note, whole.note)
    assert np.array_equal(line.cap_mm, whole.cap_mm, equal_nan=True)


@pytest.mark.parametrize(
    ("file", "old", "new", "code"),
    [
        ("board.toml", 'state = "bare"', f'state = "bare"\n{"a." * 100_000}b = 1', "toml-unreadable"),
        ("board.toml", 'name = "', f'name = "{"n" * 20_000}', "word-too-long"),
        ("notes.csv", "390.0", f"{'9' * 400}/1", "not-a-number"),
        ("outline.csv", "900,600,\n0,600,", "900,0.1,", "outline-size"),
        ("board.toml", "[rim]", '[woods.mine]\nlike = "sitka_spruce"\nE_L_MPa = 11\n\n[rim]', "out-of-range"),
    ],
)
def test_what_would_eat_time_or_memory_is_named_at_once(
    tmp_path: Path, file: str, old: str, new: str, code: str
) -> None:
    assert old in TEXTS[file]
    folder = write_small(tmp_path / "board", changed={file: TEXTS[file].replace(old, new)})
    start = time.process_time()
    assert code in codes(folder)
    assert time.process_time() - start < 2.0


def test_a_wood_that_cannot_be_one_is_said_once(tmp_path: Path) -> None:
    wood = '[woods.mine]\nlike = "sitka_spruce"\nnu_RT = 2.5\n\n[rim]'
    changed = {
        "board.toml": TEXTS["board.toml"].replace("[rim]", wood),
        "ribs.csv": TEXTS["ribs.csv"].replace("sugar_pine", "mine"),
    }
    assert codes(write_small(tmp_path / "board", changed=changed)) == {"wood-impossible"}


def test_a_title_above_the_header_is_passed_over(tmp_path: Path) -> None:
    """A spreadsheet saved with its title: the same board, and rows keep the numbers that the spreadsheet shows."""
    folder = copytree(ROOT / "sample_boards" / "string_line_inches", tmp_path / "titled")
    text = (folder / "notes.csv").read_text(encoding="utf-8")
    (folder / "notes.csv").write_text(f"Heights of May,,,,,,,,,,\n\n{text}", encoding="utf-8")
    found = read_board(folder)
    assert found.findings == ()
    plain = read_board(ROOT / "sample_boards" / "string_line_inches")
    assert found.board.strings.bridge_front_mm == pytest.approx(plain.board.strings.bridge_front_mm)
    (folder / "notes.csv").write_text(f"Heights of May,,\n\n{text.replace('1.930', 'high')}", encoding="utf-8")
    with pytest.raises(UnusableInput) as stopped:
        read_board(folder)
    (wrong, *_) = stopped.value.findings
    assert (wrong.place.row, wrong.place.column) == (4, "bridge_front_in")


def test_a_table_that_an_editor_named_txt_is_named(tmp_path: Path) -> None:
    folder = copytree(ROOT / "sample_boards" / "string_line_inches", tmp_path / "txt")
    (folder / "notes.csv").rename(folder / "notes.csv.txt")
    with pytest.raises(UnusableInput) as stopped:
        read_board(folder)
    assert any(
        str(each) == "notes.csv.txt: found a table that ends in .txt, expected notes.csv. Take .txt off its name: "
        "notes.csv."
        for each in stopped.value.findings
    )
