"""The nurse line's desk from outside: who may enter, what each role may do, a call, its note, call-backs, the book."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from html import unescape
from pathlib import Path

import pytest
from conftest import DEMO
from desk_server import PASSWORDS, Seat, add_user, desk
from page_server import Server

WORDS = "she vomited twice since midnight"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("desk")


@pytest.fixture(scope="module")
def server(folder: Path) -> Iterator[Server]:
    made = desk(folder)
    yield made
    assert "Traceback" not in made.stop()


def textarea(page: str) -> str:
    found = re.search(r'<textarea id="note"[^>]*>\n(.*?)</textarea>', page, re.DOTALL)
    assert found
    return unescape(found.group(1))


def mark(page: str) -> str:
    found = re.search(r'name="made" value="([0-9a-f]{64})"', page)
    assert found
    return found.group(1)


@pytest.mark.parametrize("path", ["/", "/calls", "/audit", "/home/K-17", "/home/K-17/call", "/nothing"])
def test_nothing_is_shown_before_the_sign_in(server: Server, path: str) -> None:
    with Seat(server) as seat:
        got = seat.get(path)
        assert got.status_code in (303, 404) and "Juniper" not in got.text
        assert got.status_code == 404 or got.headers["location"] == "/login"
        assert seat.send("/home/K-17/note", {"note": "x"}).headers["location"] == "/login"


def test_the_cookie_is_of_the_session_alone_and_no_script_s(server: Server) -> None:
    with Seat(server) as seat:
        got = seat.enter("nils", PASSWORDS["nils"])
        cookie = got.headers["set-cookie"].lower()
        assert "httponly" in cookie and "samesite=strict" in cookie and "max-age" not in cookie
        assert seat.get("/").status_code == 200
        stolen = seat.client.cookies["bagside_desk"]
        assert seat.send("/logout", {"out": "1"}).headers["location"] == "/login"
        with Seat(server) as other:
            other.client.cookies.set("bagside_desk", stolen)
            assert other.get("/").status_code == 303


@pytest.mark.parametrize("forged", ["", "x", "nils", "lead", "A" * 43, "A" * 5000, "../users.json", '{"role":"lead"}'])
def test_a_forged_cookie_opens_nothing(server: Server, forged: str) -> None:
    with Seat(server) as seat:
        got = seat.client.get("/home/K-17", headers={"cookie": f"bagside_desk={forged}"})
        assert got.status_code in (303, 400) and "Juniper" not in got.text


def test_a_form_of_another_site_is_refused(server: Server) -> None:
    with Seat(server, "nils") as seat:
        got = seat.client.post("/home/K-17/note", data={"note": "x"}, headers={"origin": "http://example.org"})
        assert got.status_code == 403


def test_homes_are_found_and_one_is_opened(server: Server) -> None:
    with Seat(server, "ada") as seat:
        assert {"K-17", "K-18"} <= set(re.findall(r"K-1\d", seat.get("/").text))
        found = seat.get("/?q=junip").text
        assert "K-17" in found and "K-18" not in found
        home = seat.get("/home/k-17").text
        for part in ("Juniper", "Tonight", "72 mL/h", "Log of two days", "Week", "Nothing is decided for you"):
            assert part in home, part
        assert seat.get("/home/K-99").status_code == 404
        assert seat.get("/home/..%2f..%2fetc").status_code == 404


def test_a_call_gives_level_card_questions_and_what_each_answer_changes(server: Server) -> None:
    with Seat(server, "nils") as seat:
        page = seat.send("/home/K-17/call", {"words": WORDS}).text
        assert "By the words and the answers: Urgent" in page
        assert "Do not start the feed again yet." in page and "Review by a clinician:" in page
        assert "No sum is worked out in the same words as a danger" in page
        assert "Yes: Emergency" in page and "No: stays Urgent" in page
        key = re.findall(r'name="(a\.[a-z_]+\.\d)"', page)[0]
        note = textarea(page)
        assert WORDS in note and "Not asked." in note and "care plan" in note
        raised = seat.send("/home/K-17/call", {"words": WORDS, key: "yes", "note": note, "made": mark(page)}).text
        assert "By the words and the answers: Emergency" in raised
        assert " Yes." in textarea(raised)                     # nobody had edited the note, so it built itself anew


def test_a_note_that_was_edited_stays(server: Server) -> None:
    with Seat(server, "nils") as seat:
        page = seat.send("/home/K-17/call", {"words": WORDS}).text
        mine = "Mother sounds calm.\n" + textarea(page)
        again = seat.send("/home/K-17/call", {"words": f"{WORDS}, twice green", "note": mine, "made": mark(page)}).text
        assert textarea(again).strip() == mine.strip() and "twice green" in again
        assert "You have edited the note" in again
        # and it stays over a second round, too
        third = seat.send("/home/K-17/call", {"words": WORDS, "note": textarea(again), "made": mark(again)}).text
        assert textarea(third).startswith("Mother sounds calm.")


def test_a_sum_has_its_values_with_their_origin(server: Server) -> None:
    with Seat(server, "nils") as seat:
        page = seat.send("/home/K-17/call", {"words": "How long will 360 mL last at 72 mL/h?"}).text
        assert "5 h" in page and "<td>question</td>" in page    # 360 / 72
        assert "what to do about the feed is for the care team" in page


def test_a_reader_writes_nothing_and_only_a_lead_reads_the_book(server: Server) -> None:
    due = {"level": "urgent", "due": "2026-11-26T03:00", "about": "how she is"}
    with Seat(server, "ada") as seat:
        assert seat.send("/home/K-18/note", {"note": "from a reader"}).status_code == 403
        assert seat.send("/home/K-18/call-back", due).status_code == 403
        assert seat.send("/home/K-18/called", {"number": "1"}).status_code == 403
        assert seat.get("/audit").status_code == 403
        assert "from a reader" not in seat.get("/home/K-18").text
        assert "Save the note" not in seat.send("/home/K-18/call", {"words": WORDS}).text
    with Seat(server, "nils") as seat:
        assert seat.get("/audit?home=K-18").status_code == 403
    with Seat(server, "lena") as seat:
        book = seat.get("/audit?home=K-18").text
        assert re.search(r"<td>ada</td><td>opened</td><td>home</td>", book)
        assert re.search(r"<td>ada</td><td>opened</td><td>call</td>", book)
        assert "signed in" in seat.get("/audit").text


def test_each_opening_leaves_a_line(server: Server) -> None:
    with Seat(server, "lena") as lead, Seat(server, "nils") as seat:
        before = lead.get("/audit?home=K-17").text.count("<td>nils</td>")
        seat.get("/home/K-17")
        seat.get("/home/K-17/call")
        assert lead.get("/audit?home=K-17").text.count("<td>nils</td>") == before + 2


def test_call_backs_stand_by_urgency_then_time_and_are_closed_once(server: Server) -> None:
    with Seat(server, "nils") as seat, Seat(server, "lena") as other:
        for home, level, due, about in (("K-17", "same_day", "2026-11-26T09:00", "third"),
                                        ("K-17", "urgent", "2026-11-26T04:00", "second"),
                                        ("K-17", "urgent", "2026-11-26T02:00", "first")):
            sent = {"level": level, "due": due, "about": about}
            assert seat.send(f"/home/{home}/call-back", sent).status_code == 303
        page = other.get("/calls").text
        assert page.index("first") < page.index("second") < page.index("third")
        assert "2026-11-26 02:00 (past)" in page                # it is 02:10 there
        number = re.findall(r'name="number" value="(\d+)"', page)[0]    # of the first, the most urgent
        assert seat.send("/home/K-17/called", {"number": number}).status_code == 303
        assert other.send("/home/K-17/called", {"number": number}).status_code == 409   # the other desk was first
        assert "first" not in other.get("/calls").text
        for bad in ({"level": "none"}, {"level": "grave"}, {"due": ""}, {"due": "soon"}, {"due": "2026-13-01T00:00"}):
            sent = {"level": "urgent", "due": "2026-11-26T04:00", "about": "x", **bad}
            assert seat.send("/home/K-17/call-back", sent).status_code == 400, bad


def test_two_desks_on_one_home_lose_nothing(server: Server) -> None:
    with Seat(server, "nils") as one, Seat(server, "lena") as two:
        one.send("/home/K-17/note", {"note": "told at the first desk"})
        two.send("/home/K-17/note", {"note": "told at the second desk"})
        page = one.get("/home/K-17").text
        assert "told at the first desk" in page and "told at the second desk" in page


def test_script_stays_text(server: Server, folder: Path) -> None:
    script = "<script>alert(1)</script>"
    plan = (DEMO / "child_overnight_pump.toml").read_text().replace('"Juniper"', json.dumps(script))
    (folder / "homes" / "K-66").mkdir(exist_ok=True)
    (folder / "homes" / "K-66" / "care_plan.toml").write_text(plan)
    with Seat(server, "nils") as seat:
        seat.send("/home/K-66/note", {"note": script})
        pages = [seat.get("/?q=K-66"), seat.get("/home/K-66"), seat.send("/home/K-66/call", {"words": script}),
                 seat.send("/home/K-66/paper", {"note": script}), seat.get(f"/?q={script}")]
        for page in pages:
            assert "<script" not in page.text and "default-src 'none'" in page.headers["content-security-policy"]
        assert all("&lt;script&gt;" in page.text for page in pages)


def test_too_much_is_refused(server: Server) -> None:
    with Seat(server, "nils") as seat:
        assert seat.send("/home/K-17/call", {"words": "a" * 2001}).status_code == 413
        assert seat.send("/home/K-17/note", {"note": "a" * 20_001}).status_code == 413
        assert seat.send("/home/K-17/note", {"note": "  "}).status_code == 400


def test_wrong_passwords_lock_the_name_and_are_noted(server: Server) -> None:
    with Seat(server) as seat:
        for name in ("ada", "nobody"):                          # a name that nobody has behaves alike
            said = [seat.enter(name, "not the password") for _ in range(6)]
            assert [got.status_code for got in said] == [403] * 6
            assert "do not belong together" in said[0].text and "locked" in said[5].text
        assert seat.enter("ada", PASSWORDS["ada"]).status_code == 403     # not even with the right one
        assert seat.get("/").status_code == 303
    with Seat(server, "lena") as lead:
        assert "sign-in locked: ada" in lead.get("/audit").text


def test_who_is_taken_out_of_the_file_is_out_at_once(server: Server, folder: Path) -> None:
    assert add_user(folder, "temp", "nurse", "a week in november").returncode == 0
    with Seat(server) as seat:
        assert seat.enter("temp", "a week in november").status_code == 303
        assert seat.get("/").status_code == 200
        known = json.loads((folder / "users.json").read_text())
        del known["users"]["temp"]
        (folder / "users.json").write_text(json.dumps(known))
        assert seat.get("/").status_code == 303


def test_the_user_file_holds_no_password_and_is_its_owner_s(folder: Path, server: Server) -> None:
    data = (folder / "users.json").read_text()
    assert not any(password in data for password in PASSWORDS.values())
    assert (folder / "users.json").stat().st_mode & 0o077 == 0
    salts = [user["salt"] for user in json.loads(data)["users"].values()]
    assert len(set(salts)) == len(salts)


@pytest.mark.parametrize(("name", "role", "password"), [
    ("Nils!", "nurse", "long enough for it"), ("nils", "nurse", "short"), ("nils", "boss", "long enough for it")])
def test_a_bad_user_is_not_written(tmp_path: Path, name: str, role: str, password: str) -> None:
    assert add_user(tmp_path, name, role, password).returncode == 2
    assert not (tmp_path / "users.json").exists()
