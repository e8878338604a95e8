"""``deckjobs serve``: what it prints, what it refuses, how it ends."""

from __future__ import annotations

import json
import signal
import socket
import subprocess
import sys
import urllib.error
import urllib.request
from http.cookiejar import CookieJar

import pytest

from tests.commands.conftest import Deck
from tests.serving.conftest import has_ipv6

HERE = [sys.executable, "-m", "tracker"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--port", "70000"), "--port 70000 is out of range"),
        (("--sessions", "0"), "give a number from 1 to 32"),
        (("--host", "0.0.0.0"), "would cross the network in clear"),
        (("--public-url", "http://jobs.example"), "must begin with https://"),
        (("--public-url", "https://jobs.example/sub"), "with no path"),
        (("--host", "256.1.1.1", "--public-url", "https://jobs.example"), "cannot be had"),
    ],
)
def test_what_would_be_unsafe_or_impossible_is_refused_in_plain_words(
    deck: Deck, words: tuple[str, ...], said: str
) -> None:
    result = deck("serve", *words)
    assert result.code == 2 and said in result.err and result.out == ""


def test_a_taken_port_says_so(deck: Deck) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        result = deck("serve", "--port", str(taken.getsockname()[1]))
    assert result.code == 2 and "cannot be had" in result.err and "--port" in result.err


def test_without_the_extra_it_says_what_to_install(deck: Deck) -> None:
    code = (
        "import sys; sys.modules['textual_serve'] = None\n"
        "from tracker.cli import main; sys.exit(main(['serve', '--port', '0']))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=300, check=False)
    assert done.returncode == 2
    assert done.stderr.splitlines() == [
        "deckjobs: serving the screens needs textual_serve, which is not installed",
        '  install it with: pip install "deckjobs[serve]"',
    ]


@pytest.mark.parametrize(
    ("how", "host", "begins"),
    [
        (signal.SIGINT, (), "http://127.0.0.1:"),
        (signal.SIGTERM, ("--host", "localhost"), "http://127.0.0.1:"),
        pytest.param(
            signal.SIGTERM, ("--host", "::1"), "http://[::1]:",
            marks=pytest.mark.skipif(not has_ipv6(), reason="this machine has no IPv6"),
        ),
    ],
)  # fmt: skip
def test_it_prints_the_address_once_lets_it_in_and_ends_in_order(
    deck: Deck, how: signal.Signals, host: tuple[str, ...], begins: str
) -> None:
    deck.take()
    server = subprocess.Popen(
        [*HERE, "serve", "--port", "0", "--json", *host], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    try:
        assert server.stdout is not None
        said = "".join(server.stdout.readline() for _ in range(4))
        address = json.loads(said)["address"]
        assert address.startswith(begins)
        key = address.partition("key=")[2]
        browser = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(CookieJar()))
        with browser.open(address, timeout=300) as page:
            assert page.status == 200 and page.url.endswith("/") and b"Rosa (invented) signs" in page.read()
        with pytest.raises(urllib.error.HTTPError, match="403") as refused:
            urllib.request.urlopen(address.partition("?")[0], timeout=300)
        refused.value.close()
    finally:
        server.send_signal(how)
        out, err = server.communicate(timeout=300)
    assert (server.returncode, out, err) == (0, "", "")
    assert said.count(key) == 1
