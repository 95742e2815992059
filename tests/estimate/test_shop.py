"""A shop's memory. Kind of every expected number: independent path (the whole joint normal, conditioned at once),
closed form, or planted boards of another road (large deflection on other cells, factors fixed before the result)."""

import csv
import json
import tomllib
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from planted import Truth, stiffened

from bellywork.board.shop import Shop
from bellywork.cli.main import main
from bellywork.estimate.shop import KEYS, SHARED, pooled, prior_of, usual
from bellywork.estimate.unknowns import Unknown, scatter, unknowns_of
from bellywork.files.read import read_board
from bellywork.files.shop_file import shop_text
from bellywork.instrument import prepared

LOPSIDED = Path(__file__).resolve().parents[2] / "sample_boards" / "lopsided_board"
BOOK = np.array([scatter()[key] ** 2 for key in KEYS])


def taught(slopes, read, sigma, keys=KEYS):
    """An estimate from readings y = J θ + noise: the posterior in closed form, beside an unknown of the board's own."""
    unknowns = (*(Unknown(key=key, words=key, sigma=scatter()[key]) for key in keys),
                Unknown(key="rib", words="rib 1", sigma=0.1, rib="1"))  # fmt: skip
    prior = np.diag([each.sigma**2 for each in unknowns])
    covariance = np.linalg.inv(np.linalg.inv(prior) + slopes.T @ slopes / sigma**2)
    board = SimpleNamespace(
        name="b", needed_body=lambda _: SimpleNamespace(panel=SimpleNamespace(wood=SimpleNamespace(name="spruce")))
    )
    return SimpleNamespace(
        unknowns=unknowns,
        prior=prior,
        covariance=covariance,
        value=covariance @ slopes.T @ read / sigma**2,
        described=SimpleNamespace(board=board),
    )


def test_pooling_is_conditioning_the_joint_normal_of_all_boards():
    """Independent path: mean, and every board's own departures, as one normal vector of 8 + 3 · 9 + 8 numbers; all
    readings of three boards conditioned on at once; then the next board is its mean and departures.
    """
    draw = np.random.default_rng(11)
    n, boards = len(KEYS), []
    joint = [np.diag(SHARED * BOOK)]
    for _ in range(3):
        boards.append((draw.normal(size=(4, n + 1)), draw.normal(0.0, 0.2, 4)))
        joint += [np.diag((1.0 - SHARED) * BOOK), np.diag([0.1**2])]
    joint.append(np.diag((1.0 - SHARED) * BOOK))
    size = sum(len(each) for each in joint)
    prior, at = np.zeros((size, size)), 0
    for each in joint:
        prior[at : at + len(each), at : at + len(each)] = each
        at += len(each)
    rows, read = [], []
    for k, (slopes, seen) in enumerate(boards):
        row = np.zeros((4, size))
        row[:, :n] = slopes[:, :n]
        row[:, n + k * (n + 1) : n + (k + 1) * (n + 1)] = slopes
        rows.append(row)
        read.append(seen)
    J, y = np.vstack(rows), np.concatenate(read)
    gain = prior @ J.T @ np.linalg.inv(J @ prior @ J.T + 0.05**2 * np.eye(len(y)))
    mean, left = gain @ y, prior - gain @ J @ prior
    following = np.hstack([np.eye(n), np.zeros((n, size - 2 * n)), np.eye(n)])
    shop = pooled([taught(slopes, seen, 0.05) for slopes, seen in boards])
    np.testing.assert_allclose(shop.mean, following @ mean, atol=1e-10)
    np.testing.assert_allclose(shop.covariance, following @ left @ following.T, atol=1e-10)
    assert shop.boards == ("b", "b", "b")
    assert shop.woods == ("spruce",)


def test_a_board_that_tells_nothing_leaves_the_book_and_many_sure_ones_leave_their_own_scatter():
    nothing = pooled([taught(np.zeros((1, len(KEYS) + 1)), np.zeros(1), 1.0)])
    np.testing.assert_allclose(nothing.mean, 0.0, atol=1e-12)
    np.testing.assert_allclose(nothing.covariance, np.diag(BOOK), atol=1e-12)
    J = np.eye(len(KEYS), len(KEYS) + 1)
    there = np.linspace(-0.3, 0.2, len(KEYS))
    many = pooled([taught(J, there, 1e-4)] * 4000)
    np.testing.assert_allclose(many.mean, there, atol=1e-3)
    np.testing.assert_allclose(np.diag(many.covariance), (1.0 - SHARED) * BOOK, rtol=1e-3)


