"""Who is let in: every refusal by a real server, and what the answers carry."""

from __future__ import annotations

import asyncio
import re
from pathlib import Path

import aiohttp
import pytest
from hypothesis import given
from hypothesis import strategies as st
from yarl import URL

from tests.serving.conftest import Served, client, has_ipv6, opened, serving
from tracker.errors import InputError
from tracker.serving.guard import Guard, Place, check_host, loopback_place, public_place, security_headers

PATHS = ("/", "/ws", "/download/0123456789abcdef", "/static/page.js", "/static/", "/nowhere")


async def status(session: aiohttp.ClientSession, url: str, **headers: str) -> int:
    async with session.get(url, headers=headers, allow_redirects=False) as answer:
        await answer.read()
        return answer.status


async def socket_status(session: aiohttp.ClientSession, served: Served, **headers: str) -> int:
    """The answer to a try to open the socket with exactly these headers; 101 when it opened."""
    try:
        async with session.ws_connect(f"{served.origin}/ws", headers=headers) as line:
            await line.close()
            return 101
    except aiohttp.WSServerHandshakeError as refused:
        return refused.status


async def test_nothing_is_given_without_the_cookie(path: Path) -> None:
    async with serving(path) as served, client(served, entered=False) as session:
        for place in PATHS:
            assert await status(session, served.origin + place) == 403, place
        assert await status(session, f"{served.origin}/?key={served.guard.key}x") == 403
        assert await status(session, f"{served.origin}/?key=") == 403
        assert await socket_status(session, served, Origin=served.origin) == 403
        near = {"Cookie": f"{served.guard.cookie_name}={served.guard.key}"}
        assert await status(session, served.origin, **near) == 403, "the key itself is no cookie"
        assert not served.site.sittings


async def test_the_key_is_changed_for_a_cookie_and_leaves_the_address(path: Path) -> None:
    async with serving(path) as served, client(served, entered=False) as session:
        async with session.get(served.guard.address, allow_redirects=False) as answer:
            assert (answer.status, answer.headers["Location"]) == (303, "/")
            kept = [value for value in answer.headers.getall("Set-Cookie") if served.guard.cookie_name in value]
        assert len(kept) == 1
        assert "HttpOnly" in kept[0] and "SameSite=Strict" in kept[0] and "Secure" not in kept[0]
        assert served.guard.key not in kept[0]
        async with session.get(served.origin) as answer:
            page = await answer.text()
            assert answer.status == 200 and served.guard.key not in page and served.guard.cookie not in page
        assert "M. Holt signs" in page
        assert not re.findall(r"(?:https?:)?//(?!127\.0\.0\.1)[\w.]+", page.replace("ws://", "//")), (
            "nothing from elsewhere"
        )


async def test_the_socket_opens_for_our_own_page_alone(path: Path) -> None:
    async with serving(path) as served, client(served) as session:
        port = served.guard.port
        for origin in (
            "http://evil.example", f"http://127.0.0.1:{port + 1}", f"https://127.0.0.1:{port}", "null", "",
            f"http://127.0.0.1:{port}.evil.example", f"http://localhost:{port}",
        ):  # fmt: skip
            assert await socket_status(session, served, Origin=origin) == 403, origin
        assert await socket_status(session, served) == 403, "no Origin at all"
        assert not served.site.sittings
        assert await socket_status(session, served, Origin=served.origin) == 101


async def test_a_foreign_host_is_not_answered_with_or_without_the_key(path: Path) -> None:
    async with serving(path) as served, client(served) as session:
        for host in (
            "evil.example",
            f"evil.example:{served.guard.port}",
            "127.0.0.1",
            f"127.0.0.1:{served.guard.port + 1}",
        ):
            for place in (*PATHS, f"/?key={served.guard.key}"):
                assert await status(session, served.origin + place, Host=host) == 421, (host, place)
            both = {"Host": host, "Origin": f"http://{host}"}
            assert await socket_status(session, served, **both) == 421
        assert await status(session, served.origin, Host=f"localhost:{served.guard.port}") == 200


