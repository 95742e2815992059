"""Ratios on the sample grand at the default cell size. In the tests these only run dry; to measure:

.venv/bin/pytest tests/benchmarks --benchmark-enable -n 0
"""

import sys
from pathlib import Path

import numpy as np
import pytest
from scipy.linalg.lapack import dpbtrf, dpbtrs

from bellywork.board import Board
from bellywork.files.read import read_board
from bellywork.instrument import Bellies, Instrument, prepared
from bellywork.mechanics.assembly import Matrix
from bellywork.mechanics.discrete import discretised
from bellywork.mechanics.model import DEFAULT_CELL_MM, compliance
from bellywork.mechanics.unheld import held, without_rim
from bellywork.seasons.life import life_of
from bellywork.seasons.outlook import outlook, times_to
from bellywork.seasons.year import Season, range_of_rh, season

SAMPLES = Path(__file__).resolve().parents[2] / "sample_boards"
BOARD, SMALL = read_board(SAMPLES / "seven_foot_grand").board, SAMPLES / "lopsided_board"


@pytest.fixture(scope="module")
def cell(request: pytest.FixtureRequest) -> float:
    """The default size where times are taken; a coarse one where the benchmarks only run dry."""
    return DEFAULT_CELL_MM if request.config.getoption("benchmark_enable") else 100.0


@pytest.fixture(scope="module")
def through_time(request: pytest.FixtureRequest) -> Board:
    """The grand where times are taken; a small board where the benchmarks only run dry."""
    return BOARD if request.config.getoption("benchmark_enable") else read_board(SMALL).board


def assembly(cell: float) -> Matrix:
    """The board's stiffness on its rim."""
    discrete = discretised(BOARD.needed_body("test"), cell)
    return held(without_rim(discrete), discrete)


@pytest.fixture(scope="module")
def matrix(cell: float) -> Matrix:
    return assembly(cell)


@pytest.mark.benchmark(group="grand")
def test_assembly(benchmark, cell: float) -> None:
    assert benchmark.pedantic(lambda: assembly(cell), rounds=3, warmup_rounds=1).numbering.size > 0


@pytest.mark.benchmark(group="grand")
def test_factorisation(benchmark, matrix: Matrix) -> None:
    """From the entries on: what LAPACK's band gets ready is not in its bound."""
    assert benchmark.pedantic(matrix.factored, rounds=3, warmup_rounds=1).blocks


@pytest.mark.benchmark(group="grand")
def test_bare_lapack_factor_and_88_solves(benchmark, matrix: Matrix) -> None:
    """The bound: LAPACK's own factor and solves of the same matrix as a band, nothing else."""
    sky = matrix.skyline
    rows = np.arange(sky.size)
    band = int((rows - np.repeat(sky.left, np.diff(sky.starts))).max())
    lower = np.zeros((band + 1, sky.size), order="F")
    for left, start, block in zip(sky.left, sky.starts, map(matrix.rows, range(len(sky.left)))):
        row, column = np.nonzero(block)
        lower[start + row - left - column, left + column] = block[row, column]
    right = np.asfortranarray(np.random.default_rng(1).normal(size=(lower.shape[1], 88)))

    def setup() -> tuple[tuple[np.ndarray], dict[str, object]]:
        matrix = lower.copy(order="F")
        matrix[0] += 1e-9 * (1.0 + matrix[0])
        return (matrix,), {}

    def bare(matrix: np.ndarray) -> np.ndarray:
        factor, failed = dpbtrf(matrix, lower=1, overwrite_ab=1)
        assert failed == 0
        return dpbtrs(factor, right, lower=1)[0]

    assert benchmark.pedantic(bare, setup=setup, rounds=3, warmup_rounds=1).shape == right.shape


@pytest.mark.benchmark(group="grand")
def test_board_to_compliance_of_both_pin_rows(benchmark, cell: float) -> None:
    plan, body = BOARD.needed_plan("test"), BOARD.needed_body("test")
    pins = np.vstack([plan.front_pin_mm, plan.rear_pin_mm])

    def whole_way() -> np.ndarray:
        discrete = discretised(body, cell)
        return compliance(without_rim(discrete), discrete, pins)

    assert benchmark.pedantic(whole_way, rounds=3, warmup_rounds=1).shape == (176, 176)


@pytest.mark.benchmark(group="ribbed panel at equal accuracy")
@pytest.mark.parametrize("way", ["solid_sinks", "board_sinks"])
def test_against_scikit_fem(benchmark, way: str) -> None:
    """The ribbed panel of the published cases: solids of scikit-fem, and the board, which agree within 3 %."""
    sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "published"))
    import test_solid_reference as case

    run = getattr(case, way).__wrapped__  # not its cached answer
    assert benchmark.pedantic(run, rounds=1, warmup_rounds=0).shape == (len(case.READ),)


@pytest.mark.benchmark(group="season")
def test_a_season_of_eight_humidities(
    benchmark, through_time: Board, request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of a board that was never met: nothing kept is used."""
    dry = not request.config.getoption("benchmark_enable")
    humidities = (45.0,) if dry else range_of_rh("30:65")

    def unmet() -> Season:
        monkeypatch.setattr("bellywork.instrument.BELLIES", Bellies())
        return season(prepared(through_time, fresh=True), rh_percent=humidities)

    year = benchmark.pedantic(unmet, rounds=1 if dry else 3)
    assert year.net_deg.shape == (len(humidities), len(year.note))


@pytest.fixture(scope="module")
def known(through_time: Board) -> Instrument:
    """A board with what any command on it keeps."""
    ready = prepared(through_time)
    outlook(ready, life=life_of(through_time), days=(0.0,), banded=False)
    return ready


@pytest.mark.benchmark(group="years")
@pytest.mark.parametrize("years", [1.0, 50.0])
def test_years_under_the_strings(
    benchmark, known: Instrument, request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch, years: float
) -> None:
    """The middle alone; beside the bound of the group above."""
    kept = Instrument.kept_on_disk
    monkeypatch.setattr(
        Instrument,
        "kept_on_disk",
        lambda self, what, also, make, **how: make() if what == "outlook" else kept(self, what, also, make, **how),
    )
    days = times_to(years) if request.config.getoption("benchmark_enable") else (0.0, 1.0)
    life = life_of(known.board)
    seen = benchmark.pedantic(lambda: outlook(known, life=life, days=days, banded=False), rounds=1)
    assert seen.middle["net_deg"].shape == (len(days), len(seen.note))
