"""The screens in a browser, for a tablet."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from typing import TYPE_CHECKING

from tracker.commands.parser import Command
from tracker.commands.session import Session
from tracker.errors import InputError
from tracker.text import clean

if TYPE_CHECKING:
    import socket

    from tracker.serving.guard import Guard

PORT = 8731
MOST_SESSIONS = 32


def _arguments(parser: ArgumentParser) -> None:
    parser.add_argument(
        "--port", type=int, default=PORT, metavar="N", help=f"the port; {PORT} when left out, 0 for any"
    )
    parser.add_argument(
        "--host", default="127.0.0.1", metavar="HOST", help="where to listen; this machine when left out"
    )
    parser.add_argument("--public-url", metavar="URL", help="the https address of the proxy before this server")
    parser.add_argument("--sessions", type=int, default=4, metavar="N", help="pages open at a time; 4 when left out")


def serve(session: Session, args: Namespace) -> int:
    """Serve the screens until Ctrl-C."""
    _in_range("--port", args.port, 0, 65535)
    _in_range("--sessions", args.sessions, 1, MOST_SESSIONS)
    try:
        from tracker.serving import guard, site, sitting
    except ModuleNotFoundError as missing:
        if (missing.name or "").startswith("tracker"):
            raise
        raise InputError(
            f"serving the screens needs {missing.name}, which is not installed",
            'install it with: pip install "deckjobs[serve]"',
        ) from None
    import asyncio
    import signal
    from contextlib import suppress

    from tracker.settings import device_id

    guard.check_host(args.host, args.public_url)
    place = guard.public_place(args.public_url) if args.public_url is not None else None
    settings = session.settings
    settings.make_folder()
    desk = sitting.Desk(settings.book.resolve(), settings.who, device_id())
    with _bound(args.host, args.port) as bound:
        port: int = bound.getsockname()[1]
        keeper = guard.Guard(place or guard.loopback_place(port, args.host), port)

        async def serving() -> None:
            main = asyncio.current_task()
            assert main is not None
            for name in ("SIGTERM", "SIGHUP"):
                with suppress(AttributeError, NotImplementedError):  # not every system has them
                    asyncio.get_running_loop().add_signal_handler(getattr(signal, name), main.cancel)
            served = site.Site(desk, keeper, most=args.sessions, tell=_complain)
            await served.run(bound, lambda: _tell(session, keeper, args.sessions))

        with suppress(KeyboardInterrupt, asyncio.CancelledError):
            asyncio.run(serving())
    if not session.json:
        session.say("stopped; every page is closed")
    return 0


def _in_range(option: str, number: int, least: int, most: int) -> None:
    if not least <= number <= most:
        raise InputError(f"{option} {number} is out of range", f"give a number from {least} to {most}")


def _bound(host: str, port: int) -> socket.socket:
    import socket

    try:
        family = socket.AF_INET6 if ":" in host else socket.AF_INET
        return socket.create_server((host, port), family=family, reuse_port=False)
    except (OSError, UnicodeError) as error:
        why = getattr(error, "strerror", None) or "it is no address of this machine"
        raise InputError(f"port {port} of {host} cannot be had: {why}", "give another with --port") from None


def _complain(text: str) -> None:
    import sys

    print(f"deckjobs: {clean(text)}", file=sys.stderr, flush=True)


def _tell(session: Session, keeper: Guard, sessions: int) -> None:
    """Say where the screens are, once."""
    import sys

    if session.json:
        session.data({"address": keeper.address, "sessions": sessions})
    else:
        session.say("The screens are served. Open this address; it holds the key, so keep it to yourself:")
        session.say("")
        session.say(f"    {keeper.address}")
        session.say("")
        session.say(f"What is recorded there is signed by {session.settings.who}. Ctrl-C ends it.")
    sys.stdout.flush()


COMMANDS = {
    "serve": Command(
        _arguments, serve,
        "The same screens in a browser, for a tablet. Only this machine can open them; for others put a proxy\n"
        "with https before it and give its address with --public-url. The printed address holds the key:\n"
        "whoever has it signs as you.",
        "deckjobs --as Rosa serve --public-url https://jobs.example",
    ),
}  # fmt: skip