async def test_a_page_elsewhere_may_fetch_nothing(path: Path) -> None:
    async with serving(path) as served, client(served) as session:
        assert await status(session, served.origin, Origin="http://evil.example") == 403
        assert await status(session, f"{served.origin}/static/page.js", Origin="http://evil.example") == 403
        async with session.post(served.origin) as answer:
            assert answer.status == 405


async def test_no_folder_is_listed_and_no_other_file_served(path: Path) -> None:
    async with serving(path) as served, client(served) as session:
        for name in (
            "",
            "..",
            "%2e%2e/site.py",
            "../page/plain.html",
            "page.html",
            "images/background.png",
            "terminal.js/",
        ):
            async with session.get(URL(f"{served.origin}/static/{name}", encoded=True)) as answer:
                text = await answer.text()
                assert answer.status in (403, 404), name
                assert "Index of" not in text and "import" not in text
        for name, kind in (("terminal.js", "text/javascript"), ("page.css", "text/css"), ("letters.ttf", "font/ttf")):
            async with session.get(f"{served.origin}/static/{name}") as answer:
                assert (answer.status, answer.content_type) == (200, kind)
        assert await status(session, f"{served.origin}/download/unknown") == 404


async def test_every_answer_carries_the_headers(path: Path) -> None:
    async with serving(path) as served, client(served) as session:
        for url in (served.origin, f"{served.origin}/static/page.js", f"{served.origin}/nowhere", served.guard.address):
            async with session.get(url, allow_redirects=False) as answer:
                headers = answer.headers
                assert headers["Cache-Control"] == "no-store", url
                assert headers["X-Content-Type-Options"] == "nosniff"
                assert headers["Referrer-Policy"] == "no-referrer"
                policy = headers["Content-Security-Policy"]
                assert "frame-ancestors 'none'" in policy and "default-src 'none'" in policy
                assert "script-src 'self';" in policy, "no script of the page's own text, none from elsewhere"
                assert "aiohttp" not in headers["Server"] and "Python" not in headers["Server"]


async def test_one_page_too_many_is_told_so_and_finds_room_when_one_closes(path: Path) -> None:
    async with serving(path, most=1) as served, client(served) as session:
        async with opened(served, session) as one:
            await one.until("26-101")
            async with session.get(served.origin) as answer:
                assert answer.status == 503 and "Every place is taken" in await answer.text()
            assert await socket_status(session, served, Origin=served.origin) == 503
        async with asyncio.timeout(120), opened(served, session) as again:
            await again.until("26-101")


async def test_behind_a_proxy_only_the_public_name_is_answered_and_the_cookie_is_secure(path: Path) -> None:
    async with (
        serving(path, place=public_place("https://jobs.example")) as served,
        client(served, entered=False) as session,
    ):
        public = {"Host": "jobs.example"}
        local = f"http://127.0.0.1:{served.guard.port}/?key={served.guard.key}"
        assert await status(session, local) == 421
        async with session.get(local, headers=public, allow_redirects=False) as answer:
            assert answer.status == 303
            kept = next(v for v in answer.headers.getall("Set-Cookie") if v.startswith("__Host-deckjobs="))
        assert "Secure" in kept and "Path=/" in kept and "Domain" not in kept
        cookie = {"Cookie": kept.partition(";")[0]}
        async with session.get(served.origin, headers={**public, **cookie}) as answer:
            assert 'data-session-websocket-url="wss://jobs.example/ws"' in await answer.text()
        assert await socket_status(session, served, **public, **cookie, Origin="http://jobs.example") == 403
        assert await socket_status(session, served, **public, **cookie, Origin="https://jobs.example") == 101