def test_a_rim_taken_at_its_word_teaches_nothing_about_rims():
    keys = [key for key in KEYS if not key.startswith("rim")]
    shop = pooled([taught(np.eye(len(keys), len(keys) + 1), np.full(len(keys), -0.1), 0.01, keys)])
    rims = [key.startswith("rim") for key in KEYS]
    assert np.all(shop.mean[rims] == 0.0)
    np.testing.assert_allclose(shop.covariance[np.ix_(rims, rims)], np.diag(BOOK[rims]), atol=1e-12)
    # one board surely known says half of what it is of the shop, as half of the variance is the shop's
    np.testing.assert_allclose(shop.mean[~np.array(rims)], -0.1 * SHARED, rtol=0.01)


def shop_of(mean=-0.2) -> Shop:
    covariance = np.diag(0.25 * BOOK)
    covariance[0, 3] = covariance[3, 0] = -0.001
    return Shop(
        boards=("a", "b"), woods=("sitka_spruce",), keys=KEYS, mean=np.full(len(KEYS), mean), covariance=covariance
    )


def test_the_prior_is_the_shops_for_what_is_shared_and_the_books_for_the_rest():
    body = prepared(read_board(LOPSIDED).board).board.needed_body("a test")
    unknowns = unknowns_of(body)
    book, prior = prior_of(unknowns), prior_of(unknowns, shop_of())
    place = {unknown.key: k for k, unknown in enumerate(unknowns)}
    for k, unknown in enumerate(unknowns):
        assert prior[k, k] == pytest.approx((0.25 if unknown.key in KEYS else 1.0) * book[k, k])
    assert prior[place["panel_along"], place["ribs"]] == prior[place["ribs"], place["panel_along"]] == -0.001


def test_the_usual_board_has_the_shops_factors():
    ready = prepared(replace(read_board(LOPSIDED).board, shop=shop_of()))
    here, there = ready.board.needed_body("a test"), usual(ready).board.needed_body("a test")
    factor = np.exp(-0.2)
    assert there.panel.wood.E_L == pytest.approx(factor * here.panel.wood.E_L)
    assert there.ribs[0].wood.E_L == pytest.approx(factor * here.ribs[0].wood.E_L)
    np.testing.assert_array_equal(there.panel.thickness_points_mm, here.panel.thickness_points_mm)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("bellywork-shop/1", "bellywork-shop/9"),
        ("mean = [", "mean = [0.1, "),
        ("mean = [-0.2", "mean = [-20.0"),
        ('"panel_across"', '"panel_along"'),
        ("covariance", "variance"),
        ("-0.001", "-1.0"),
    ],
)
def test_a_file_in_which_something_is_amiss_is_a_finding(tmp_path: Path, old: str, new: str):
    folder = tmp_path / "board"
    folder.mkdir()
    for path in LOPSIDED.iterdir():
        if path.name != "readings.csv":  # they are of the board that was not planted softer
            (folder / path.name).write_bytes(path.read_bytes())
    with (folder / "board.toml").open("a", encoding="utf-8") as toml:
        toml.write('\n[shop]\nfile = "../mine.toml"\n')
    (tmp_path / "mine.toml").write_text(shop_text(shop_of()), encoding="utf-8")
    sound = read_board(folder)
    np.testing.assert_array_equal(sound.board.shop.covariance, shop_of().covariance)
    text = shop_text(shop_of())
    assert old in text
    (tmp_path / "mine.toml").write_text(text.replace(old, new), encoding="utf-8")
    spoiled = read_board(folder)
    assert [each.code for each in spoiled.findings] == ["shop-unreadable"]
    assert spoiled.fingerprint != sound.fingerprint


