"""`bellywork bench BOARD [--port N] [--no-browser] [--lan]`."""

from __future__ import annotations

import argparse
import contextlib
import socket
import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING

from bellywork.cli.common import CAUTION, Parser, add_board, needed
from bellywork.cli.main import EXIT_FINE
from bellywork.cli.told import add_units
from bellywork.errors import OutputError

if TYPE_CHECKING:
    from bellywork.bench.session import Session


def main(argv: Sequence[str] | None = None) -> int:
    """Open the bench of a folder, until Ctrl-C."""
    parser = Parser(
        "bench",
        "Type readings beside the piano, on this machine or a tablet, and see depth, block and bearing move along. "
        "Every reading is on the disk before it is acknowledged; the folder's tables stay the truth.",
        "Without --lan nobody but this machine reaches it. Ctrl-C ends it.",
    )
    add_board(parser)
    parser.add_argument("--port", type=_port, default=0, metavar="N", help="port (default: one that is free)")
    parser.add_argument("--no-browser", action="store_true", help="only print the address")
    parser.add_argument("--lan", action="store_true", help="let devices in the shop's network in, by a token")
    add_units(parser)
    words = parser.parse_args(argv)
    needed("bench")
    from bellywork.bench.server import Gate, application, new_token
    from bellywork.bench.session import Session

    folder = words.board.parent if words.board.name == "board.toml" else words.board
    with bound("0.0.0.0" if words.lan else "127.0.0.1", words.port) as door:
        port = door.getsockname()[1]
        token = new_token() if words.lan else None
        names = ["127.0.0.1", "localhost", *([_own_address()] if words.lan else [])]
        session = Session(folder, words.units)
        try:
            address = f"http://{names[-1] if words.lan else names[0]}:{port}/{f'?token={token}' if token else ''}"
            _greet(address, session, words)
            gate = Gate(hosts=frozenset(f"{name}:{port}" for name in names), token=token)
            with contextlib.suppress(KeyboardInterrupt):  # the usual way to end it
                _serve(application(session, gate), door)
        finally:
            session.close()
    return EXIT_FINE


def _greet(address: str, session: Session, words: argparse.Namespace) -> None:
    print(f"The bench: {address}", flush=True)
    for entry in session.caught_up:
        print(f"Caught up from the journal: {entry}.", file=sys.stderr)
    if words.lan:
        import segno

        segno.make(address).terminal(out=sys.stderr, compact=True)
        print("Whoever has this address can change the readings; it ends with the bench.", file=sys.stderr)
    print(CAUTION, file=sys.stderr, flush=True)
    if not words.no_browser:
        import webbrowser

        webbrowser.open(address)


def _serve(application: object, door: socket.socket) -> None:
    import uvicorn

    config = uvicorn.Config(application, log_level="critical", access_log=False, timeout_graceful_shutdown=1)  # type: ignore[arg-type]
    uvicorn.Server(config).run(sockets=[door])


def bound(host: str, port: int) -> socket.socket:
    """A socket at a port. Raises OutputError where somebody else has it."""
    door = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    door.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        door.bind((host, port))
        door.listen(64)
    except OSError as error:
        door.close()
        raise OutputError(
            f"Port {port} cannot be had ({(error.strerror or 'no reason').lower()}); give another, or none."
        ) from None
    return door


def _own_address() -> str:
    """The address under which this machine is seen in its network; nothing is sent to find it."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # a documentation address: only the way out is asked for
            return str(probe.getsockname()[0])
        except OSError:
            raise OutputError("This machine is in no network that a tablet could reach it by.") from None


def _port(text: str) -> int:
    if not text.isdigit() or int(text) > 65535:
        raise argparse.ArgumentTypeError(f"found '{text}', expected a number from 0 to 65535")
    return int(text)
