"""The commands as a user meets them: tables that can be read, JSON as documented, sentences for wrong input."""

import csv
import math
from collections.abc import Callable
from pathlib import Path
from shutil import copytree

import pytest
from schemas import valid

from bellywork.cli.main import COMMANDS
from bellywork.files.read import read_board

LOPSIDED = Path(__file__).resolve().parents[2] / "sample_boards" / "lopsided_board"
SMALL = Path(__file__).resolve().parents[1] / "files" / "small_board"
Run = Callable[..., "object"]


def test_without_words_the_usage_is_shown(ran) -> None:
    assert ran().code == 2
    shown = ran("--help")
    assert shown.code == 0
    assert all(name in shown.out for name in COMMANDS)


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_explains_itself(ran, name: str) -> None:
    shown = ran(name, "--help")
    assert shown.code == 0
    assert "Exit codes: 0 fine, 1 findings, 2 unusable input." in shown.out


def test_a_misspelt_command_gets_a_hint(ran) -> None:
    answer = ran("baering", ".")
    assert answer.code == 2
    assert answer.err.startswith("bellywork: found no command 'baering'. Did you mean bearing?")


def test_a_missing_folder_is_one_sentence(ran, tmp_path: Path) -> None:
    answer = ran("bearing", tmp_path / "nowhere")
    assert answer.code == 2
    assert answer.err == (
        f"bellywork: found no folder '{tmp_path / 'nowhere'}', expected a board folder."
        " Check the name, or start one with 'bellywork new'.\n"
    )
    assert answer.out == ""


def test_bearing_prints_sections_the_worst_note_and_units(ran, grand: Path) -> None:
    answer = ran("bearing", grand)
    assert answer.code == 0, answer.err
    for words in ("bass: 26 notes, downforce 2379.0 N", "farthest is note 70", "Downforce in all:", "°/mm", "Assumed"):
        assert words in answer.out


def test_inches_and_pounds_are_the_same_board(ran, grand: Path) -> None:
    metric, inch = ran("bearing", grand).out, ran("bearing", grand, "--units", "in").out
    assert "lb" in inch
    force = {text: float(text.split("Downforce in all: ")[1].split()[0]) for text in (metric, inch)}
    assert force[inch] * 4.4482216 == pytest.approx(force[metric], rel=1e-4)


@pytest.mark.parametrize("words", [(), ("--state", "bare"), ("--state", "preloaded"), ("--state", "strung")])
def test_bearing_json_is_as_documented(ran, grand: Path, words: tuple[str, ...]) -> None:
    answer = ran("bearing", grand, *words, "--json")
    valid(answer.json)
    assert [note["note"] for note in answer.json["notes"]] == list(range(1, 89))
    assert answer.json["state"] == (words[1] if words else "bare")


def test_bearing_tells_the_outer_strings_of_the_unisons(ran, tmp_path: Path) -> None:
    """By hand, note 40: 5 of the 16.67 mm to the next note's string are 0.3 of the way; the front termination comes
    nearer by 0.3 · 250/9 mm and rises by 0.3 · 3.3/9 mm; the pins and the rear rest stay as they are.
    """
    small = Path(copytree(SMALL, tmp_path / "board"))
    line = (small / "notes.csv").read_text(encoding="utf-8")
    assert "39.1,42.0,42.0" in line
    (small / "notes.csv").write_text(line.replace("39.1,42.0,42.0", "39.1,43.0,43.0"), encoding="utf-8")
    without = ran("bearing", small).out
    rows = ["note,unisons,wire_mm,spread_mm", "40,3,1.05,10", "49,1,0.975,", "60,2,0.9,"]
    (small / "scale.csv").write_text("\n".join(rows), encoding="utf-8")
    answer = ran("bearing", small, "--json")
    valid(answer.json)
    notes = {note["note"]: note for note in answer.json["notes"]}
    nearer, risen = 0.3 * 250.0 / 9.0, 0.3 * 3.3 / 9.0
    for side, sign in (("left", -1.0), ("right", 1.0)):
        front = math.degrees(math.atan((8.4 - sign * risen) / (640.0 - sign * nearer)))
        assert notes[40][f"{side}_front_deg"] == pytest.approx(front, abs=1e-9)
        assert notes[40][f"{side}_rear_deg"] == pytest.approx(math.degrees(math.atan(1.2 / 90.0)), abs=1e-9)
        assert notes[49][f"{side}_front_deg"] is None
        assert notes[60][f"{side}_front_deg"] is not None
    out = ran("bearing", small).out
    apart = {n: abs(sum(each[f"right_{run}_deg"] - each[f"left_{run}_deg"] for run in ("front", "rear")))
             for n, each in notes.items() if each["left_front_deg"] is not None}  # fmt: skip
    widest = notes[max(apart, key=apart.__getitem__)]
    ends = [widest[f"{side}_front_deg"] + widest[f"{side}_rear_deg"] for side in ("left", "right")]
    assert f"{ends[0]:.2f}" != f"{ends[1]:.2f}"
    line = (
        f"Within a unison the net bearing differs most at note {widest['note']} ({widest['name']}): {ends[0]:.2f}° at "
        f"its left string, {ends[1]:.2f}° at its right one"
    )
    assert line in " ".join(out.split())
    assert "left front  left rear  right front  right rear" in out
    assert "left front" not in without