def planted(folder: Path, factor: float, noise: np.random.Generator) -> Truth:
    """The lopsided board with panel and ribs of this factor, pressed at three notes and read at all three."""
    board = prepared(read_board(LOPSIDED).board).board
    body = board.needed_body("a test")
    soft = replace(
        body,
        panel=replace(body.panel, wood=stiffened(body.panel.wood, factor, factor, factor)),
        ribs=tuple(replace(rib, wood=stiffened(rib.wood, factor, factor, factor)) for rib in body.ribs),
    )
    truth = Truth(board=board, body=soft, cell_mm=31.0)
    places = board.needed_plan("a test").middle_mm[[0, 14, 33]]
    folder.mkdir(parents=True)
    for path in LOPSIDED.iterdir():
        if path.name != "readings.csv":  # they are of the board that was not planted softer
            (folder / path.name).write_bytes(path.read_bytes())
    with (folder / "trials.csv").open("w", encoding="utf-8", newline="") as file:
        rows = csv.writer(file)
        rows.writerow(["trial", "at_x_mm", "at_y_mm", "force_N", "read_x_mm", "read_y_mm", "sink_mm"])
        for k, at in enumerate(places):
            sink = truth.sunk_mm(at[None], [150.0], places) + noise.normal(0.0, 0.015, 3)
            rows.writerows([k, *at, 150, *there, f"{mm:.2f}"] for there, mm in zip(places, sink))
    return truth


@pytest.mark.slow
def test_the_next_board_of_a_soft_shop_is_told_nearer_and_surer(tmp_path: Path, capsys):
    """Three boards a fifth softer than described; the fourth, of which nothing was read, has the bearing of a truth as
    soft: told with less than half of the book's error, its band narrower and still round the truth.
    """

    def ran(*words: object) -> SimpleNamespace:
        code = main([str(word) for word in words])
        out = capsys.readouterr().out
        return SimpleNamespace(code=code, out=out, json=json.loads(out) if "--json" in words else None)

    noise = np.random.default_rng(20261127)
    folders = [tmp_path / f"board {k}" for k in range(3)]
    for folder, factor in zip(folders, (0.76, 0.80, 0.84)):
        planted(folder, factor, noise)
    learned = ran("learn", *folders, "--to", tmp_path / "shop.toml", "--json")
    assert learned.code == 0
    # panel and ribs a fifth softer, rim and bridges as they were: the board sinks more by somewhat less than a quarter
    assert all(0.1 < each["sink_share"] < 0.35 for each in learned.json["boards"])
    assert [(each["board"], each["dials"]) for each in learned.json["boards"]] == [("Lopsided board, invented", 9)] * 3
    shifts = {each["what"]: each for each in learned.json["unknowns"]}
    written = tomllib.loads((tmp_path / "shop.toml").read_text(encoding="utf-8"))
    told_ends = [
        (each["shift_share_low"], each["shift_share"], each["shift_share_high"]) for each in learned.json["unknowns"]
    ]
    for (low, middle, high), mean, row, k in zip(told_ends, written["mean"], written["covariance"], range(8)):
        half = 1.96 * np.sqrt(row[k])  # closed form, logarithms
        np.testing.assert_allclose((low, middle, high), np.exp([mean - half, mean, mean + half]) - 1.0, rtol=1e-4)
    assert -0.2 < shifts["ribs"]["shift_share"] < -0.03
    assert shifts["ribs"]["shift_share_low"] > shifts["ribs"]["book_share_low"] - 0.1
    last = tmp_path / "next"
    truth = planted(last, 0.80, noise).net_deg()
    (last / "trials.csv").unlink()
    with (last / "board.toml").open("a", encoding="utf-8") as toml:
        toml.write('\n[shop]\nfile = "../shop.toml"\n')
    told = ran("bearing", last, "--state", "strung", "--json").json
    book = ran("bearing", last, "--state", "strung", "--as-described", "--band", "--json").json
    off, off_book = (np.array([note["net_deg"] for note in each["notes"]]) - truth for each in (told, book))
    assert np.sqrt(np.mean(off**2)) < 0.5 * np.sqrt(np.mean(off_book**2))
    for note, net, wide in zip(told["notes"], truth, book["notes"]):
        assert note["net_deg_low"] < net < note["net_deg_high"]
        assert note["net_deg_high"] - note["net_deg_low"] < wide["net_deg_high"] - wide["net_deg_low"]
    assert any("From the shop's memory of 3 boards (sitka spruce)" in line for line in told["headline"])
    out = ran("learn", *folders[:1], last, "--to", tmp_path / "shop.toml").out
    assert "nothing was read that tells how soft it is" in out
    assert ran("learn", last, "--to", tmp_path / "none.toml").code == 2
    assert ran("learn", folders[0], "--to", last / "board.toml").code == 2
    assert not (tmp_path / "none.toml").exists()
