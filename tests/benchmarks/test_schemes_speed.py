"""A hundred rib schemes of the sample grand: compliance, balance and stress. The bound is 60 s on two cores."""

from dataclasses import replace
from pathlib import Path

from bellywork.board.scheme import Scheme
from bellywork.files.read import read_board
from bellywork.schemes.assessed import Base, assessed, base_of
from bellywork.schemes.search import CELL_MM

SAMPLES = Path(__file__).resolve().parents[2] / "sample_boards"


def base_for(benchmark) -> Base:
    """The grand where times are taken; a small board where the benchmarks only run dry."""
    return base_of(read_board(SAMPLES / ("seven_foot_grand" if benchmark.enabled else "lopsided_board")).board)


def test_one_scheme(benchmark):
    base = base_for(benchmark)
    ribs = tuple(replace(rib, height_mm=rib.height_mm + 1.0) for rib in base.ready.board.body.ribs)
    scheme = Scheme(name="taller", ribs=ribs)
    result = benchmark(assessed, base, scheme, rough_cell_mm=CELL_MM, with_modes=False)
    assert result.load_N > 0.0


def test_a_hundred_schemes_on_all_cores(benchmark):
    from joblib import Parallel, delayed

    base = base_for(benchmark)
    count = 100 if benchmark.enabled else 2
    schemes = [
        Scheme(name=str(k), ribs=tuple(replace(rib, width_mm=20.0 + 0.1 * k) for rib in base.ready.board.body.ribs))
        for k in range(count)
    ]

    def all_of_them():
        return Parallel(n_jobs=-1)(
            delayed(assessed)(base, each, rough_cell_mm=CELL_MM, with_modes=False) for each in schemes
        )

    found = benchmark.pedantic(all_of_them, rounds=1)
    assert len(found) == count
