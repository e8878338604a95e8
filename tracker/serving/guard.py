"""Who may talk to the server of the screens: the key, the cookie it is changed for, and the Host and Origin checks.

Any page in the owner's browser can reach a server on this machine, so an address alone must never be enough: a request
needs the cookie that only the printed key gives, must name this server as its host (RFC 9110, section 7.4), and must come
from a page of this server when it says where it comes from or opens the socket (RFC 6455, section 10.2).
"""

from __future__ import annotations

import hmac
import secrets
from collections.abc import Mapping
from dataclasses import dataclass, field
from http import HTTPStatus
from urllib.parse import urlsplit

from tracker.errors import InputError

LOOPBACK = ("127.0.0.1", "localhost", "::1")
_DEFAULT_PORTS = {"http": 80, "https": 443}
_URL_HINT = "write it like https://jobs.example"


@dataclass(frozen=True, slots=True)
class Place:
    """Where the pages of this server are reached: ``origins`` are the only ones it answers for."""

    origins: tuple[str, ...]

    @property
    def secure(self) -> bool:
        """Whether browsers reach it by https only."""
        return self.origins[0].startswith("https:")

    def origin_of(self, host: str) -> str:
        """The origin a Host header names, empty when it is none of ours."""
        scheme = "https" if self.secure else "http"
        named = _origin(scheme, host)
        return named if named in self.origins else ""


def _origin(scheme: str, host: str) -> str:
    """``scheme://host:port`` with the port left out where it is the scheme's own."""
    name = host.lower()
    return f"{scheme}://{name.removesuffix(f':{_DEFAULT_PORTS[scheme]}')}"


def loopback_place(port: int, host: str = LOOPBACK[0]) -> Place:
    """This machine's own names for a port of ``host``: first the number it listens on, which nothing else can answer for.

    A number of IPv6 stands in brackets (RFC 3986, section 3.2.2).
    """
    number = "[::1]" if ":" in host else "127.0.0.1"
    return Place(tuple(_origin("http", f"{name}:{port}") for name in (number, "localhost")))


def public_place(url: str) -> Place:
    """The place of a public address; raises InputError unless it is a plain https address with no path."""
    try:
        parts = urlsplit(url.strip())
        host, port = parts.hostname or "", parts.port
    except ValueError:
        raise InputError(f"{url[:80]!r} is not an address", _URL_HINT) from None
    if parts.scheme != "https":
        raise InputError(
            "a public address must begin with https://: the key would cross the network in clear", _URL_HINT
        )
    if not host or parts.path not in ("", "/") or parts.query or parts.fragment or "@" in parts.netloc:
        raise InputError("a public address is a name alone, with no path, no question mark and no password", _URL_HINT)
    if not host.isascii() or any(char in host for char in " \"'<>;,"):
        raise InputError(f"{host[:80]!r} is not a host name", _URL_HINT)
    name = f"[{host}]" if ":" in host else host
    return Place((_origin("https", name if port is None else f"{name}:{port}"),))


def check_host(host: str, public_url: str | None) -> None:
    """Raise InputError when the server would listen beyond this machine without a public https address."""
    if host not in LOOPBACK and public_url is None:
        raise InputError(
            f"{host[:80]!r} can be reached from other machines, and what is typed would cross the network in clear",
            "leave --host out, or put a proxy with https before it and give its address with --public-url",
        )


@dataclass(frozen=True, slots=True)
class Guard:
    """The key and the cookie of one run of the server; both are forgotten when it ends."""

    place: Place
    port: int
    key: str = field(default_factory=lambda: secrets.token_urlsafe(32), repr=False)
    cookie: str = field(default_factory=lambda: secrets.token_urlsafe(32), repr=False)

    @property
    def cookie_name(self) -> str:
        """Cookies of one machine are shared by all its ports, so the name holds the port."""
        return "__Host-deckjobs" if self.place.secure else f"deckjobs-{self.port}"

    @property
    def address(self) -> str:
        """The address to open, with the key."""
        return f"{self.place.origins[0]}/?key={self.key}"

    def key_fits(self, given: str) -> bool:
        """Whether it is the key; takes as long for a near miss as for a far one."""
        return _same(given, self.key)

    def refusal(self, path: str, headers: Mapping[str, str], cookies: Mapping[str, str]) -> HTTPStatus | None:
        """Why a request is refused; None when it may pass."""
        own = self.place.origin_of(headers.get("Host", ""))
        if not own:
            return HTTPStatus.MISDIRECTED_REQUEST
        origin = headers.get("Origin")
        if origin != own and (origin is not None or path == "/ws"):
            return HTTPStatus.FORBIDDEN
        if not _same(cookies.get(self.cookie_name, ""), self.cookie):
            return HTTPStatus.FORBIDDEN
        return None

    def host_fits(self, headers: Mapping[str, str]) -> bool:
        """Whether the request names this server."""
        return bool(self.place.origin_of(headers.get("Host", "")))


def _same(given: str, right: str) -> bool:
    return hmac.compare_digest(given.encode("utf-8", "replace"), right.encode())


def security_headers(place: Place, host: str) -> dict[str, str]:
    """The headers of every answer: nothing kept, nothing framed, nothing loaded from anywhere else.

    The terminal's script makes style elements of its own, so styles may stand in the page; scripts may not.
    """
    origin = place.origin_of(host) or place.origins[0]
    # A policy cannot name a number of IPv6 (CSP Level 3, section 2.3.1, host-source); 'self' holds the socket there.
    socket = "" if "[" in origin else f" {origin.replace('http', 'ws', 1)}"
    policy = {
        "default-src": "'none'",
        "script-src": "'self'",
        "style-src": "'self' 'unsafe-inline'",
        "font-src": "'self'",
        "img-src": "'self' data:",
        "connect-src": f"'self'{socket}",
        "base-uri": "'none'",
        "form-action": "'none'",
        "frame-ancestors": "'none'",
    }
    return {
        "Cache-Control": "no-store",
        "Content-Security-Policy": "; ".join(f"{name} {value}" for name, value in policy.items()),
        "Cross-Origin-Opener-Policy": "same-origin",
        "Cross-Origin-Resource-Policy": "same-origin",
        "Referrer-Policy": "no-referrer",
        "X-Content-Type-Options": "nosniff",
        "X-Frame-Options": "DENY",
        "Server": "deckjobs",
    }