def test_bearing_json_follows_its_own_formulas(ran, grand: Path) -> None:
    """Front and rear add up to the net, and the forces of the notes to the total (invariants of design and trade)."""
    answer = ran("bearing", grand, "--json").json
    for note in answer["notes"]:
        assert note["front_deg"] + note["rear_deg"] == pytest.approx(note["net_deg"], abs=1e-12)
        assert note["net_deg"] - note["target_net_deg"] == pytest.approx(note["deviation_deg"], abs=1e-12)
    assert sum(note["downforce_N"] for note in answer["notes"]) == pytest.approx(answer["totals"]["downforce_N"])


def test_plane_json_is_as_documented_and_meets_the_targets(ran, grand: Path) -> None:
    answer = ran("plane", grand, "--json")
    valid(answer.json)
    assert answer.code == 0, answer.err
    for note in answer.json["notes"]:
        assert note["planed_net_deg"] == note["you_get_deg"]
        assert note["you_get_deg"] == pytest.approx(note["target_net_deg"], abs=0.1)
        # a stiffer rim sinks less, a softer one more
        assert note["planed_net_clamped_deg"] > note["planed_net_hinged_deg"]


def test_plane_prints_the_schedule(ran, grand: Path) -> None:
    answer = ran("plane", grand, "--all")
    assert answer.code == 0
    for words in ("cut front", "cut rear", "you get", "block", "kerf", "cap left", "rim", "Assumed"):
        assert words in answer.out
    assert "  88  C8" in answer.out


def test_plane_can_set_the_plate_first(ran, grand: Path) -> None:
    answer = ran("plane", grand, "--plate-first", "--json").json
    valid(answer)
    moves = [each["move_mm"] for each in answer["plate"]["supports"]]
    assert len(moves) == 10
    assert all(-3.0 - 1e-6 <= move <= 3.0 + 1e-6 for move in moves)
    assert all(note["you_get_deg"] == pytest.approx(note["target_net_deg"], abs=0.1) for note in answer["notes"])


def test_plane_works_with_the_users_own_sink(ran, grand: Path, tmp_path: Path) -> None:
    folder = copytree(grand, tmp_path / "own")
    (folder / "sink.csv").write_text("note,strung_mm\n1,1.5\n26,2.0\n27,2.0\n60,2.5\n88,0.2\n", encoding="utf-8")
    answer = ran("plane", folder, "--sink", "measured", "--json").json
    valid(answer)
    assert answer["sink_source"] == "measured"
    assert answer["notes"][0]["planed_sink_mm"] == pytest.approx(1.5)
    assert any("sink.csv" in sentence for sentence in answer["assumptions"])


def test_no_wood_is_said_with_the_cure(ran, grand: Path, tmp_path: Path) -> None:
    folder = copytree(grand, tmp_path / "low")
    (folder / "targets.csv").write_text("section,net_deg\nbass,4\ntenor,4\nlow treble,4\nhigh treble,4\ntop,4\n")
    answer = ran("plane", folder)
    assert answer.code == 1
    assert "Short of wood" in answer.out
    assert "A cap thicker by" in answer.out
    assert "the plate lower by" in answer.out
    assert "the rear rests lower by" in answer.out


