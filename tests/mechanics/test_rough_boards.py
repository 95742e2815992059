"""Boards as users draw them: rough outlines, ribs that stop short or stick out, any grain, thickness, cell and size.

Each is solved, in balance, or refused in one sentence. The numbers are invented; what is tested is that none breaks.
"""

from dataclasses import replace

import numpy as np
import pytest
import shapely

from bellywork.board import Body, Bridge, Outline, Panel, Rib
from bellywork.board.rims import rim_support
from bellywork.board.woods import wood
from bellywork.errors import BoardError
from bellywork.mechanics.model import assembled

SPRUCE, MAPLE = wood("sitka_spruce"), wood("sugar_maple")
GLUED = rim_support("glued")


def board(corners: np.ndarray, scale: float = 1.0, grain: float = 120.0, thickness: float = 8.0) -> Body:
    """A board on an outline about 1000 × 800 mm times `scale`, two ribs and a bridge in proportion."""

    def rib(name: str, start: list[float], end: list[float]) -> Rib:
        return Rib(
            name=name, wood=SPRUCE, start_mm=np.array(start) * scale, end_mm=np.array(end) * scale, width_mm=24.0,
            height_mm=20.0, end_height_mm=(6.0, 6.0), feather_mm=(60.0 * scale, 60.0 * scale), crown_radius_mm=18e3,
        )  # fmt: skip

    line = np.array([[150.0, 650.0], [450.0, 350.0], [850.0, 150.0]]) * scale
    bridge = Bridge(
        name="long", root_wood=MAPLE, cap_wood=MAPLE, line_mm=line, width_mm=[30.0] * 3, root_mm=[20.0] * 3,
        cap_mm=[12.0] * 3, notch_mm=[2.0] * 3,
    )  # fmt: skip
    return Body(
        outline=Outline(points_mm=corners * scale, support=(GLUED,) * len(corners)),
        panel=Panel(wood=SPRUCE, grain_deg=grain, thickness_points_mm=[[0, 0, thickness]]),
        ribs=(rib("1", [50, 300], [600, 750]), rib("2", [300, 50], [900, 500])),
        bridges=(bridge,),
    )


def outline(rng: np.random.Generator | None = None) -> np.ndarray:
    """A round-cornered outline, each corner moved at random by up to 30 mm, some of them doubled nearly."""
    turn = np.linspace(0.0, 2.0 * np.pi, 24, endpoint=False)
    points = np.column_stack([500 + 520 * np.cos(turn), 400 + 420 * np.sin(turn)])
    if rng is not None:
        points = points + rng.uniform(-30.0, 30.0, points.shape)
        points = np.insert(points, 7, points[7] + rng.uniform(-0.5, 0.5, 2), axis=0)
    return points


def sink(body: Body, cell: float, place: tuple[float, float] = (450.0, 350.0)) -> float:
    return float(assembled(body, cell_mm=cell).pressed([place], [100.0]).sink_mm([place])[0])


@pytest.mark.slow
def test_eighty_rough_outlines() -> None:
    rng = np.random.default_rng(20260501)
    usual = sink(board(outline()), 60.0)
    for _ in range(80):
        body = board(outline(rng))
        if shapely.Polygon(body.outline.points_mm).is_valid:
            assert sink(body, 60.0) == pytest.approx(usual, rel=0.25)
        else:
            with pytest.raises(BoardError, match=r"^The outline crosses itself; "):
                sink(body, 60.0)


@pytest.mark.parametrize("grain", [0.0, 33.0, 90.0, 179.0, -60.0])
def test_any_grain(grain: float) -> None:
    assert 0.0 < sink(board(outline(), grain=grain), 60.0) < 2.0


@pytest.mark.parametrize("thickness", [3.0, 8.0, 15.0])
@pytest.mark.parametrize("cell", [15.0, 100.0])
def test_any_thickness_on_any_cell(thickness: float, cell: float) -> None:
    assert 0.0 < sink(board(outline(), thickness=thickness), cell) < 5.0


@pytest.mark.parametrize("scale", [0.3, 0.6, 3.0])
def test_toys_and_giants(scale: float) -> None:
    assert 0.0 < sink(board(outline(), scale=scale), 40.0 * scale, (450.0 * scale, 350.0 * scale)) < 20.0


def test_ribs_may_stop_short_stick_out_or_lie_outside() -> None:
    body = board(outline())
    ends = {
        "short": (np.array([200.0, 400.0]), np.array([500.0, 650.0])),
        "long": (np.array([-300.0, 0.0]), np.array([900.0, 1000.0])),
    }
    for start, end in ends.values():
        assert sink(replace(body, ribs=(replace(body.ribs[0], start_mm=start, end_mm=end),)), 60.0) > 0.0
    away = replace(body.ribs[0], start_mm=np.array([5000.0, 0.0]), end_mm=np.array([5500.0, 0.0]))
    with_it, without = (sink(replace(body, ribs=ribs), 60.0) for ribs in ((away,), ()))
    assert with_it == pytest.approx(without, rel=0.01)  # its direction still turns the grid


def test_a_bridge_may_touch_or_cross_the_rim() -> None:
    body = board(outline())
    for start in ([-15.0, 700.0], [-200.0, 900.0]):
        line = np.vstack([start, body.bridges[0].line_mm[1:]])
        assert sink(replace(body, bridges=(replace(body.bridges[0], line_mm=line),)), 60.0) > 0.0


def test_any_of_the_parts_may_be_missing() -> None:
    body = board(outline())
    for parts in ({"ribs": ()}, {"bridges": ()}, {"ribs": body.ribs[:1]}, {"ribs": (), "bridges": ()}):
        assert sink(replace(body, **parts), 60.0) > 0.0


def test_an_outline_that_crosses_itself_or_no_cell_is_refused() -> None:
    crossed = np.array([[0.0, 0.0], [1000.0, 800.0], [1000.0, 0.0], [600.0, 900.0]])
    with pytest.raises(BoardError, match=r"^The outline crosses itself; give its points in order along the rim\.$"):
        assembled(board(crossed), cell_mm=60.0)
    with pytest.raises(BoardError, match=r"^A cell needs a size above 0 mm; got 0 mm\.$"):
        assembled(board(outline()), cell_mm=0.0)


def test_cells_that_cannot_hold_a_stiffener_are_refused() -> None:
    body = board(outline())
    stub = replace(body.ribs[0], name="stub", end_mm=body.ribs[0].start_mm + 80.0 * body.ribs[0].direction)
    body = replace(body, ribs=(stub,))
    (piece,) = stub.pieces_within(body.outline)
    length = piece[1] - piece[0]
    with pytest.raises(BoardError, match=rf"^Cells of 200 mm are too large for rib stub, of which {length:.0f} mm lie"):
        assembled(body, cell_mm=200.0)
