"""The main job, once, through the API: due, booked, answered, assessed, reported, delivered."""

import datetime as dt
import json
import re
import time
import urllib.error
import urllib.request
from collections.abc import Callable
from email import message_from_bytes, policy
from pathlib import Path
from typing import Any
from uuid import uuid4

from demo import sink

DEADLINE_S = 120


class Caller:
    """Calls the API with a token."""

    def __init__(self, address: str, token: str) -> None:
        self.address, self.token = address, token

    def ask(
        self, method: str, path: str, body: Any = None, headers: dict[str, str] | None = None
    ) -> tuple[int, Any]:
        """Return (status, parsed answer)."""
        data = json.dumps(body).encode() if body is not None else None
        request = urllib.request.Request(
            f"{self.address}/api/v1{path}", data=data, method=method,
            headers={"Authorization": f"Bearer {self.token}", "Content-Type": "application/json",
                     **(headers or {})},
        )  # fmt: skip
        try:
            with urllib.request.urlopen(request, timeout=60) as answer:
                return answer.status, json.loads(answer.read() or b"null")
        except urllib.error.HTTPError as error:
            return error.code, json.loads(error.read() or b"null")

    def need(self, method: str, path: str, body: Any = None, **headers: str) -> Any:
        """Return the answer of a call that has to succeed."""
        named = {name.replace("_", "-"): value for name, value in headers.items()}
        status, answer = self.ask(method, path, body, named)
        if status >= 300:
            raise SystemExit(f"bin/demo: {method} {path} answered {status}: {answer}")
        return answer


def wait(what: str, look: Callable[[], Any], check: Callable[[], None]) -> Any:
    """Return what `look` finds, once it does."""
    end = time.monotonic() + DEADLINE_S
    while time.monotonic() < end:
        check()
        found = look()
        if found:
            return found
        time.sleep(0.3)
    raise SystemExit(f"bin/demo: waited {DEADLINE_S} s for {what}; see the logs in the folder log/")


def web_up(address: str) -> bool:
    """Return True where the web server answers."""
    try:
        with urllib.request.urlopen(f"{address}/livez", timeout=2):
            return True
    except OSError:
        return False


def book(api: Caller, row: dict[str, Any], people: list[dict[str, Any]], today: dt.date) -> Any:
    """Book the due system at the first hour of the day at which somebody is free.

    On a day on which nobody works, the first doubtful hour is taken all the same.
    """
    doubtful: list[dict[str, Any]] = []
    for hour in range(7, 20):
        for person in people:
            start = dt.datetime.combine(today, dt.time(hour, 0), tzinfo=dt.UTC)
            body = {
                "place": row["place"], "systems": [row["system"]], "start": start.isoformat(),
                "end": (start + dt.timedelta(minutes=50)).isoformat(),
                "technicians": [person["id"]], "reason": "planned care",
            }  # fmt: skip
            status, answer = api.ask("POST", "/visits", body, {"Idempotency-Key": str(uuid4())})
            if status == 201:
                return answer
            if status == 409 and "doubts" in answer:
                doubtful.append(body | {"all_the_same": [row["code"] for row in answer["doubts"]]})
    for body in doubtful:
        status, answer = api.ask("POST", "/visits", body, {"Idempotency-Key": str(uuid4())})
        if status == 201:
            return answer
    raise SystemExit("bin/demo: nobody is free today for the demo visit; use a fresh --dir")


def answers(visit: dict[str, Any], system: dict[str, Any], now: dt.datetime) -> dict[str, Any]:
    """Return a technician's sheet for one system: a buffer that runs low, all else well."""
    began = now - dt.timedelta(minutes=55)
    typical = {
        "temp": (27.6, "°C"), "do": (6.2, "mg/L"), "ph": (6.42, ""), "alk": (27, "mg/L CaCO3"),
        "tan": (0.3, "mg/L"), "no2": (0.09, "mg/L"), "no3": (38, "mg/L"), "ec": (0.66, "mS/cm"),
    }  # fmt: skip
    loop = next(
        (lp for lp in system["loops"] if lp["kind"] in ("whole", "fish")), system["loops"][0]
    )
    readings = [
        {
            "id": str(uuid4()), "loop": loop["id"], "measurand": name, "value": value,
            "unit": unit, "taken_at": (began + dt.timedelta(minutes=8)).isoformat(),
            "checked_twice": True,
        }
        for name, (value, unit) in typical.items()
    ]  # fmt: skip
    lines = [
        {"id": line["id"], "outcome": "done", "minutes": max(1, line["minutes_planned"])}
        for line in visit["sheets"][0]["lines"]
    ]
    return {
        "started_at": began.isoformat(), "finished_at": (now - dt.timedelta(minutes=2)).isoformat(),
        "finish": True,
        "sheets": [
            {
                "system": system["id"], "lines": lines, "readings": readings,
                "findings": [
                    {"id": str(uuid4()), "text": "Lettuce stands well; two leaves eaten by slugs."}
                ],
            }
        ],
    }  # fmt: skip