def test_press_reads_sink_where_asked(ran) -> None:
    words = ("press", LOPSIDED, "--at", "350,250", "--force", "100", "--read", "300,300", "480,260")
    answer = ran(*words, "--json")
    valid(answer.json)
    assert answer.code == 0
    sinks = [point["sink_mm"] for point in answer.json["read"]]
    assert all(0.05 < sink < 1.0 for sink in sinks)
    assert answer.json["balance"]["reaction_N"] == pytest.approx(100.0)
    twice = ran(*words[:5], "200", *words[6:], "--json").json
    for point, sink in zip(twice["read"], sinks):  # large deflection: near to proportion, not in it
        assert point["sink_mm"] != pytest.approx(2.0 * sink, rel=1e-5)
        assert point["sink_mm"] == pytest.approx(2.0 * sink, rel=0.02)
    assert "if clamped" in ran(*words).out


def test_press_takes_notes_and_the_users_units(ran) -> None:
    """22 lb at C4: the same push said three ways (1 lb = 4.4482216 N)."""
    by_note = ran("press", LOPSIDED, "--at", "C4", "--force", "22", "--units", "in", "--json").json
    valid(by_note)
    (push,) = by_note["pushes"]
    assert (push["at"], push["force_N"]) == ("C4", pytest.approx(22.0 * 4.4482216))
    inches = f"{push['x_mm'] / 25.4},{push['y_mm'] / 25.4}"
    by_point = ran("press", LOPSIDED, "--at", inches, "--force", "22", "--units", "in", "--json").json
    assert by_point["pushes"][0]["sink_mm"] == pytest.approx(push["sink_mm"], rel=1e-9)
    shown = ran("press", LOPSIDED, "--at", "C4", "--force", "10", "--units", "fraction,kgf").out
    assert "10.00" in shown
    assert "kgf" in shown


def test_without_a_sink_there_is_no_schedule_and_the_exit_code_says_so(ran, grand: Path) -> None:
    answer = ran("plane", grand, "--sink", "none")
    assert answer.code == 1
    assert answer.out.splitlines()[1].startswith("No depth can be given: it is not known how far the board sinks")
    assert answer.out.index("No depth can be given") < answer.out.index("note  ")


def test_what_one_gets_is_what_the_cut_gives(ran, grand: Path) -> None:
    """One depth: the planed bearing is that after the cut; what the fair line costs of a target is told."""
    answer = ran("plane", grand, "--json").json
    for note in answer["notes"]:
        assert note["you_get_deg"] == note["planed_net_deg"]
        assert note["you_get_deg"] == pytest.approx(note["target_net_deg"] + note["fairing_cost_deg"], abs=1e-3)
    deepest = max(answer["notes"], key=lambda note: max(note["faired_front_mm"], note["faired_rear_mm"]))
    depth = max(deepest["faired_front_mm"], deepest["faired_rear_mm"])
    assert answer["headline"][0] == f"Cut up to {depth:.2f} mm, deepest at note {deepest['note']} ({deepest['name']})."
    near = sum(abs(note["you_get_deg"] - note["target_net_deg"]) <= 0.1 for note in answer["notes"])
    assert answer["headline"][1].startswith(f"Strung after that, {near} of 88 notes are within 0.10° of their target;")


def test_a_table_fits_the_screen(ran, grand: Path) -> None:
    for words in (("bearing", grand, "--state", "strung"), ("plane", grand)):
        assert max(map(len, ran(*words).out.splitlines())) <= 118


def test_press_needs_no_strings(ran, tmp_path: Path) -> None:
    folder = copytree(LOPSIDED, tmp_path / "body")
    for name in ("notes", "scale", "string_plan", "targets"):
        (folder / f"{name}.csv").unlink()
    assert ran("press", folder, "--at", "350,250", "--force", "100", "--json").code == 0
    assert "needs the string line" in ran("bearing", folder).err


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("--at", "700;600", "--force", "9"), "expected X,Y in mm, for example 620,480, or a note such as C4."),
        (("--at", "700,600"), "--force"),
        (("--at", "9000,600", "--force", "9"), "The point (9000, 600) mm is outside the board's outline."),
        (
            ("--at", "700,600", "--force", "9", "--read", "1450,1500"),
            "The point (1450, 1500) mm is outside the board's outline.",
        ),
        (("--at", "700,600", "--force", "9", "--read", "nan,1"), "expected X,Y in mm"),
        (("--at", "700,600", "--force", "9", "--temperature", "30"), "found --temperature without --rh"),
        (("--at", "700,600", "--force", "nan"), "found 'nan', expected a number"),
        (("--at", "700,600", "--force", "1", "--at", "70,60"), "expected one --force for each --at"),
    ],
)
def test_press_refuses_wrong_words_in_a_sentence(ran, grand: Path, words: tuple[str, ...], sentence: str) -> None:
    answer = ran("press", grand, *words)
    assert answer.code == 2
    assert sentence in answer.err
    assert "Traceback" not in answer.err


