"""Answers kept between runs. Kind of every expected number: invariant."""

import os
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from bellywork import kept as keeping
from bellywork.board import State
from bellywork.board.woods import wood
from bellywork.kept import folder, kept


@pytest.fixture(autouse=True)
def empty(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))


class Maker:
    def __init__(self, value: float = 1.5) -> None:
        self.times, self.value = 0, value

    def __call__(self) -> dict[str, np.ndarray]:
        self.times += 1
        return {"sink": np.full((2, 3), self.value), "none": np.zeros((0, 2))}


def test_the_second_time_nothing_is_made() -> None:
    maker = Maker()
    first, second = kept("a", {"b": 1.0}, maker), kept("a", {"b": 1.0}, maker)
    assert maker.times == 1
    np.testing.assert_array_equal(first["sink"], second["sink"])
    assert second["none"].shape == (0, 2)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        (1.0, 1.0 + 1e-15),
        ((1.0, 2.0), ((1.0,), 2.0)),
        (("ab", "c"), ("a", "bc")),
        (np.zeros((2, 3)), np.zeros((3, 2))),
        (np.zeros(2), np.zeros(2, dtype=np.int64)),
        (State.BARE, State.STRUNG),
        (None, 0.0),
        (wood("sitka_spruce"), replace(wood("sitka_spruce"), E_L=wood("sitka_spruce").E_L + 1e-6)),
    ],
)
def test_whatever_differs_is_kept_apart(one: object, other: object) -> None:
    maker = Maker()
    kept("a", one, maker)
    kept("a", other, maker)
    assert maker.times == 2
    kept("b", one, maker)
    assert maker.times == 3


def test_other_code_makes_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    maker = Maker()
    kept("a", 1, maker)
    monkeypatch.setattr(keeping, "code_fingerprint", lambda: "other")
    kept("a", 1, maker)
    assert maker.times == 2


@pytest.mark.parametrize("spoil", ["cut", "bit", "empty", "other"])
def test_a_spoiled_file_is_never_trusted(spoil: str) -> None:
    maker = Maker()
    kept("a", 1, maker)
    (file,) = folder().iterdir()
    whole = bytearray(file.read_bytes())
    at = whole.index(np.float64(1.5).tobytes())
    whole[at] ^= 1
    contents = {"cut": bytes(whole[: len(whole) // 2]), "bit": bytes(whole), "empty": b"", "other": b"not arrays"}
    file.write_bytes(contents[spoil])
    assert kept("a", 1, maker)["sink"].tolist() == [[1.5] * 3] * 2
    assert maker.times == 2


def test_an_honest_looking_file_with_other_numbers_is_not_trusted() -> None:
    maker = Maker()
    kept("a", 1, maker)
    (file,) = folder().iterdir()
    with np.load(file) as stored:
        arrays = dict(stored)
    np.savez(file, **{**arrays, "sink": arrays["sink"] + 1.0})
    assert kept("a", 1, maker)["sink"][0, 0] == 1.5


@pytest.mark.skipif(os.geteuid() == 0 if hasattr(os, "geteuid") else True, reason="root writes anywhere")
def test_a_folder_that_cannot_be_written_keeps_nothing() -> None:
    folder().parent.mkdir(parents=True, exist_ok=True)
    folder().parent.chmod(0o500)
    maker = Maker()
    assert kept("a", 1, maker)["sink"][0, 0] == kept("a", 1, maker)["sink"][0, 0] == 1.5
    assert maker.times == 2


def test_a_file_in_the_folders_place_keeps_nothing() -> None:
    folder().parent.mkdir(parents=True)
    folder().write_text("mine")
    maker = Maker()
    kept("a", 1, maker)
    kept("a", 1, maker)
    assert maker.times == 2
    assert folder().read_text() == "mine"


def test_what_was_not_used_for_longest_goes_first(monkeypatch: pytest.MonkeyPatch) -> None:
    kept("a", 1, Maker())
    (first,) = folder().iterdir()
    monkeypatch.setattr(keeping, "MOST_BYTES", int(2.5 * first.stat().st_size))
    os.utime(first, (1, 1))
    kept("b", 1, Maker())
    kept("a", 1, Maker())  # used again: now b is the older one
    b = next(file for file in folder().iterdir() if file != first)
    os.utime(b, (2, 2))
    kept("c", 1, Maker())
    assert first.exists()
    assert not b.exists()
    assert sum(file.stat().st_size for file in folder().iterdir()) <= keeping.MOST_BYTES


def test_many_at_once_all_get_their_own() -> None:
    def one(k: int) -> float:
        return float(kept("a", k % 3, Maker(float(k % 3)))["sink"][0, 0])

    with ThreadPoolExecutor(8) as pool:
        assert list(pool.map(one, range(48))) == [float(k % 3) for k in range(48)]
    assert sorted(file.suffix for file in folder().iterdir()) == [".npz"] * 3
