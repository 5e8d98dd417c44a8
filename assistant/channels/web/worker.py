"""The page's service worker: its file, after the names of what it keeps. The cache is named by a hash of all that.

Browsers run one only in a secure context: on this computer, or over HTTPS. Over plain HTTP the page does without.
"""

from __future__ import annotations

import hashlib
import json
from functools import cache

from sanic import HTTPResponse
from sanic.response import raw

from assistant.channels.web.one_thread import PAGE
from knowledge.library import FOLDER

ADDRESS, AWAY = "/worker.js", "/away"
NOT_KEPT = ("desk.css",)


def served() -> HTTPResponse:
    """The script, which every browser may have: it holds nothing of the household."""
    return raw(script(), content_type="text/javascript; charset=utf-8")


@cache
def script() -> bytes:
    files = sorted(path for path in (PAGE / "static").iterdir() if path.is_file() and path.name not in NOT_KEPT)
    begins = (f"const CACHE = {json.dumps(_name())};\nconst AWAY = {json.dumps(AWAY)};\n"
              f"const FILES = {json.dumps([f'/static/{path.name}' for path in files])};\n")
    return begins.encode() + (PAGE / "worker.js").read_bytes()


def _name() -> str:
    """Another name whenever a file of the page, or its words, is another."""
    digest = hashlib.sha256()
    for path in [*sorted(path for path in PAGE.rglob("*") if path.is_file()), FOLDER / "page_en.toml"]:
        digest.update(f"{path.name}\0".encode() + path.read_bytes())
    return f"bagside-{digest.hexdigest()[:16]}"