def test_csv_holds_what_json_holds_and_nothing_of_the_users_is_overwritten(ran, grand: Path, tmp_path: Path) -> None:
    path = tmp_path / "out.csv"
    answer = ran("bearing", grand, "--json", "--csv", path).json
    mark, *lines = path.read_text(encoding="utf-8").splitlines()
    assert mark.startswith("# bellywork result bellywork-bearing/2 ")
    assert "# net_deg: front and rear bearing together" in lines
    rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))
    assert [row["net_deg"] for row in rows] == [str(round(note["net_deg"], 3)) for note in answer["notes"]]
    assert ran("bearing", grand, "--csv", path).code == 0  # its own result may be replaced
    mine = tmp_path / "mine.csv"
    mine.write_text("note\n1\n", encoding="utf-8")
    refused = ran("bearing", grand, "--csv", mine)
    assert refused.code == 2
    assert "is there already and is no result of bellywork" in refused.err
    assert mine.read_text(encoding="utf-8") == "note\n1\n"


def test_a_board_that_must_be_mended_is_not_answered(ran, grand: Path, tmp_path: Path) -> None:
    folder = copytree(grand, tmp_path / "wrong")
    path = folder / "notes.csv"
    path.write_text(path.read_text(encoding="utf-8").replace("1,bass,bass,1500.0", "1,bass,bass,-1500.0"))
    answer = ran("bearing", folder)
    assert answer.code == 2
    assert answer.out == ""
    assert "notes.csv, row 2, column speaking_mm" in answer.err
    checked = ran("check", folder, "--json")
    assert checked.code == 1
    valid(checked.json)


def test_check_of_a_sound_board_finds_nothing(ran, grand: Path) -> None:
    answer = ran("check", grand)
    assert answer.code == 0, answer.out
    assert answer.out == f"{read_board(grand).board.name}: nothing found to mend.\n"


def test_season_prints_the_year_and_its_json_is_as_documented(ran, tmp_path: Path) -> None:
    picture = tmp_path / "year.svg"
    answer = ran("season", LOPSIDED, "--rh", "35,50", "--json", "--plot", picture)
    valid(answer.json)
    assert answer.json["rh_percent"] == [35.0, 50.0]
    assert all(note["net_deg"][1] > note["net_deg"][0] for note in answer.json["notes"])
    assert picture.read_text(encoding="utf-8").startswith("<?xml")
    shown = ran("season", LOPSIDED, "--rh", "35,50")
    for words in ("Net bearing, strung", "Height of the bridge", "Crown of each rib", "Downforce in all", "no creep"):
        assert words in shown.out


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("season", "--rh", "130"), "expected one from 0 to 100 %"),
        (("season", "--plot", "year.pdf"), "expected a name that ends in .png or .svg"),
        (("season", "--temperature", "400"), "A temperature of 400 is outside -1 to 100 °C."),
        (("bearing", "--rh", "30:40"), "'bellywork season' takes a range"),
    ],
)
def test_wrong_climates_are_refused_in_a_sentence(ran, grand: Path, words: tuple[str, ...], sentence: str) -> None:
    answer = ran(words[0], grand, *words[1:])
    assert answer.code == 2
    assert sentence in answer.err
    assert answer.out == ""


def test_plane_and_bearing_take_another_humidity(ran) -> None:
    damp = ran("bearing", LOPSIDED, "--rh", "55", "--state", "strung", "--json").json
    valid(damp)
    here = ran("bearing", LOPSIDED, "--state", "strung", "--json").json
    assert all(a["net_deg"] > b["net_deg"] for a, b in zip(damp["notes"], here["notes"]))
    planed = ran("plane", LOPSIDED, "--rh", "45", "--json").json
    valid(planed)
    assert any("45 % RH" in sentence for sentence in planed["assumptions"])


@pytest.mark.parametrize(("folder", "code"), [("columns-swapped", 1), ("note-twice", 1), ("toml-unreadable", 2)])
def test_check_tells_findings_from_unusable_input(ran, grand: Path, folder: str, code: int) -> None:
    answer = ran("check", grand.parent / "broken" / folder)
    assert answer.code == code
    assert f"[{folder}]" in answer.out


