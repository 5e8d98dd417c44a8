"""The service on several computers behind a balancer: a database, two with desk and action server, HAProxy in front.

    python tests/several_computers.py            # as root; needs iproute2, openssl, haproxy and postgresql (Debian)

Each computer is a network namespace of this one with an address of its own, joined by a bridge; nothing is shared but
the wire: homes and sign-ins are in the database, the user file and the certificate are copies, each computer has a
folder of its own as home and for temporary files. HAProxy passes connections on by turns without looking into them.
What is checked is printed line by line; the first that does not hold ends the run with 1.
"""

from __future__ import annotations

import contextlib
import os
import shutil
import ssl
import sys
import tempfile
import time
from collections import Counter
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

import httpx  # noqa: E402
from joined_computers import (  # noqa: E402
    ACTIONS,
    ADDRESS,
    DATABASE,
    DESK,
    FRONT,
    ONE,
    SECRET,
    TWO,
    Computer,
    balancer,
    certificate,
    network,
    on,
    served,
    wire,
)
from postgres import Cluster, missing  # noqa: E402

from assistant.channels.desk.users import Users  # noqa: E402
from assistant.homes.homes import open_homes  # noqa: E402

PLAN = (ROOT / "demo" / "child_overnight_pump.toml").read_bytes()
PASSWORD = "a lamp on the landing"
def holds(what: str, truth: object) -> None:
    print(f"{'holds' if truth else 'FAILS'}   {what}", flush=True)
    if not truth:
        raise SystemExit(1)


class Desk:
    """A browser without script that opens a new connection for each request, so that each may go elsewhere."""

    def __init__(self, trusted: ssl.SSLContext) -> None:
        self.trusted, self.cookies = trusted, httpx.Cookies()
        self.address = f"https://{ADDRESS[FRONT]}:{DESK}"

    def send(self, method: str, path: str, **fields: str) -> httpx.Response:
        with httpx.Client(verify=self.trusted, trust_env=False, timeout=20, cookies=self.cookies) as client:
            got = client.request(method, self.address + path, data=fields or None, headers={"origin": self.address})
            self.cookies = client.cookies
            return got


def call(home: str, text: str, talk: Any, message: str) -> dict[str, Any]:
    event = {"event": "user", "text": text, "message_id": message}
    return {"next_action": "action_help", "sender_id": home, "version": "3.15.0", "domain": {"intents": []},
            "tracker": {"sender_id": home, "slots": {"talk": talk}, "events": [{"event": "action"}, event],
                        "latest_message": {"text": text, "intent": {"name": "guess"}, "entities": []},
                        "paused": False, "followup_action": None, "active_loop": {}, "latest_action_name": None}}


def say(home: str, text: str, talk: Any, message: str) -> tuple[dict[str, Any], Any]:
    """A message to the action servers: its record, and the conversation that travels."""
    sent = httpx.post(f"http://{ADDRESS[FRONT]}:{ACTIONS}/webhook?token={SECRET}", json=call(home, text, talk, message),
                      trust_env=False, timeout=20)
    sent.raise_for_status()
    [response], [event] = sent.json()["responses"], sent.json()["events"]
    return response["custom"], event["value"]


def wait_until(what: str, ready: Any, seconds: float = 20.0) -> None:
    ends = time.monotonic() + seconds
    while time.monotonic() < ends:
        with contextlib.suppress(httpx.HTTPError, OSError):
            if ready():
                return
        time.sleep(0.2)
    raise SystemExit(f"not ready: {what}")


def well(computer: str) -> bool:
    """Does its action server answer?"""
    address = f"http://{ADDRESS[computer]}:{ACTIONS}/health?token={SECRET}"
    return httpx.get(address, trust_env=False).status_code == 200


def conversation(database: str) -> None:
    """A caller's messages go to both action servers in turn; the desk sees them from either."""
    record, talk = say("K-17", "just hung 400 at ten past nine yesterday running at 60", None, "m1")
    for number, (text, intent) in enumerate((("how much has she had?", "delivered"), ("flushed with 20 just now",
                                            "log_flush"), ("and how long will 300 last at 60?", "bag_duration"))):
        record, talk = say("K-17", text, talk, f"m{number + 2}")
        holds(f"at the balancer: {text!r} is heard as {intent}, whoever answers", record["intent"] == intent)
    again = [say("K-17", "flushed with 35 just now", talk, "same")[0]["text"] for _ in range(4)]
    homes = open_homes(database)
    flushes = [entry for entry in homes.store("K-17").events() if entry.kind == "flushed"]
    homes.close()
    holds("the same message four times over both is written down once, with one answer",
          len(set(again)) == 1 and len(flushes) == 2)


