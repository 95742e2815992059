"""One cell of a table changed where it stands. Kind: invariant (every other byte stays)."""

from pathlib import Path

import pytest

from bellywork.errors import BoardError, OutputError
from bellywork.files.cells import note_table
from bellywork.files.write import replace_input

PLAIN = """# read on a warm day
note,front_height_mm,bridge_front_mm,remark
C4,33.2,41.2,
41,33.9,41.5,"dull, old"

42,,,
"""


def table(folder: Path, text: str | bytes = PLAIN) -> Path:
    path = folder / "notes.csv"
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return path


def test_a_cell_is_changed_and_nothing_else(tmp_path: Path) -> None:
    found = note_table(table(tmp_path))
    assert found.cells[40]["bridge_front_mm"] == "41.2"
    assert found.with_cell(40, "bridge_front_mm", "41.35") == PLAIN.replace("41.2", "41.35").encode()
    assert found.with_cell(42, "front_height_mm", "34") == PLAIN.replace("42,,,", "42,34,,").encode()
    assert found.with_cell(41, "front_height_mm", "").decode() == PLAIN.replace("33.9", "")


@pytest.mark.parametrize(
    ("text", "after"),
    [
        (b"\xef\xbb\xbfnote;cap_mm\r\n40;10,5\r\n", b"\xef\xbb\xbfnote;cap_mm\r\n40;10,25\r\n"),
        (b"note,cap_mm,remark\n40,10,na\xefve\n", b'note,cap_mm,remark\n40,"10,25",na\xefve\n'),
        (b"note\tremark\tcap_mm\n40\tx\n", b"note\tremark\tcap_mm\n40\tx\t10,25\n"),
        (b"note,cap_mm\n40,10.5", b'note,cap_mm\n40,"10,25"'),
    ],
)
def test_separator_ends_of_lines_and_letters_stay(tmp_path: Path, text: bytes, after: bytes) -> None:
    assert note_table(table(tmp_path, text)).with_cell(40, "cap_mm", "10,25") == after


def test_a_title_above_the_header_stays(tmp_path: Path) -> None:
    titled = "The old grand in the back room\n\n" + PLAIN
    found = note_table(table(tmp_path, titled))
    assert found.cells[40]["bridge_front_mm"] == "41.2"
    assert found.with_cell(40, "bridge_front_mm", "41.35") == titled.replace("41.2", "41.35").encode()


def test_what_cannot_be_changed_alone_is_refused(tmp_path: Path) -> None:
    with pytest.raises(BoardError, match=r"^notes\.csv has no cell width of note 40\.$"):
        note_table(table(tmp_path)).with_cell(40, "width", "3")
    with pytest.raises(BoardError, match=r"^notes\.csv holds note 40 twice; "):
        note_table(table(tmp_path, "note,cap_mm\n40,1\nC4,2\n"))
    with pytest.raises(BoardError, match=r"^notes\.csv is no table with a column note"):
        note_table(table(tmp_path, "a,b\n1,2\n"))
    lines = 'note,remark,cap_mm\n40,"two\nlines",10\n'
    with pytest.raises(BoardError, match=r"^notes\.csv has a cell of several lines; "):
        note_table(table(tmp_path, lines)).with_cell(40, "cap_mm", "9")


def test_what_changed_meanwhile_is_not_written_over(tmp_path: Path) -> None:
    path = table(tmp_path)
    was = path.read_bytes()
    replace_input(path, b"note\n1\n", was)
    assert path.read_bytes() == b"note\n1\n"
    with pytest.raises(OutputError, match=r"was changed by somebody else meanwhile; nothing was written to it\.$"):
        replace_input(path, b"note\n2\n", was)
    assert path.read_bytes() == b"note\n1\n"
    assert sorted(each.name for each in tmp_path.iterdir()) == ["notes.csv"]
