"""The change of a compliance with single parts, by the work on them. Kind of every expected number: differences of
boards assembled anew; an invariant (virtual work)."""

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from bellywork.board import Body
from bellywork.board.wood import Wood
from bellywork.files.read import read_board
from bellywork.geometry.completed import completed
from bellywork.mechanics.model import assembled
from bellywork.mechanics.part_work import PartWork

LOPSIDED = Path(__file__).resolve().parents[2] / "sample_boards" / "lopsided_board"
CELL_MM, STEP = 60.0, 1e-3
MODULI = ("E_L", "E_R", "E_T", "G_LR", "G_LT", "G_RT")
POINTS = np.array([[150.0, 200.0], [372.0, 304.0], [456.0, 432.0], [139.2, 194.4], [700.0, 500.0], [800.0, 150.0]])


@cache
def body() -> Body:
    return completed(read_board(LOPSIDED).board).board.needed_body("test")


@cache
def work() -> PartWork:
    return PartWork.of(body(), POINTS, CELL_MM)


def stiffer(wood: Wood, share: float, moduli: tuple[str, ...] = MODULI) -> Wood:
    return replace(wood, **{name: (1.0 + share) * getattr(wood, name) for name in moduli})


def by_differences(more: Body, less: Body) -> np.ndarray:
    there, here = (assembled(each, cell_mm=CELL_MM).influence(POINTS, POINTS) for each in (more, less))
    return (there - here) / (2.0 * STEP)


def near(found: np.ndarray, expected: np.ndarray, share: float) -> bool:
    return bool(np.max(np.abs(found - expected)) <= share * np.max(np.abs(expected)))


@pytest.mark.parametrize("number", range(4))
def test_a_rib_alone(number: int) -> None:
    """Ribs of unequal feathers, one across a bay, at an angle to the grid."""

    def with_rib(share: float) -> Body:
        ribs = list(body().ribs)
        ribs[number] = replace(ribs[number], wood=stiffer(ribs[number].wood, share))
        return replace(body(), ribs=tuple(ribs))

    expected = by_differences(with_rib(STEP), with_rib(-STEP))
    assert near(work().of_stiffeners()[f"rib {body().ribs[number].name}"], expected, 1e-3)


def test_a_bridge_that_ends_inside_the_panel() -> None:
    (bridge,) = body().bridges

    def with_bridge(share: float) -> Body:
        woods = {"root_wood": stiffer(bridge.root_wood, share), "cap_wood": stiffer(bridge.cap_wood, share)}
        return replace(body(), bridges=(replace(bridge, **woods),))

    expected = by_differences(with_bridge(STEP), with_bridge(-STEP))
    assert near(work().of_stiffeners()[f"bridge {bridge.name}"], expected, 1e-3)


@pytest.mark.parametrize("moduli", [("E_L",), ("E_R", "E_T"), ("G_LR", "G_LT", "G_RT")])
def test_the_panel_along_across_and_in_shear_at_slanted_grain(moduli: tuple[str, ...]) -> None:
    """Half a per cent is left: what next to no panel beyond the outline and ends held fast do with the wood."""
    woods = [stiffer(body().panel.wood, share, moduli) for share in (STEP, -STEP)]
    expected = by_differences(*(replace(body(), panel=replace(body().panel, wood=wood)) for wood in woods))
    (found,) = work().of_panel([stiffer(body().panel.wood, 1e-4, moduli)])
    assert near(found / 1e-4, expected, 0.007)


def test_each_wood_of_several_is_told_as_alone() -> None:
    woods = [stiffer(body().panel.wood, 1e-4, moduli) for moduli in (("E_L",), ("E_R",))]
    for found, wood in zip(work().of_panel(woods), woods):
        np.testing.assert_allclose(found, work().of_panel([wood])[0], rtol=1e-12)


def test_another_rim_on_the_same_board_is_that_of_a_board_made_on_it() -> None:
    outline = body().outline
    held = replace(outline, support=tuple(replace(each, rotation_N=0.3 * each.rotation_N) for each in outline.support))
    other = replace(body(), outline=held)
    np.testing.assert_allclose(
        work().on_rim_of(other), assembled(other, cell_mm=CELL_MM).influence(POINTS, POINTS), rtol=1e-9
    )


def test_parts_and_rim_together_hold_the_whole_load() -> None:
    """By virtual work the compliance is the work on all parts: without the rim's each diagonal is a little less."""
    parts = sum(work().of_stiffeners().values())
    (panel,) = work().of_panel([stiffer(body().panel.wood, 1.0)])
    share = -np.diag(parts + panel) / np.diag(work().compliance_mm_N)
    assert np.all((share > 0.7) & (share < 1.0 + 1e-9))