def main() -> int:
    if os.geteuid() != 0 or not all(map(shutil.which, ("ip", "haproxy", "openssl"))) or missing():
        print(f"needs root, iproute2, haproxy, openssl and PostgreSQL. {missing()}")
        return 2
    with network(), tempfile.TemporaryDirectory(prefix="bagside-several-") as name, contextlib.ExitStack() as after:
        folder = Path(name)
        cluster = Cluster(listens=ADDRESS[DATABASE], within=on(DATABASE))
        after.callback(cluster.remove)
        database = cluster.new_database()
        homes = open_homes(database)
        homes.put_plan("K-17", PLAN, datetime(2026, 11, 20, tzinfo=UTC))
        homes.close()
        users, made = folder / "users.json", certificate(folder)
        Users(users).put("nils", "nurse", PASSWORD)
        computers = [Computer(each, database, users, made) for each in (ONE, TWO)]
        for computer in computers:
            after.callback(computer.end)
        trusted = ssl.create_default_context(cafile=str(made[0]))
        for each in (ONE, TWO):
            wait_until(each, partial(well, each))
        front, told = balancer(folder)
        after.callback(front.kill)
        return checks(Desk(trusted), computers, told, database)


def checks(desk: Desk, computers: list[Computer], told: Path, database: str) -> int:
    wait_until("the desk", lambda: desk.send("GET", "/login").status_code == 200)
    holds("a sign-in at one desk", desk.send("POST", "/login", name="nils", password=PASSWORD).status_code == 303)
    opened = Counter(desk.send("GET", "/home/K-17").status_code for _ in range(20))
    holds("counts at both: a home opened twenty times by turns", opened == {200: 20})
    conversation(database)
    page = desk.send("GET", "/home/K-17").text
    holds("what was told to the action servers stands at the desk", "400" in page)
    say_all(desk, "with both", 40)
    shares = served(told)
    holds(f"both answered: {shares}", len(shares) == 4 and min(shares.values()) >= 10)
    computers[0].kill()
    say_all(desk, "one computer's programs killed at once", 40)
    computers[0].start()
    wait_until("the first again", lambda: well(ONE))
    wire(TWO, "down")
    time.sleep(1.0)
    say_all(desk, "the other computer's cable pulled", 40)
    wire(TWO, "up")
    wire(DATABASE, "down")
    time.sleep(1.0)
    answer = desk.send("GET", "/home/K-17")
    holds("the database's cable pulled: the desk says so, and shows nothing of the home",
          answer.status_code == 503 and "400 mL" not in answer.text)
    wire(DATABASE, "up")
    wait_until("the database again", lambda: desk.send("GET", "/home/K-17").status_code == 200)
    homes = open_homes(database)
    kept = [entry.note for entry in homes.store("K-17").events() if entry.kind == "flushed"]
    homes.close()
    holds(f"every flush that was acknowledged is in the log, and none twice ({SAID} of them)", len(kept) == SAID + 2)
    return 0


SAID = 0


def say_all(desk: Desk, when: str, times: int) -> None:
    """Flushes told one after the other, each sent again (with its own mark) until it is acknowledged."""
    global SAID
    lost, hours = 0, 2 + SAID // times
    for number in range(times):
        mark = f"{when}-{number}"
        for _ in range(20):
            try:
                record, _ = say("K-17", f"flushed with {10 + number} ml {hours} hours ago", None, mark)
                break
            except httpx.HTTPError:
                lost += 1
                time.sleep(0.2)
        else:
            holds(f"{when}: a message is answered", False)
        SAID += record["outcome"] == "done"
    opened = Counter(desk.send("GET", "/home/K-17").status_code for _ in range(10))
    holds(f"{when}: {times} messages answered ({lost} sent again), the home opened ten times", opened == {200: 10})


if __name__ == "__main__":
    sys.exit(main())
