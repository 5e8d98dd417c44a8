"""Who may ask, and how: host, origin, kind and size of what is sent, how often, and pairing. Then the headers.

A page of another site must not read or write here through the household's browser; a stranger on the home network must
not either. Nothing of a refused request is said back.
"""

from __future__ import annotations

import hashlib
import ipaddress
import secrets
import time
from array import array
from collections.abc import Mapping
from multiprocessing.sharedctypes import RawArray
from typing import Any
from urllib.parse import urlsplit

from sanic import HTTPResponse, Request

from assistant.channels.web.pairing import Pairing
from assistant.channels.web.refused import Refused

LARGEST = 16_384  # bytes of what is sent
TOKEN = "bagside_paired"  # the cookie's name, no secret
FREE = ("/pair", "/static/", "/health", "/worker.js")  # what a phone that is not paired yet gets
FORM, JSON = "application/x-www-form-urlencoded", "application/json"
MACHINES = ("/api/", "/webhooks/", "/model/")  # answered in JSON; all else is for a browser
PLACES = 4096  # addresses whose rate is kept

CSP = (
    "default-src 'none'; script-src 'self'; style-src 'self'{styles}; img-src 'self'; connect-src 'self'; "
    "worker-src 'self'; "
    "frame-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors {frames}"
)
MAY_HEAR = "camera=(), geolocation=(), microphone=(self), payment=(), usb=()"  # the page with the text box alone
HEADERS = {
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",  # with no-referrer a browser's form would name no origin
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), geolocation=(), microphone=(), payment=(), usb=()",
    "cache-control": "no-store",
}

FILES = "/static/"
A_FILE = 0.1  # of a request: a page loads some twenty files, and its worker the same again to keep them


class Rate:
    """Requests that one address may send: `burst` at once, then `a_second`. With `shared` several processes count
    together (given to each as it is started).

    An address has a place by a secret hash: seldom two share one. No lock: two processes that count in the same instant
    may lose one of the two, and a process that dies while it counts holds up nobody.
    """

    def __init__(self, a_second: float = 50.0, burst: float = 200.0, shared: bool = False) -> None:
        self.a_second, self.burst, self._secret = a_second, burst, secrets.token_bytes(16)
        self._seen: Any = RawArray("d", 2 * PLACES) if shared else array("d", bytes(16 * PLACES))  # left, seen at

    def allows(self, address: str, path: str = "") -> bool:
        mark = hashlib.blake2b(address.encode("utf-8", "replace"), key=self._secret, digest_size=8).digest()
        place, now = 2 * (int.from_bytes(mark, "big") % PLACES), time.monotonic()
        left, at = self._seen[place], self._seen[place + 1]
        left = self.burst if at == 0 else min(self.burst, left + (now - at) * self.a_second)
        cost = A_FILE if path.startswith(FILES) else 1.0
        self._seen[place], self._seen[place + 1] = max(left - cost, 0.0), now
        return left >= cost


def is_for_machines(path: str) -> bool:
    return path.startswith(MACHINES)


def check(request: Request, pairing: Pairing, rate: Rate) -> None:
    """Let a request through, or raise Refused."""
    if not rate.allows(request.ip, request.path):
        raise Refused("too_often")
    if not good_host(request.headers.getall("host", [])):
        raise Refused("host")
    if request.method not in ("GET", "HEAD"):
        check_sent(request)
    if not is_local(request) and not request.path.startswith(FREE) and pairing.knows(token_of(request)) is None:
        raise Refused("not_paired")


def good_host(hosts: list[str]) -> bool:
    """An address in numbers, or this computer by name: no name that a stranger's name server could lead here."""
    if len(hosts) != 1:
        return False
    try:
        name = urlsplit(f"//{hosts[0]}").hostname or ""
        if name == "localhost" or name.endswith(".localhost"):
            return True
        ipaddress.ip_address(name)
    except ValueError:
        return False
    return True


def is_local(request: Request) -> bool:
    """From this computer itself, and not handed on by another program."""
    headers: Mapping[str, str] = request.headers
    if any(name in headers for name in ("forwarded", "x-forwarded-for", "x-real-ip", "via")):
        return False
    try:
        return ipaddress.ip_address(request.ip).is_loopback
    except ValueError:
        return False


def token_of(request: Request) -> str | None:
    token = request.cookies.get(TOKEN)
    return token if token is None or len(token) < 200 else None


def check_sent(request: Request) -> None:
    """What is sent comes from a form of this very page, or is JSON for programs. Raises Refused."""
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if kind != (JSON if is_for_machines(request.path) else FORM):
        raise Refused("kind")
    if request.headers.get("sec-fetch-site", "same-origin") not in ("same-origin", "none"):
        raise Refused("origin")
    origin = request.headers.get("origin")
    if origin is None:
        if kind == FORM:  # browsers name the origin of a form; a program has the API
            raise Refused("origin")
        return
    if len(origin) > 300 or origin.lower() != f"{request.scheme}://{request.headers.get('host', '')}".lower():
        raise Refused("origin")


def protect(request: Request, response: HTTPResponse) -> None:
    """The headers of every answer. A page with a style inside has the style's hash in `request.ctx.style`."""
    for name, value in HEADERS.items():
        response.headers.setdefault(name, value)
    style, framed = getattr(request.ctx, "style", ""), getattr(request.ctx, "framed", False)
    styles, frames = f" '{style}'" if style else "", "'self'" if framed else "'none'"
    response.headers["content-security-policy"] = CSP.format(styles=styles, frames=frames)
    response.headers["x-frame-options"] = "SAMEORIGIN" if framed else "DENY"
    if request.scheme == "https":
        response.headers["strict-transport-security"] = "max-age=31536000"