def choose(api: Caller, today: dt.date) -> tuple[dict[str, Any], dict[str, Any]]:
    """Return the first due system with fish water, and what it is made of."""
    due = api.need("GET", f"/due?on={today.isoformat()}")["results"]
    for row in due:
        system = api.need("GET", f"/systems/{row['system']}")
        if system["kind"] in ("coupled", "decoupled"):
            return row, system
    raise SystemExit("bin/demo: nothing is due; use a fresh --dir")


def main_job(
    folder: Path,
    port: int,
    logins: dict[str, Any],
    check: Callable[[], None],
    say: Callable[[str], None],
) -> dict[str, Any]:
    """Do the main job unless this folder has seen it; write and return demo.json."""
    address = f"http://127.0.0.1:{port}"
    wait("the web server", lambda: web_up(address), check)
    note = folder / "demo.json"
    if note.exists():
        facts = json.loads(note.read_text(encoding="utf-8"))
        old = facts["address"]
        facts["address"] = address
        facts["client_link"] = facts["client_link"].replace(old, address)
        note.write_text(json.dumps(facts, indent=2), encoding="utf-8")
        return dict(facts)
    from apps.core import clock

    now, today = clock.now(), clock.today()
    users = logins["users"]
    office = Caller(address, next(u["token"] for u in users if u["role"] == "office"))
    row, system = choose(office, today)
    say(f"due:       {row['system_name']}: {row['reasons'][0]['text'] if row['reasons'] else ''}")
    people = office.need("GET", "/technicians")["results"]
    visit = book(office, row, people, today)
    office.need("POST", f"/visits/{visit['id']}/transition", {"to": "booked"})
    say(f"booked:    {visit['start'][:16]} for {visit['technicians'][0]['name']}")
    owner = visit["technicians"][0]["id"]
    technician = Caller(address, next(u["token"] for u in users if u.get("id") == owner))
    result = technician.need(
        "POST", f"/visits/{visit['id']}/submission", answers(visit, system, now),
        Idempotency_Key=str(uuid4()),
    )  # fmt: skip
    for item in result["sheets"][0]["advice"][:3]:
        say(f"advised:   {item['text']}")
    return deliver(folder, address, office, visit, logins, check, say, today)


def deliver(
    folder: Path,
    address: str,
    office: Caller,
    visit: dict[str, Any],
    logins: dict[str, Any],
    check: Callable[[], None],
    say: Callable[[str], None],
    today: dt.date,
) -> dict[str, Any]:
    """Wait for the report, release it, wait for the letter; write demo.json."""

    def drawn() -> Any:
        reports = office.need("GET", f"/visits/{visit['id']}/reports")["results"]
        return next((row for row in reports if row["versions"]), None)

    report = wait("the report", drawn, check)
    office.need("POST", f"/reports/{report['id']}/release")

    def sent() -> Any:
        letters = office.need("GET", f"/letters?visit={visit['id']}")["results"]
        report = next((r for r in letters if r["kind"] == "report"), None)
        if report and report["state"] == "queued" and report["not_before"]:
            # at night it would wait for the morning
            office.need("POST", f"/letters/{report['id']}/now")
        return report if report and report["state"] == "sent" else None

    letter = wait("the letter", sent, check)
    mail = wait("the mail", lambda: sink.find(folder / "mail", letter["message_id"]), check)
    pdf = folder / f"report-{report['number']:04d}.pdf"
    message = message_from_bytes(mail.read_bytes(), policy=policy.default)
    attached = next(
        part for part in message.iter_attachments() if part.get_content_type() == "application/pdf"
    )
    pdf.write_bytes(bytes(attached.get_content()))
    body = message.get_body(("plain",))
    text = body.get_content() if body else ""
    link = re.search(rf"{re.escape(address)}/c/\S+", text)
    say(f"delivered: {message['Subject']}")
    facts = {
        "address": address,
        "today": today.isoformat(),
        "users": logins["users"],
        "client_link": link.group(0) if link else "",
        "visit_id": visit["id"],
        "report_id": report["id"],
        "pdf": str(pdf),
        "mail": str(mail),
        "database": str(folder / "backyard.sqlite3"),
    }
    release_others(office, check)
    from apps.core import clock

    # who looks at this firm later goes on from here
    facts["ready_at"] = clock.now().isoformat()
    (folder / "demo.json").write_text(json.dumps(facts, indent=2), encoding="utf-8")
    return facts


def release_others(office: Caller, check: Callable[[], None]) -> None:
    """Release the reports of the last days, as the office does; the two latest wait for a look."""
    waiting = office.need("GET", "/visits?state=written_up")["results"]
    for visit in sorted(waiting, key=lambda row: (row["start"], row["id"]))[:-2]:

        def drawn(visit: dict[str, Any] = visit) -> Any:
            reports = office.need("GET", f"/visits/{visit['id']}/reports")["results"]
            return reports[0] if reports and all(row["versions"] for row in reports) else None

        report = wait("an older report", drawn, check)
        office.need("POST", f"/reports/{report['id']}/release")
