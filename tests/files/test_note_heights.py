"""Notes read in each of the shop's ways, from the table on: every one gives the same string. Kind of every expected
number: hand calculation and invariant.
"""

from pathlib import Path

import numpy as np
import pytest
from small import TEXTS, write_small

from bellywork.errors import UnusableInput
from bellywork.files.read import BoardFile, read_board
from bellywork.geometry.string_line import bearing

HEAD = "note,section,bridge,speaking_mm,rows_mm,back_mm,"
LEVEL = "front_height_mm,bridge_front_mm,bridge_rear_mm,rear_height_mm"


def read(tmp_path: Path, notes: str, *, measured: str = "", **texts: str) -> BoardFile:
    toml = TEXTS["board.toml"].replace("[measured]\n", f"[measured]\n{measured}\n")
    changed = {"notes.csv": notes, "board.toml": toml} | {f"{name}.csv": text for name, text in texts.items()}
    return read_board(write_small(tmp_path / "board", ("board.toml", "notes.csv"), changed))


def sound(tmp_path: Path, notes: str, **more: str) -> np.ndarray:
    found = read(tmp_path, notes, **more)
    assert found.findings == ()
    turned = bearing(found.board.strings)
    return np.stack([turned.front_deg, turned.rear_deg])


def test_down_from_a_straightedge_is_up_from_a_level(tmp_path: Path) -> None:
    up = sound(tmp_path / "up", TEXTS["notes.csv"])
    rows = [line.split(",") for line in TEXTS["notes.csv"].splitlines()[1:]]
    depths = "\n".join(",".join([*row[:6], *(f"{150.0 - float(cell):.1f}" for cell in row[6:])]) for row in rows)
    down = sound(tmp_path / "down", f"{HEAD}{LEVEL}\n{depths}\n", measured='heights = "down"')
    np.testing.assert_allclose(down, up, atol=1e-10)


def test_a_straightedge_over_the_glue_line_gives_heights_over_it(tmp_path: Path) -> None:
    notes = f"{HEAD}{LEVEL}\n40,middle,long,640,16,90,116.4,108,108,109.2\n"
    known = read(tmp_path / "a", notes, measured='heights = "down"\nstraightedge_mm = 150').board.strings
    assert (known.bridge_front_mm[0], known.rear_height_mm[0]) == pytest.approx((42.0, 40.8))
    assert known.levelled
    assert not read(tmp_path / "b", notes, measured='heights = "down"').board.strings.levelled


def test_the_gap_over_a_thread_is_the_same_string(tmp_path: Path) -> None:
    """By hand, note 40: the thread stands at 33.6 + 7.2 · 640/746 = 39.777 and 33.6 + 7.2 · 656/746 = 39.931 mm, the
    top at 42: gaps of 2.223 and 2.069 mm.
    """
    level = sound(tmp_path / "level", TEXTS["notes.csv"])[:, :1]
    gaps = sound(tmp_path / "gap", f"{HEAD}gap_front_mm,gap_rear_mm\n40,middle,long,640,16,90,2.223,2.069\n")
    np.testing.assert_allclose(gaps, level, atol=0.003)


def test_mixtures_are_read_note_by_note(tmp_path: Path) -> None:
    level = sound(tmp_path / "level", TEXTS["notes.csv"])
    front, rear = level[:, 2]
    mixed = (
        f"{HEAD}{LEVEL},gap_front_mm,gap_rear_mm,front_bearing_deg,rear_bearing_deg\n"
        "40,middle,long,640,16,90,,,,,2.223,2.069,,\n"
        "49,middle,long,390,16,90,36.9,42,42,40.8,,,,\n"
        f"60,middle,long,225,16,90,,,,,,,{front},{rear}\n"
    )
    found = read(tmp_path / "mixed", mixed)
    turned = bearing(found.board.strings)
    np.testing.assert_allclose(np.stack([turned.front_deg, turned.rear_deg]), level, atol=0.003)
    assert not found.board.strings.levelled
    assert found.board.reading == (
        "By the gap over a thread: note 40 (C4); a reading that is 0.1 mm off is up to 0.06° of net there.",
        "By an angle gauge: note 60 (G♯5); a reading that is 0.1° off is up to 0.14° of net there.",
    )


def test_a_block_and_a_dial_say_that_they_tell_the_net_only(tmp_path: Path) -> None:
    notes = f"{HEAD}block_mm,dial_mm,dial_span_mm\n40,m,long,640,16,90,1.57,,\n49,m,long,390,16,90,,0.152,50.8\n"
    found = read(tmp_path, notes)
    np.testing.assert_allclose(bearing(found.board.strings).net_deg, [1.0, 1.0], atol=0.01)
    assert all(said.endswith("half of it is taken to be in front.") for said in found.board.reading)


def test_a_capo_bar_lies_on_the_string(tmp_path: Path) -> None:
    """By hand: a bar read at its edge is one wire over the string's underside: 0.8 mm on 51.5 mm is 0.89°."""
    scale = "note,unisons,wire_mm\n88,3,0.8\n"
    row = "88,top,long,51.5,9.5,58,38.27,39.92,39.97,38.18,{}\n"
    nets = {
        kind: sound(tmp_path / kind, f"{HEAD}{LEVEL},front\n{row.format(kind)}", scale=scale).sum()
        for kind in ("agraffe", "pin", "capo")
    }
    assert nets["agraffe"] == nets["pin"]
    assert nets["capo"] - nets["agraffe"] == pytest.approx(np.degrees(0.8 / 51.5), rel=0.01)


def test_the_scale_may_know_every_note(tmp_path: Path) -> None:
    scale = "note,unisons,wire_mm\n" + "".join(f"{note},3,{1.1 - note / 300:.3f}\n" for note in range(1, 89))
    found = read(tmp_path, TEXTS["notes.csv"], scale=scale)
    assert found.findings == ()
    from bellywork.geometry.completed import completed

    whole = completed(found.board).board
    np.testing.assert_allclose(whole.scale.wire_mm, [round(1.1 - note / 300, 3) for note in range(40, 61)])


def test_wire_by_its_number(tmp_path: Path) -> None:
    """Metric gauge from memory: 12 is 0.725 mm and each number 0.05 mm more; inch gauge 16 is 0.037 in (handbook)."""
    scale = "note,unisons,wire_number,wire_mm\n40,3,18 1/2,\n49,3,17,\n60,3,,0.9\n"
    for gauge, sizes in (("metric", (1.05, 0.975, 0.9)), ("inch", (0.042 * 25.4, 0.039 * 25.4, 0.9))):
        toml = TEXTS["board.toml"] + f'\n[scale]\ngauge = "{gauge}"\n'
        folder = write_small(tmp_path / gauge, ("board.toml", "notes.csv"), {"scale.csv": scale, "board.toml": toml})
        found = read_board(folder)
        assert found.findings == ()
        np.testing.assert_allclose(found.board.scale.wire_mm, sizes)


def test_hints_suggest_no_unit_or_state_that_was_not_meant(tmp_path: Path) -> None:
    with pytest.raises(UnusableInput, match=r"Did you mean speaking_mm\?"):
        read(tmp_path / "a", TEXTS["notes.csv"].replace("speaking_mm", "Speaking_MM"))
    for word, remedy in (
        ("half strung", "Known are: bare, preloaded, strung, part-strung."),
        ("part strung", "Did you mean part-strung?"),
    ):
        toml = TEXTS["board.toml"].replace('"bare"', f'"{word}"')
        found = read_board(write_small(tmp_path / word, ("notes.csv",), {"board.toml": toml}))
        assert [each.remedy for each in found.findings] == [remedy]
