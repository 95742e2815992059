"""Colours. Kinds of expected numbers: published (CIELAB of CIE 15 and the Machado matrices are general knowledge; the
Lab of sRGB red is a handbook value), invariants."""

import numpy as np
import pytest
from bellywork_viewer.palette import NEUTRAL, UNKNOWN, Palette, _lab, fitting

DIVERGING = Palette(low=-1.0, high=1.0, neutral=0.1)
RAMP = Palette(low=0.0, high=4.0, neutral=None)

# Machado, Oliveira and Fernandes (2009), severity 1.0, for linear RGB; from memory
BLIND = {
    "protan": [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]],
    "deutan": [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]],
    "tritan": [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]],
}


def seen_by(kind: str, rgb: np.ndarray) -> np.ndarray:
    linear = (np.asarray(rgb) / 255.0) ** 2.2
    return np.clip(linear @ np.array(BLIND[kind]).T, 0.0, 1.0) ** (1 / 2.2)


def test_lab_of_red_is_that_of_the_handbooks():
    np.testing.assert_allclose(_lab(np.array([1.0, 0.0, 0.0])), [53.24, 80.09, 67.20], atol=0.02)


def test_within_the_tolerance_all_is_neutral_and_beyond_nothing_is():
    assert (DIVERGING.colours(np.linspace(-0.1, 0.1, 9)) == NEUTRAL).all()
    beyond = DIVERGING.colours([-0.1001, 0.1001])
    assert (np.abs(beyond.astype(int) - NEUTRAL).max(axis=1) > 40).all()


def test_the_unknown_has_a_colour_of_its_own():
    assert (DIVERGING.colours([np.nan, 0.0])[0] == UNKNOWN).all()
    assert (RAMP.colours(np.full((2, 3), np.nan)) == UNKNOWN).all()


@pytest.mark.parametrize("values", [np.linspace(-1.0, -0.101, 60), np.linspace(0.101, 1.0, 60)])
def test_equal_steps_look_equal(values):
    lab = _lab(DIVERGING.colours(values) / 255.0)
    steps = np.linalg.norm(np.diff(lab[::6], axis=0), axis=1)
    assert steps.max() / steps.min() < 1.25


def test_the_ramp_grows_darker_all_the_way():
    lightness = _lab(RAMP.colours(np.linspace(0.0, 4.0, 40)) / 255.0)[:, 0]
    assert (np.diff(lightness) < 0.0).all()


@pytest.mark.parametrize("kind", BLIND)
def test_colour_blind_eyes_tell_too_high_from_too_low_and_from_neutral(kind):
    for size in (0.3, 0.6, 1.0):
        low, middle, high = (_lab(seen_by(kind, DIVERGING.colours(value))) for value in (-size, 0.0, size))
        # a difference of 10 in Lab is plain to see side by side (common knowledge, no source)
        assert np.linalg.norm(low - high) > 25.0
        assert min(np.linalg.norm(low - middle), np.linalg.norm(high - middle)) > 12.0


def test_ends_are_round_numbers_about_everything():
    assert fitting([0.02, -1.81], 0.1) == Palette(low=-2.0, high=2.0, neutral=0.1)
    assert fitting([0.0, 0.01], 0.1) == Palette(low=-0.2, high=0.2, neutral=0.1)
    assert fitting([], 0.1) == Palette(low=-0.2, high=0.2, neutral=0.1)
    assert fitting([-0.006, 4.03], None) == Palette(low=0.0, high=4.0, neutral=None)
    assert fitting([965.2, 1451.0], None) == Palette(low=950.0, high=1450.0, neutral=None)
