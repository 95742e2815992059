"""`bellywork COMMAND …`: finds the command's file and runs it."""

from __future__ import annotations

import codecs
import contextlib
import io
import os
import signal
import sys
import threading
from collections.abc import Callable, Iterator, Sequence
from importlib import import_module
from types import FrameType
from typing import TextIO

# The blocks of a board's matrix are small: waking a second BLAS thread for each costs more than it saves
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

# Letters that standard output may not know, each with what is written in its place
LETTERS = "♯# –- −- —- ·* …... °deg ²2 ³3 →-> ×x ’' ±+/- ≤<= ≥>= αalpha νnu"
PLAIN = {pair[0]: pair[1:] for pair in LETTERS.split()}

EXIT_FINE, EXIT_FINDINGS, EXIT_UNUSABLE = 0, 1, 2

COMMANDS = {
    "new": "start a board folder",
    "check": "find what is wrong or missing in a board folder",
    "bearing": "the bearing at every note, bare, preloaded or strung",
    "plane": "how much to plane from the bridge, block and kerf, to reach the target",
    "press": "what a go-bar, a wedge or a trial load does to the board",
    "learn": "what the finished boards of a shop have in common, for its next one",
    "crown": "crown of an old board, its loss, and what can still be got",
    "ribs": "rib schemes side by side, and a search for a better one",
    "season": "crown and bearing through damp and dry",
    "sheet": "paper, CAD and tables for the bench",
    "bench": "readings typed beside the piano, in a browser, with the answer moving along",
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


def version() -> str:
    """The version that is installed."""
    from importlib import metadata  # slow, and most commands ask late

    return metadata.version("bellywork")


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit code. What stops it becomes a sentence on standard error, and the code 2."""
    try:
        _any_letter(sys.stdout)
        _any_letter(sys.stderr)
        with _interrupts():
            return _flushed(_ran(list(sys.argv[1:] if argv is None else argv)))
    except BrokenPipeError:  # the reader (head, a pager) has gone: not an error of ours
        return EXIT_FINE
    except KeyboardInterrupt:
        _say("stopped; nothing was written.")
    except MemoryError:
        _say("this machine has not enough memory for that board; look for a size in the wrong unit.")
    except OSError as error:  # a full disk under standard output: files that cannot be written are an OutputError
        _say(f"the answer could not be written ({(error.strerror or type(error).__name__).lower()}).")
    finally:
        _discarded(sys.stdout)
        _discarded(sys.stderr)
    return EXIT_UNUSABLE


@contextlib.contextmanager
def _interrupts() -> Iterator[None]:
    """Ctrl-C as what it is, also where a library whose import it stopped raises another error in its place."""
    pressed = False

    def press(number: int, frame: FrameType | None) -> None:
        nonlocal pressed
        pressed = True
        signal.default_int_handler(number, frame)

    ours = threading.current_thread() is threading.main_thread() and (
        signal.getsignal(signal.SIGINT) is signal.default_int_handler
    )  # else a shell's job in the background, which ignores it, or a program that has its own way
    if ours:
        signal.signal(signal.SIGINT, press)
    try:
        yield
    except Exception as error:
        if pressed:
            raise KeyboardInterrupt from error
        raise
    finally:
        if ours:
            signal.signal(signal.SIGINT, signal.default_int_handler)


def _ran(words: list[str]) -> int:
    if not words or words[0] in ("-h", "--help", "help"):
        print(usage())
        return EXIT_FINE if words else EXIT_UNUSABLE
    if words[0] in ("-V", "--version"):
        print(f"bellywork {version()}")
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
            _say(str(finding))
    except BellyworkError as error:
        _say(str(error))
    except SystemExit as stop:  # argparse has said what there is to say
        return int(stop.code or EXIT_FINE)
    return EXIT_UNUSABLE


def _say(sentence: str) -> None:
    from bellywork.findings import printable

    with contextlib.suppress(OSError):  # nobody reads standard error, or its disk is full: the exit code tells
        print(f"bellywork: {printable(sentence)}", file=sys.stderr, flush=True)


def _any_letter(stream: TextIO | None) -> None:
    """Let a stream write a plain letter for each that its encoding lacks."""
    if isinstance(stream, io.TextIOWrapper):
        codecs.register_error("bellywork", _plain_letters)
        stream.reconfigure(errors="bellywork")


def _plain_letters(error: UnicodeError) -> tuple[str, int]:
    assert isinstance(error, UnicodeEncodeError)
    return "".join(PLAIN.get(letter, "?") for letter in error.object[error.start : error.end]), error.end


def _flushed(code: int) -> int:
    if sys.stdout is not None:
        sys.stdout.flush()
    return code


def _discarded(stream: TextIO | None) -> None:
    """Send nowhere what a stream still holds and could not write: Python would try again at its end, with a trace."""
    if stream is None:
        return
    try:
        stream.flush()
    except OSError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
