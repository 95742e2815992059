"""How an answer leaves a command: as text, JSON or CSV, with its exit code."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from bellywork.cli.common import answer as with_envelope
from bellywork.cli.common import print_json
from bellywork.cli.main import EXIT_FINDINGS, EXIT_FINE
from bellywork.measures import Units, units_named

if TYPE_CHECKING:
    from bellywork.answers.answer import Answer
    from bellywork.balance.sink import SinkSource
    from bellywork.files.read import BoardFile


def add_units(parser: argparse.ArgumentParser) -> None:
    """Add the units to read in."""
    parser.add_argument(
        "--units",
        type=units_read,
        default=Units(),
        metavar="UNITS",
        help="mm, in or fraction (long lengths as on a rule), with a comma N, lb or kgf (default mm,N; in brings lb)",
    )


def units_read(words: str) -> Units:
    """Units from a command line."""
    try:
        return units_named(words)
    except ValueError as error:
        raise argparse.ArgumentTypeError(str(error)) from None


def add_output(parser: argparse.ArgumentParser, *, csv: bool = True) -> None:
    """Add the ways in which an answer can be given."""
    from pathlib import Path

    add_units(parser)
    parser.add_argument("--json", action="store_true", help="print the whole answer as JSON (always mm, N, degrees)")
    if csv:
        parser.add_argument("--csv", type=Path, metavar="PATH", help="also write the notes as a CSV table (mm, N)")


def tell(answer: Answer, found: BoardFile, words: argparse.Namespace) -> int:
    """Write and print an answer as the words ask for it; returns the exit code."""
    if getattr(words, "csv", None):
        from bellywork.files.write import MARK, write_result

        mark = f"{MARK} {answer.schema} {found.board.name} {found.fingerprint}"
        write_result(words.csv, f"{mark}\n{answer.as_csv()}")
    if words.json:
        from bellywork.answers.answer import finding_part

        parts = answer.as_parts()
        advice = [finding_part(each) for each in found.findings]
        parts["findings"] = [*advice, *(each for each in parts["findings"] if each not in advice)]
        print_json(with_envelope(answer.schema, found, parts))
    else:
        print(answer.as_text())
    return EXIT_FINDINGS if answer.act else EXIT_FINE


def add_sink(parser: argparse.ArgumentParser) -> None:
    """Add where the sink comes from."""
    parser.add_argument(
        "--sink",
        choices=("predicted", "measured", "none"),
        help="where the sink comes from: the mechanics, your sink.csv, or none (default: the best that the folder has)",
    )


def sink_source(words: argparse.Namespace) -> SinkSource | None:
    """The source named on the command line; None: the best that there is."""
    from bellywork.balance.sink import SinkSource

    return None if words.sink is None else SinkSource(words.sink)
