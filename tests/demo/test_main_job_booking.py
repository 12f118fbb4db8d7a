"""The demo's visit of the day finds an hour on any day, also on one on which nobody works."""

import datetime as dt
from typing import Any

from demo.main_job import book

SUNDAY = dt.date(2026, 11, 29)
ROW = {"place": "p", "system": "s"}
PEOPLE = [{"id": "ana"}, {"id": "marek"}]


class Firm:
    """Answers as the API does where Ana's hour is taken, and nobody works on the day."""

    def __init__(self) -> None:
        self.taken: list[dict[str, Any]] = []

    def ask(self, _method: str, _path: str, body: dict[str, Any], _headers: Any) -> Any:
        who = body["technicians"][0]
        codes = [f"no_work:{who}"]
        if body.get("all_the_same", []) != codes:
            return 409, {"doubts": [{"code": code, "message": "x"} for code in codes]}
        if who == "ana":
            return 409, {"type": "urn:backyard:double_booked"}
        self.taken.append(body)
        return 201, {"id": "v"}


def test_a_day_on_which_nobody_works_is_taken_all_the_same() -> None:
    firm = Firm()
    assert book(firm, ROW, PEOPLE, SUNDAY) == {"id": "v"}  # type: ignore[arg-type]
    assert [row["technicians"] for row in firm.taken] == [["marek"]]
    assert firm.taken[0]["start"] == "2026-11-29T07:00:00+00:00"
