"""`bellywork check BOARD`."""

from __future__ import annotations

from collections.abc import Sequence

from bellywork.cli.common import Parser, add_board, answer, print_findings, print_json
from bellywork.cli.main import EXIT_FINDINGS, EXIT_FINE, EXIT_UNUSABLE
from bellywork.errors import UnusableInput
from bellywork.findings import Level

SCHEMA = "bellywork-check/2"


def main(argv: Sequence[str] | None = None) -> int:
    """Name everything that is wrong or missing in a board folder, all at once."""
    from bellywork.answers.answer import finding_part
    from bellywork.files.read import read_board
    from bellywork.review.board_review import reviewed

    parser = Parser("check", "Name everything that is wrong or missing in a board folder, all at once.")
    add_board(parser)
    parser.add_argument("--json", action="store_true", help="print the findings as JSON")
    words = parser.parse_args(argv)
    try:
        found = read_board(words.board)
    except UnusableInput as error:
        if words.json:
            print_json({"schema": SCHEMA, "findings": [finding_part(finding) for finding in error.findings]})
        else:
            print_findings(error.findings)
        unusable = any(finding.level is Level.UNUSABLE for finding in error.findings)
        return EXIT_UNUSABLE if unusable else EXIT_FINDINGS
    findings = (*found.findings, *reviewed(found.board))
    if words.json:
        print_json(answer(SCHEMA, found, {"findings": [finding_part(finding) for finding in findings]}))
    elif findings:
        print_findings(findings)
        counts = {level: sum(finding.level is level for finding in findings) for level in Level}
        print(f"\n{found.board.name}: {counts[Level.WRONG]} to mend, {counts[Level.ADVICE]} to look at.")
    else:
        print(f"{found.board.name}: nothing found to mend.")
    return EXIT_FINDINGS if findings else EXIT_FINE