def test_what_if_the_plate_stood_lower_is_told_beside_what_is(ran) -> None:
    """Plain geometry: by hand a plate 0.5 mm lower gives 0.5 · (1/L_f + 1/L_r) more, in inches as in mm."""
    folder = Path(__file__).parents[2] / "sample_boards" / "string_line_inches"
    now = ran("bearing", folder, "--json").json["notes"]
    answer = ran("bearing", folder, "--plate-up", "-0.5", "--json").json
    valid(answer)
    inches = ran("bearing", folder, "--plate-up", str(-0.5 / 25.4), "--units", "in", "--json").json["notes"]
    for was, note, other in zip(now, answer["notes"], inches):
        assert note["against_net_deg"] == was["net_deg"]
        assert note["net_change_deg"] == pytest.approx(0.5 * was["degrees_per_mm"], rel=0.02)
        assert other["net_deg"] == pytest.approx(note["net_deg"], abs=1e-9)
    assert answer["headline"][0] == "What if: the plate up by -0.50 mm."
    out = ran("bearing", folder, "--plate-up", "-0.5").out
    assert "before" in out
    assert "change" in out
    assert ran("bearing", folder, "--tilt", "0.5").code == 2
    assert ran("bearing", folder, "--tilt", "0.5,0").code == 2  # without the plan


def test_a_board_is_compared_with_another(ran, grand: Path) -> None:
    folder = Path(__file__).parents[2] / "sample_boards" / "string_line_inches"
    same = ran("bearing", folder, "--against", folder, "--json").json
    assert {note["net_change_deg"] for note in same["notes"]} == {0.0}
    other = ran("bearing", folder, "--against", grand, "--json").json
    theirs = {note["note"]: note["net_deg"] for note in ran("bearing", grand, "--json").json["notes"]}
    for note in other["notes"]:
        assert note["against_net_deg"] == theirs[note["note"]]
    assert other["headline"][0] == "Before: Seven-foot grand, invented, the bare board."
    assert len({each["fingerprint"] for each in (same, other, ran("bearing", folder, "--json").json)}) == 3
    assert ran("bearing", folder, "--against", folder, "--plate-up", "1").code == 2


def test_what_if_it_had_other_strings_or_other_targets(ran, tmp_path: Path) -> None:
    folder = Path(__file__).parents[2] / "sample_boards" / "string_line_inches"
    now = {each["note"]: each for each in ran("bearing", folder, "--json").json["notes"]}
    targets = tmp_path / "softer.csv"
    targets.write_text("section,net_deg\nbass,0.5\ntenor,0.6\ntreble,0.7\ntop,0.8\n", encoding="utf-8")
    answer = ran("bearing", folder, "--targets", targets, "--json").json
    text = targets.read_text(encoding="utf-8")
    targets.write_text(text.replace("0.5", "0.4"), encoding="utf-8")
    assert ran("bearing", folder, "--targets", targets, "--json").json["fingerprint"] != answer["fingerprint"]
    targets.write_text(text, encoding="utf-8")
    assert ran("bearing", folder, "--targets", targets, "--json").json["fingerprint"] == answer["fingerprint"]
    valid(answer)
    assert answer["headline"][0] == "What if: the targets of softer.csv."
    for note in answer["notes"]:
        assert note["net_change_deg"] == 0.0
        assert note["target_net_deg"] == {"bass": 0.5, "tenor": 0.6, "treble": 0.7, "top": 0.8}[note["section"]]
        assert note["deviation_deg"] == pytest.approx(now[note["note"]]["net_deg"] - note["target_net_deg"])
    scale = tmp_path / "thin.csv"
    scale.write_text((folder / "scale.csv").read_text(encoding="utf-8"), encoding="utf-8")
    same = ran("bearing", folder, "--scale", scale, "--json").json
    assert [each["tension_N"] for each in same["notes"]] == [each["tension_N"] for each in now.values()]
    missing = ran("bearing", folder, "--scale", tmp_path / "none.csv")
    assert (missing.code, missing.out) == (2, "")
    assert "none.csv" in missing.err
    both = ran("bearing", folder, "--targets", targets, "--plate-up", "1")
    assert both.code == 2
    assert "expected one what-if at a time" in both.err


def test_a_negative_tilt_is_read_as_it_is_typed(ran) -> None:
    """`--tilt -0.2,0.1` as `--tilt=-0.2,0.1`: what begins with a minus and a digit is a number."""
    parted = ran("bearing", LOPSIDED, "--tilt", "-0.2,0.1", "--json")
    assert parted.code in (0, 1)
    assert parted.json == ran("bearing", LOPSIDED, "--tilt=-0.2,0.1", "--json").json
