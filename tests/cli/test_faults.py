"""What goes wrong round a command: streams, disks, interrupts, names. One sentence each, and an exit code."""

import contextlib
import csv
import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path

import pytest
from openpyxl import load_workbook

from bellywork.cli import check as cli_check
from bellywork.cli.main import main
from bellywork.files.write import MARK, PART_END, PART_START, write_new_results, write_result

SAMPLES = Path(__file__).resolve().parents[2] / "sample_boards"
INCHES = SAMPLES / "string_line_inches"
PROGRAM = (sys.executable, "-c", "import sys; from bellywork.cli.main import main; sys.exit(main())")


def started(*words: str, **how: object) -> subprocess.CompletedProcess[bytes]:
    environment = {**os.environ, **how.pop("env", {})}  # type: ignore[dict-item]
    pipes = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE} | how
    return subprocess.run([*PROGRAM, *words], env=environment, **pipes)  # type: ignore[call-overload,no-any-return]


@pytest.mark.parametrize("encoding", ["ascii", "cp1252", "latin-1", "cp437"])
def test_a_stream_of_few_letters_gets_plain_ones(encoding: str) -> None:
    text = started("bearing", str(INCHES), "--all", env={"PYTHONIOENCODING": encoding}).stdout.decode(encoding)
    assert "A#0" in text or "C#4" in text
    as_json = started("bearing", str(INCHES), "--json", env={"PYTHONIOENCODING": encoding}).stdout.decode(encoding)
    assert any("♯" in note["name"] for note in json.loads(as_json)["notes"])  # JSON has escapes: nothing is lost


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
@pytest.mark.parametrize(
    "words", [("check", str(INCHES)), ("bearing", str(INCHES), "--json"), ("--help",), ("bearing", "--help")]
)
@pytest.mark.parametrize("unbuffered", ["", "1"])
def test_a_full_disk_under_standard_output_is_one_sentence(words: tuple[str, ...], unbuffered: str) -> None:
    with open("/dev/full", "w") as full:
        done = started(*words, stdout=full, env={"PYTHONUNBUFFERED": unbuffered})
    assert done.returncode == 2
    assert done.stderr.decode() == "bellywork: the answer could not be written (no space left on device).\n"


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
def test_a_full_disk_under_standard_error_leaves_the_exit_code() -> None:
    with open("/dev/full", "w") as full:
        assert started("check", "nowhere", stderr=full).returncode == 2


def test_a_reader_that_goes_is_no_error() -> None:
    command = subprocess.Popen(
        [*PROGRAM, "bearing", str(INCHES), "--all"], stdout=subprocess.PIPE, stderr=subprocess.PIPE
    )
    assert command.stdout is not None
    command.stdout.close()
    assert command.wait(60) == 0
    assert command.stderr is not None
    assert command.stderr.read() == b""
    command.stderr.close()


@pytest.mark.skipif(os.name == "nt", reason="signals")
def test_an_interrupt_is_one_sentence() -> None:
    """As soon as bellywork itself runs: what Python does before that is not ours."""
    program = PROGRAM[2].replace("; sys.exit", "; print(0, file=sys.stderr, flush=True); sys.exit")
    words = [*PROGRAM[:2], program, "plane", str(SAMPLES / "seven_foot_grand")]
    command = subprocess.Popen(
        words,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),  # a shell's background job ignores Ctrl-C
    )
    assert command.stderr is not None
    assert command.stderr.readline() == b"0\n"
    time.sleep(0.05)
    command.send_signal(signal.SIGINT)
    out, err = command.communicate(timeout=60)
    assert (command.returncode, out, err) == (2, b"", b"bellywork: stopped; nothing was written.\n")


def test_an_interrupt_that_an_import_hides_is_an_interrupt(monkeypatch, capsys) -> None:
    """As numpy hides it: its compiled half, stopped while it imports datetime, raises an ImportError."""

    def stopped(words: Sequence[str]) -> int:
        with contextlib.suppress(KeyboardInterrupt):
            signal.raise_signal(signal.SIGINT)
        raise ImportError("PyCapsule_Import could not import module")

    monkeypatch.setattr(cli_check, "main", stopped)
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    try:
        assert main(["check"]) == 2
        assert capsys.readouterr().err == "bellywork: stopped; nothing was written.\n"
        assert signal.signal(signal.SIGINT, before) is signal.default_int_handler
    finally:
        signal.signal(signal.SIGINT, before)


@pytest.mark.parametrize("folder", ["rib-outside", "bridge-outside", "rib-off-board"])
def test_what_check_calls_wrong_stops_press(ran, folder: str) -> None:
    answer = ran("press", SAMPLES / "broken" / folder, "--at", "300,200", "--force", "100")
    assert (answer.code, answer.out) == (2, "")
    assert ran("check", SAMPLES / "broken" / folder).code == 1


def test_what_check_calls_wrong_stops_bearing(ran) -> None:
    for folder in ("bridge-unknown", "wire-over-strength"):
        answer = ran("bearing", SAMPLES / "broken" / folder)
        assert (answer.code, answer.out) == (2, "")


