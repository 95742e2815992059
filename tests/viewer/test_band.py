"""The band in colour: on each string the band that the commands tell, and nothing where none is known."""

import json
import shutil
from pathlib import Path

import numpy as np
import pytest
from bellywork_viewer import plots as flat
from bellywork_viewer.page import page, page_data
from bellywork_viewer.palette import STEEL
from bellywork_viewer.scene import Stage
from bellywork_viewer.shot import session_palette
from bellywork_viewer.situation import Setting, Shown
from stages import SAMPLES, stage

from bellywork.cli.main import main
from bellywork.errors import MissingLayer
from bellywork.estimate.estimate import estimated
from bellywork.files.read import read_board

TRIALS = "trial,at,force_N,read,sink_mm\n1,46,200,46,0.41\n2,70,250,70,0.30\n"  # invented
BROWSER = shutil.which("chromium") or shutil.which("chromium-browser")
UNKNOWN_WORDS = r"^The band of the net bearing is not known here: it is where loads were pressed on the board"


@pytest.fixture(scope="module")
def board(tmp_path_factory: pytest.TempPathFactory) -> Path:
    copied = Path(shutil.copytree(SAMPLES / "lopsided_board", tmp_path_factory.mktemp("band") / "board"))
    (copied / "trials.csv").write_text(TRIALS)
    (copied / "readings.csv").unlink()  # of what was pressed alone
    return copied


@pytest.fixture(scope="module")
def learned(board: Path) -> Stage:
    estimate = estimated(read_board(board).board)
    return Stage(estimate.ready, estimate=estimate)


@pytest.mark.parametrize(
    ("shown", "words", "name"),
    [
        (Shown.STRUNG, ("bearing", "--state", "strung"), "net_deg"),
        (Shown.PLANED, ("plane",), "planed_net_deg"),
    ],
)
def test_each_string_has_the_colour_of_the_band_that_the_command_prints(
    board: Path, learned: Stage, capsys: pytest.CaptureFixture[str], shown: Shown, words: tuple[str, ...], name: str
) -> None:
    main([words[0], str(board), *words[1:], "--json"])
    rows = json.loads(capsys.readouterr().out)["notes"]
    half = np.array([(row[f"{name}_high"] - row[f"{name}_low"]) / 2.0 for row in rows])
    assert half.min() > 0.0
    assert np.ptp(half) > 0.01  # or one colour would pass for every note
    situation = learned.desk.situation(Setting(shown=shown))
    np.testing.assert_allclose(situation.band_deg, half, rtol=1e-9)
    strings = learned.drawn(situation, colour="band").surfaces["strings"]
    for row, wide in zip(rows, half.tolist()):
        np.testing.assert_allclose(strings.value[strings.note == row["note"]], wide, rtol=1e-9)
    palette = session_palette([learned], [[situation]], "band")
    np.testing.assert_array_equal(strings.rgb, palette.colours(strings.value))
    assert palette.low <= half.min() + 0.1 * np.ptp(half)
    assert palette.high >= half.max() - 0.1 * np.ptp(half)


def test_the_flat_plots_draw_the_bands_that_the_commands_print(
    board: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    given = []
    monkeypatch.setattr(flat, "plots", lambda *_, bands, **__: given.append(bands) or {})
    main(["view", str(board), "--plots", str(tmp_path)])
    main(["view", str(board), "--plots", str(tmp_path), "--as-described"])
    learned, described = given
    assert described is None
    for words, names in ((["bearing", str(board), "--state", "strung"], ("net_deg",)),
                         (["plane", str(board)], ("faired_front_mm", "faired_rear_mm"))):  # fmt: skip
        capsys.readouterr()
        main([*words, "--json"])
        rows = json.loads(capsys.readouterr().out)["notes"]
        for name in names:
            for k, end in enumerate(("low", "high")):
                printed = [row[f"{name}_{end}"] for row in rows]
                np.testing.assert_allclose(learned[name][k], printed, rtol=1e-9, atol=1e-12)


def test_it_is_unknown_where_it_was_measured_and_where_something_was_changed(learned: Stage) -> None:
    for setting in (Setting(shown=Shown.BARE), Setting(plate_up_mm=0.5), Setting(rh_percent=60.0)):
        situation = learned.desk.situation(setting)
        assert np.isnan(situation.band_deg).all()
        strings = learned.drawn(situation, colour="band").surfaces["strings"]
        assert {tuple(rgb) for rgb in strings.rgb.tolist()} == {STEEL}


def test_the_page_offers_it_only_where_it_is_known(learned: Stage) -> None:
    told = page_data(learned, Setting())
    assert list(told["colours"]) == ["deviation", "plane", "band", "force", "sink", "crown"]
    assert all(set(state["colours"]) == set(told["colours"]) for state in told["states"])
    assert "band" not in page_data(stage(), Setting())["colours"]
    with pytest.raises(MissingLayer, match=UNKNOWN_WORDS):
        page_data(stage(), Setting(), colour="band")


def test_a_picture_of_what_is_not_known_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    grand = SAMPLES / "seven_foot_grand"
    assert main(["view", str(grand), "--colour", "band", "--shot", str(tmp_path / "x.png")]) == 2
    assert "The band of the net bearing is not known here" in capsys.readouterr().err
    assert not (tmp_path / "x.png").exists()


@pytest.mark.skipif(BROWSER is None, reason="no Chromium here; the project's own checks install it")
@pytest.mark.slow
def test_the_page_says_in_which_state_it_is_not_known(learned: Stage, tmp_path: Path) -> None:
    from playwright.sync_api import sync_playwright

    told = page_data(learned, Setting(), colour="band")
    assert {state["name"]: state["colours"]["band"]["known"] for state in told["states"]} == {
        "bare": False, "strung as it is now": True, "strung after planing": True,
    }  # fmt: skip
    (tmp_path / "p.html").write_text(page(learned, Setting(), colour="band"), encoding="utf-8")
    with sync_playwright() as play:
        browser = play.chromium.launch(
            executable_path=BROWSER, args=["--no-sandbox", "--use-angle=swiftshader", "--enable-unsafe-swiftshader"]
        )
        shown = browser.new_page()
        shown.goto((tmp_path / "p.html").as_uri())
        shown.locator('#view[data-drawn]:not([data-drawn="0"])').wait_for(timeout=90_000)
        assert shown.locator("#heading").inner_text() == "band of the net bearing, °"
        shown.locator("#state").select_option(label="bare")
        assert shown.locator("#heading").inner_text() == "band of the net bearing, °: not known in this state"
        shown.locator("#colour").select_option("deviation")
        assert shown.locator("#heading").inner_text() == "off target, °"
        browser.close()
