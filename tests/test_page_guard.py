"""Who may ask the page's server, and how: other sites, strangers on the network, too much, and the headers."""

from __future__ import annotations

import json
import re
import shutil
import ssl
import subprocess
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest
from page_server import Patient, Server, household

from assistant.channels.web.guard import Rate, good_host
from assistant.channels.web.pairing import CODE_LASTS_S, FILE, TRIES, Pairing

AWAY = {"x-forwarded-for": "192.0.2.7"}     # handed on by something: not this computer's own browser
JSON = {"content-type": "application/json"}


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    made = Server("--home", household(tmp_path_factory.mktemp("guard") / "home"), "--lan")
    yield made
    assert "Traceback" not in made.stop()


@pytest.fixture(scope="module")
def call(server: Server) -> Iterator[Patient]:
    with server.client() as client:
        yield Patient(client)


NAMES = ["evil.example", "evil.example:8614", "127.0.0.1.evil.example", "", "localhost.evil.example"]
KINDS = ["text/plain", "application/x-www-form-urlencoded", "multipart/form-data; boundary=a", ""]


@pytest.mark.parametrize("host", NAMES)
def test_another_name_for_this_computer_is_refused(call: Patient, host: str) -> None:
    """A name server that leads a stranger's name to this address gives his page nothing (DNS rebinding)."""
    assert call("GET", "/api/state", headers={"host": host}).status_code in (400, 421)


@pytest.mark.parametrize(("host", "good"), [
    ("127.0.0.1", True), ("localhost:80", True), ("[::1]:8614", True), ("192.168.1.4:8614", True), ("pump.home", False),
    ("1.2.3.4.example", False), ("[::1", False), ("a@127.0.0.1", True), ("127.0.0.1/x", True),
])
def test_hosts(host: str, good: bool) -> None:
    assert good_host([host]) is good
    assert not good_host([]) and not good_host([host, host])


@pytest.mark.parametrize("headers", [
    {"origin": "https://evil.example"}, {"origin": "null"}, {"origin": "http://127.0.0.1:1"},
    {"sec-fetch-site": "cross-site"}, {"sec-fetch-site": "same-site"}, {"origin": "x" * 500},
])
def test_another_site_writes_nothing(server: Server, call: Patient, headers: dict[str, str]) -> None:
    for path, kind, content in (("/api/ask", JSON, b'{"text": "flushed 9 ml just now"}'),
                                ("/ask", {"content-type": "application/x-www-form-urlencoded"}, b"text=flushed")):
        assert call("POST", path, headers={**kind, **headers}, content=content).status_code == 403
    assert "9 mL" not in call("GET", "/log").text


@pytest.mark.parametrize("kind", KINDS)
def test_the_api_takes_json_alone(call: Patient, kind: str) -> None:
    """What a page of another site could send without asking first (a simple request) is none of them."""
    assert call("POST", "/api/ask", headers={"content-type": kind}, content=b'{"text": "hi"}').status_code == 415


def test_a_form_must_name_its_origin(server: Server, call: Patient) -> None:
    assert call("POST", "/ask", data={"text": "hello"}).status_code == 403
    assert call("POST", "/ask", data={"text": "hello"}, headers={"origin": server.address}).status_code == 200


def test_too_long_is_refused(call: Patient) -> None:
    assert call("POST", "/api/ask", json={"text": "a" * 2001}).status_code == 413
    assert call("POST", "/api/ask", json={"text": "a" * 20_000}).status_code == 413
    assert call("POST", "/api/ask", json={"text": "a" * 2000}).status_code == 200


def test_too_often_is_refused_and_passes() -> None:
    rate = Rate(a_second=0.001, burst=5)
    assert [rate.allows("a") for _ in range(7)] == [True] * 5 + [False] * 2
    assert rate.allows("b")
    page = Rate(a_second=0.001, burst=5)
    assert all(page.allows("a", "/static/main.js") for _ in range(20))
    assert page.allows("a", "/") and page.allows("a", "/")
    assert [page.allows("a", "/static/main.js") for _ in range(12)] == [True] * 10 + [False] * 2  # floods stay out
    assert all(Rate(a_second=1e9, burst=2).allows("a") for _ in range(20))


@pytest.mark.parametrize("path", ["/", "/wrong", "/log", "/sheet", "/pair", "/api/state", "/static/page.css", "/none"])
def test_every_answer_has_its_headers(call: Patient, path: str) -> None:
    got = call("GET", path)
    policy = got.headers["content-security-policy"]
    assert "default-src 'none'" in policy and "unsafe" not in policy and "http" not in policy
    assert got.headers["x-content-type-options"] == "nosniff"
    assert got.headers["x-frame-options"] == ("SAMEORIGIN" if path == "/sheet" else "DENY")
    assert "access-control-allow-origin" not in got.headers and "server" not in got.headers


def test_no_page_holds_script_or_another_site(call: Patient) -> None:
    for path in ("/", "/wrong", "/guides", "/log", "/week", "/handoff", "/print", "/pair", "/away"):
        text = call("GET", path).text
        assert not re.search(r"<script(?! type=\"module\" src=\"/static/)|\son[a-z]+=|style=|javascript:", text), path
        assert not re.search(r"(?:src|href|action)=\"(?!/|#|tel:)", text), path