def test_what_check_calls_advice_stands_above_the_answer(ran) -> None:
    answer = ran("bearing", SAMPLES / "broken" / "sink-rises", "--json")
    assert "look at sink.csv, column strung, note 49: found a sink of -1.1 mm" in answer.err
    assert answer.json["notes"]  # and the JSON is whole
    advice = [each for each in answer.json["findings"] if each["code"] == "sink-rises"]
    assert [(each["level"], each["file"], each["note"]) for each in advice] == [("advice", "sink.csv", 49)]


def test_a_push_that_no_board_takes_is_named(ran) -> None:
    answer = ran("press", SAMPLES / "press_trial", "--at", "300,200", "--force", "1e6")
    assert answer.code == 1
    assert "expected at most the thickness of the panel, 8.0 mm" in " ".join(answer.out.split())
    assert ran("press", SAMPLES / "press_trial", "--at", "300,200", "--force", "100").code == 0


def named(folder: Path, name: str) -> Path:
    """A copy of the string line with another name, in TOML's own escapes, and as the name of its sections."""
    folder.mkdir()
    for path in INCHES.iterdir():
        text = path.read_text(encoding="utf-8")
        if path.name == "board.toml":
            lines = [line for line in text.splitlines() if not line.startswith("name")]
            text = "\n".join([f"name = {json.dumps(name)}", *lines, ""])
        elif path.suffix == ".csv":
            text = text.replace("bass,", f'"{name}",'.replace('""', '"'))
        (folder / path.name).write_text(text, encoding="utf-8")
    return folder


def test_no_escape_reaches_terminal_or_workbook(ran, tmp_path: Path) -> None:
    folder = named(tmp_path / "board", "a\x1b[31mb\x9bc\u202ed")
    for words in (("check",), ("bearing",), ("bearing", "--json"), ("check", "--json")):
        answer = ran(words[0], folder, *words[1:])
        assert not set(answer.out + answer.err) & {"\x1b", "\x9b", "\u202e"}
    # the name of a folder is the user's too
    assert "\x1b" not in ran("check", tmp_path / "a\x1b[31mb").out


def test_no_cell_of_a_result_is_a_formula(ran, tmp_path: Path) -> None:
    folder = named(tmp_path / "board", "=HYPERLINK(1)")
    assert ran("bearing", folder, "--csv", tmp_path / "out.csv").code < 2
    rows = list(csv.reader((tmp_path / "out.csv").read_text(encoding="utf-8").splitlines()[1:]))
    words = [cell for row in rows for cell in row if "HYPERLINK" in cell]
    assert words
    assert all(cell.startswith("'=") for cell in words)
    done = ran("sheet", folder, "--what", "bearing", "--format", "xlsx", "--to", tmp_path / "sheets")
    assert done.code == 0, done.err
    book = load_workbook(tmp_path / "sheets" / "tables.xlsx")
    cells = [cell for sheet in book for line in sheet.iter_rows() for cell in line]
    assert any(str(cell.value).startswith("=HYPERLINK") for cell in cells)
    assert {cell.data_type for cell in cells} <= {"s", "n", "b"}


def test_two_runs_into_one_folder_keep_both(tmp_path: Path) -> None:
    """Eight processes at one time, three files each: every run's three stand, under one number."""
    program = (
        "import sys; from pathlib import Path; from bellywork.files.write import MARK, write_new_results;"
        "write_new_results(Path(sys.argv[1]), {n: f'{MARK} {sys.argv[2]}' for n in ('a.csv', 'b.csv', 'c.csv')})"
    )
    runs = [subprocess.Popen([sys.executable, "-c", program, str(tmp_path), str(k)]) for k in range(8)]
    assert [each.wait(120) for each in runs] == [0] * 8
    for k in range(1, 9):
        names = [f"{stem}{'' if k == 1 else f'-{k}'}.csv" for stem in "abc"]
        assert len({(tmp_path / name).read_text(encoding="utf-8") for name in names}) == 1
    assert len(list(tmp_path.iterdir())) == 24


def test_a_set_that_cannot_be_written_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="no space left on device"):
        write_new_results(tmp_path, {"a.csv": MARK, "b.csv": MARK})
    assert list(tmp_path.iterdir()) == []


def test_what_a_killed_run_left_is_taken_away(tmp_path: Path) -> None:
    old, young = (tmp_path / f"{PART_START}{name}{PART_END}" for name in ("old", "young"))
    old.write_text("half")
    young.write_text("half")
    os.utime(old, (time.time() - 7200.0,) * 2)
    write_result(tmp_path / "a.csv", MARK)
    assert sorted(path.name for path in tmp_path.iterdir()) == [young.name, "a.csv"]


def test_a_scan_that_is_not_there_is_said(ran) -> None:
    answer = ran("crown", SAMPLES / "old_small_grand", "--scan", "nowhere.ply")
    assert answer.code == 2
    assert "found no file 'nowhere.ply'" in answer.err