def test_the_key_is_long_fresh_and_never_printed_with_its_guard() -> None:
    one, two = (Guard(loopback_place(8731), 8731) for _ in range(2))
    assert len({one.key, two.key, one.cookie, two.cookie}) == 4
    assert len(one.key) >= 43, "32 random bytes"
    assert one.key not in repr(one) and one.cookie not in repr(one)


@pytest.mark.parametrize(
    "url",
    ["http://jobs.example", "jobs.example", "https://", "https://a.example/sub", "https://u:p@a.example", "https://a.example?x",
     "https://a.example:99999", "https://[::1", "ftp://a.example", "https://a.example#x", "https://a\"b.example"],
)  # fmt: skip
def test_a_public_address_is_https_and_a_name_alone(url: str) -> None:
    with pytest.raises(InputError):
        public_place(url)


@pytest.mark.parametrize(
    ("url", "hosts"),
    [
        ("https://Jobs.Example/", ("jobs.example", "JOBS.example:443")),
        ("https://jobs.example:8443", ("jobs.example:8443",)),
        ("https://jobs.example:443", ("jobs.example", "jobs.example:443")),
    ],
)
def test_the_names_of_a_public_address(url: str, hosts: tuple[str, ...]) -> None:
    place = public_place(url)
    assert place.secure
    for host in hosts:
        assert place.origin_of(host) == place.origins[0]


@pytest.mark.parametrize("host", ["0.0.0.0", "192.168.1.20", "::", "yard.example"])
def test_listening_beyond_this_machine_needs_https_in_front(host: str) -> None:
    with pytest.raises(InputError, match="can be reached from other machines"):
        check_host(host, None)
    check_host(host, "https://jobs.example")
    check_host("127.0.0.1", None)


@pytest.mark.parametrize(
    ("listens", "address", "hosts", "others"),
    [
        ("127.0.0.1", "http://127.0.0.1:8731", ("127.0.0.1:8731", "localhost:8731"), ("[::1]:8731",)),
        ("localhost", "http://127.0.0.1:8731", ("127.0.0.1:8731", "localhost:8731"), ("[::1]:8731",)),
        ("::1", "http://[::1]:8731", ("[::1]:8731", "localhost:8731"), ("127.0.0.1:8731", "::1:8731", "[::1]")),
    ],
)
def test_the_address_is_of_where_it_listens(
    listens: str, address: str, hosts: tuple[str, ...], others: tuple[str, ...]
) -> None:
    guard = Guard(loopback_place(8731, listens), 8731)
    assert guard.address == f"{address}/?key={guard.key}"
    assert all(guard.host_fits({"Host": host}) for host in hosts)
    assert not any(guard.host_fits({"Host": host}) for host in others)
    policy = security_headers(guard.place, hosts[0])["Content-Security-Policy"]
    assert ("ws://" in policy) == ("[" not in address), "browsers take no number of IPv6 in a policy; 'self' is enough"


@pytest.mark.skipif(not has_ipv6(), reason="this machine has no IPv6")
async def test_the_address_of_ipv6_lets_in_and_opens_the_socket(path: Path) -> None:
    async with serving(path, host="::1") as served, client(served) as session:
        assert served.origin == f"http://[::1]:{served.guard.port}"
        assert await status(session, served.origin) == 200
        assert await status(session, served.origin, Host=f"127.0.0.1:{served.guard.port}") == 421
        assert await socket_status(session, served, Origin="http://evil.example") == 403
        assert await socket_status(session, served, Origin=served.origin) == 101


@given(st.text(max_size=60))
def test_no_other_host_is_ours(host: str) -> None:
    place = loopback_place(8731)
    if host.lower() not in ("127.0.0.1:8731", "localhost:8731"):
        assert place.origin_of(host) == ""


@given(st.text(max_size=60))
def test_headers_never_repeat_what_a_request_said(host: str) -> None:
    headers = security_headers(Place(("http://127.0.0.1:8731",)), host)
    assert "ws://127.0.0.1:8731" in headers["Content-Security-Policy"]
    assert all("\n" not in value and "\r" not in value for value in headers.values())
