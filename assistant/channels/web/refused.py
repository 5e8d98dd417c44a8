"""A request that is not answered: the code of its sentence (page_en.toml or desk_en.toml) and the HTTP status."""

from __future__ import annotations

STATUS = {
    "too_often": 429,
    "host": 421,
    "origin": 403,
    "kind": 415,
    "not_paired": 401,
    "too_long": 413,
    "not_read": 400,
    "bad_now": 400,
    "not_found": 404,
    "method": 405,
    "plan_faulty": 503,
    "unreadable": 503,
    "fault": 500,
    "role": 403,
    "no_home": 404,
    "not_open": 409,
}


class Refused(Exception):
    """Why a request gets no answer. Holds nothing of what was sent."""

    def __init__(self, code: str) -> None:
        super().__init__(code)
        self.code, self.status = code, STATUS[code]