def test_cookies_are_for_the_server_alone(call: Patient) -> None:
    for cookie in call("GET", "/").headers.get_list("set-cookie"):
        assert "HttpOnly" in cookie and "SameSite=Strict" in cookie


# -- pairing -------------------------------------------------------------------------------------------------------


def code_of(server: Server) -> str:
    return server.wait_for(r"airing code.*: (\d{8})").group(1)


def test_a_stranger_on_the_network_gets_the_pairing_page_alone(server: Server, call: Patient) -> None:
    for path in ("/api/state", "/api/events"):
        assert call("GET", path, headers=AWAY).status_code == 401
    assert call("POST", "/api/ask", headers=AWAY, json={"text": "hello"}).status_code == 401
    for path in ("/", "/log", "/sheet"):
        got = call("GET", path, headers=AWAY)
        assert got.status_code == 303 and got.headers["location"] == "/pair"
    page = call("GET", "/pair", headers=AWAY).text
    assert "Juniper" not in page and "902-555" not in page and "nothing is encrypted" in page


def test_a_phone_pairs_once_is_named_and_is_unpaired(server: Server) -> None:
    form = {**AWAY, "origin": server.address}
    with server.client(headers=AWAY) as phone, server.client(headers=AWAY) as other:
        code = code_of(server)
        assert phone.post("/pair", data={"code": "12"}, headers=form).status_code == 403
        done = phone.post("/pair", data={"code": f"{code[:4]} {code[4:]}"}, headers={**form, "user-agent": "x Mobile"})
        assert done.status_code == 303 and "HttpOnly" in done.headers["set-cookie"]
        assert phone.get("/api/state").status_code == 200
        assert other.post("/pair", data={"code": code}, headers=form).status_code == 403       # worked once
        assert "Phone, since" in phone.get("/pair").text
        assert phone.post("/unpair", data={"number": "1"}, headers=form).status_code == 303
        assert phone.get("/api/state").status_code == 401


def test_from_the_home_s_own_address_a_phone_is_a_stranger_too(server: Server) -> None:
    from assistant.channels.serve import _own_address

    address = _own_address()
    if not address or address.startswith("127."):
        pytest.skip("this computer has no address on a network")
    with httpx.Client(base_url=f"http://{address}:{server.port}", trust_env=False, timeout=30) as phone:
        assert phone.get("/api/state").status_code == 401
        assert phone.get("/pair").status_code == 200


def test_a_code_runs_out_works_once_and_locks(tmp_path: Path) -> None:
    now = [0.0]
    pairing = Pairing(tmp_path, clock=lambda: now[0])
    assert pairing.pair("00000000", "Phone") == ("over", None)
    code = pairing.new_code()
    now[0] = CODE_LASTS_S + 1
    assert pairing.pair(code, "Phone")[0] == "over"
    code = pairing.new_code()
    wrong = f"{(int(code) + 1) % 10**8:08}"
    found = [pairing.pair(wrong, "Phone")[0] for _ in range(TRIES)]
    assert found == ["wrong"] * (TRIES - 1) + ["locked"]
    assert pairing.pair(code, "Phone") == ("locked", None)                                     # the right one neither
    result, token = pairing.pair(pairing.new_code(), "Phone")
    assert result == "paired" and token is not None and pairing.knows(token) == 1


def test_tokens_are_kept_hashed_by_their_owner_alone_and_read_by_another_process(tmp_path: Path) -> None:
    pairing = Pairing(tmp_path)
    _, token = pairing.pair(pairing.new_code(), "Phone")
    assert token and len(token) >= 40
    file = tmp_path / FILE
    assert token not in file.read_text() and file.stat().st_mode & 0o077 == 0
    other = Pairing(tmp_path)
    assert other.knows(token) == 1 and other.knows(token + "x") is None and other.knows(None) is None
    assert other.unpair(1) == 1
    assert pairing.knows(token) is None


@pytest.mark.parametrize("content", ["", "{", "[]", "[1]", '[{"number": 1}]', json.dumps({"a": 1})])
def test_a_spoilt_file_pairs_nobody(tmp_path: Path, content: str) -> None:
    (tmp_path / FILE).write_text(content)
    pairing = Pairing(tmp_path)
    assert pairing.knows("anything") is None and pairing.phones() == []


def test_with_a_certificate_it_is_https_and_cookies_are_secure(tmp_path: Path) -> None:
    openssl = shutil.which("openssl")
    if openssl is None:
        pytest.skip("no openssl here to make a certificate with")
    cert, key = tmp_path / "cert.pem", tmp_path / "key.pem"
    subprocess.run([openssl, "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-keyout", str(key), "-out", str(cert),
                    "-days", "2", "-subj", "/CN=localhost", "-addext", "subjectAltName=IP:127.0.0.1"], check=True,
                   capture_output=True, timeout=60)
    server = Server("--home", household(tmp_path / "home"), "--tls-cert", str(cert), "--tls-key", str(key))
    try:
        context = ssl.create_default_context(cafile=str(cert))
        with httpx.Client(base_url=f"https://127.0.0.1:{server.port}", verify=context, trust_env=False) as client:
            got = client.get("/")
            assert got.status_code == 200 and "Secure" in got.headers["set-cookie"]
            assert "strict-transport-security" in got.headers
            origin = f"https://127.0.0.1:{server.port}"
            assert client.post("/ask", data={"text": "hello"}, headers={"origin": origin}).status_code == 200
    finally:
        assert "Traceback" not in server.stop()
