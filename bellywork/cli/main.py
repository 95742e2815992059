"""`bellywork COMMAND …`: finds the command's file and runs it."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Sequence
from importlib import import_module
from importlib.metadata import version

# The blocks of a board's matrix are small: waking a second BLAS thread for each costs more than it saves
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

EXIT_FINE, EXIT_FINDINGS, EXIT_UNUSABLE = 0, 1, 2

COMMANDS = {
    "new": "start a board folder",
    "check": "find what is wrong or missing in a board folder",
    "bearing": "the bearing at every note, bare, preloaded or strung",
    "plane": "how much to plane from the bridge, block and kerf, to reach the target",
    "press": "what a go-bar, a wedge or a trial load does to the board",
    "crown": "crown of an old board, its loss, and what can still be got",
    "ribs": "rib schemes side by side, and a search for a better one",
    "season": "crown and bearing through damp and dry",
    "sheet": "paper, CAD and tables for the bench",
    "view": "the board in three dimensions, as a window, picture or page",
}

USAGE = """usage: bellywork COMMAND [options]

{commands}

bellywork COMMAND --help tells what a command takes.
Exit codes: 0 fine, 1 findings (something in the input or the answer to look at), 2 unusable input.
Strings at tension and iron plates hurt people: local rules and licensed practice come first."""


def usage() -> str:
    """The text of `bellywork --help`."""
    return USAGE.format(commands="\n".join(f"  {name:<9} {what}" for name, what in COMMANDS.items()))


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit code."""
    words = list(sys.argv[1:] if argv is None else argv)
    if not words or words[0] in ("-h", "--help", "help"):
        print(usage())
        return EXIT_FINE if words else EXIT_UNUSABLE
    if words[0] in ("-V", "--version"):
        print(f"bellywork {version('bellywork')}")
        return EXIT_FINE
    if words[0] not in COMMANDS:
        from difflib import get_close_matches

        near = get_close_matches(words[0], COMMANDS, n=1)
        hint = f" Did you mean {near[0]}?" if near else ""
        print(f"bellywork: found no command '{words[0]}'.{hint}\n\n{usage()}", file=sys.stderr)
        return EXIT_UNUSABLE
    command: Callable[[Sequence[str]], int] = import_module(f"bellywork.cli.{words[0]}").main
    return run(command, words[1:])


def run(command: Callable[[Sequence[str]], int], words: Sequence[str]) -> int:
    """Run a command's main; what bellywork raises on purpose becomes a sentence and an exit code."""
    from bellywork.errors import BellyworkError, UnusableInput

    try:
        return command(words)
    except UnusableInput as error:
        for finding in error.findings:
            print(f"bellywork: {finding}", file=sys.stderr)
    except BellyworkError as error:
        print(f"bellywork: {error}", file=sys.stderr)
    except BrokenPipeError:
        # the reader (head, a pager) has gone: not an error of ours
        sys.stderr.close()
        return EXIT_FINE
    except KeyboardInterrupt:
        print("bellywork: stopped; nothing was written.", file=sys.stderr)
        return 130
    return EXIT_UNUSABLE
