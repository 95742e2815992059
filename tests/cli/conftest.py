"""Running commands in this process, as a user would."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from bellywork.cli.main import main

SAMPLES = Path(__file__).resolve().parents[2] / "sample_boards"


class Ran(NamedTuple):
    """What a command left: exit code, standard output and standard error."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        return json.loads(self.out)


@pytest.fixture
def ran(capsys: pytest.CaptureFixture[str]) -> Callable[..., Ran]:
    def run(*words: object) -> Ran:
        try:
            code = main([str(word) for word in words])
        except SystemExit as stop:  # argparse
            code = int(stop.code or 0)
        captured = capsys.readouterr()
        return Ran(code, captured.out, captured.err)

    return run


@pytest.fixture
def grand() -> Path:
    return SAMPLES / "seven_foot_grand"
