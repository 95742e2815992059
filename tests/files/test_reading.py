"""Folders as shops write them, and as they should not be: read alike, or refused with findings and no traceback."""

import os
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
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
    assert [*found.findings, *reviewed(found.board)] == []
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
