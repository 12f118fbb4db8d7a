"""Office → Phones: what stands out, what waits to be looked at, cutting off, taking in a copy."""

import datetime as dt
import html
import re
from typing import Any
from uuid import uuid4

import pytest

from apps.accounts.models import AuditEntry
from apps.flows import visit_booking
from apps.flows.phones import operations_take
from apps.visits.models import CheckIn, Phone, PhoneRemark, Value, Visit
from tests import factories
from tests.office.conftest import Desk
from tests.phone.server.sending import Phone as Sender


def page_text(answer: Any) -> str:
    """Return what a page says, without its marks and with single spaces."""
    body = answer.content.decode().split("<main", 1)[1]
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", body)))


NOW, HOUR = factories.NOW, dt.timedelta(hours=1)


def phone(desk: Desk, **more: Any) -> Phone:
    """Enter Ana's phone."""
    values = {"user": desk.ana, "first_at": NOW, "last_at": NOW, "persisted": True} | more
    return Phone.objects.create(**values)


def take(desk: Desk, held: Phone, *rows: dict[str, Any]) -> list[Any]:
    """Let a phone send operations as Ana."""
    return operations_take(phone=held, rows=rows, by=factories.actor(desk.ana), at=NOW)


def op(visit: Visit, seq: int, path: str, value: Any) -> dict[str, Any]:
    """Return an operation of the visit's sheet."""
    return {
        "id": str(uuid4()), "seq": seq, "visit": str(visit.pk), "sheet": str(visit.sheets.get().pk),
        "path": path, "value": value, "base_rev": 0, "at": NOW.isoformat(),
    }  # fmt: skip


@pytest.fixture
def visit(desk: Desk) -> Visit:
    return desk.booked(start=NOW - HOUR)


def test_a_phone_says_what_waits_since_when_and_how_it_is(desk: Desk) -> None:
    phone(
        desk, pending_ops=5, pending_photos=1, oldest_at=NOW - 2 * HOUR, clock_off_s=-900,
        version="3f2a91c07d11", last_seq=5, persisted=False,
    )  # fmt: skip
    text = page_text(desk.get("phones"))
    for words in ("Ana", "5 answers and 1 photo to send since 07:00", "clock 15 min slow",
                  "page 3f2a91c0", "storage not promised", "in a browser's tab"):  # fmt: skip
        assert words in text, words
    assert "see to it" not in text


@pytest.mark.parametrize(
    ("hours", "pending", "loud"), [(2.9, 1, False), (3, 1, True), (30, 0, False)]
)
def test_a_phone_that_went_quiet_with_something_unsent_stands_out(
    desk: Desk, hours: float, pending: int, loud: bool
) -> None:
    phone(desk, last_at=NOW - hours * HOUR, pending_photos=pending)
    assert ("see to it" in page_text(desk.get("phones"))) is loud
    assert ("has not been heard from since" in page_text(desk.get("due"))) is loud


def test_a_gap_in_the_count_stands_out_unless_a_refusal_explains_it(
    desk: Desk, visit: Visit
) -> None:
    held = phone(desk)
    line = visit.sheets.get().lines.first()
    assert line
    take(desk, held, op(visit, 1, f"lines/{line.pk}/note", "kept"), op(visit, 2, "roof", "refused"))
    Phone.objects.update(last_seq=4, pending_ops=2)
    assert "never arrived" not in page_text(desk.get("phones"))
    Phone.objects.update(last_seq=5, pending_ops=2)
    assert "1 answer that it counted never arrived here." in page_text(desk.get("phones"))
    assert "1 answer that it counted never arrived here." in page_text(desk.get("phone", held.pk))


def test_where_something_is_lost_nothing_says_that_all_arrived(desk: Desk) -> None:
    held = phone(desk, last_seq=4)
    for page in (desk.get("phones"), desk.get("phone", held.pk)):
        text = page_text(page)
        assert "4 answers that it counted never arrived here." in text
        assert "Everything has arrived" not in text
    Phone.objects.update(last_seq=0)
    assert "Everything has arrived" in page_text(desk.get("phones"))
    assert "Everything has arrived." in page_text(desk.get("phone", held.pk))


def test_a_refused_mark_that_was_used_twice_hides_no_gap(desk: Desk, visit: Visit) -> None:
    held = phone(desk)
    path = f"lines/{visit.sheets.get().lines.all()[0].pk}/note"
    take(desk, held, op(visit, 1, path, "one"), op(visit, 1, path, "another under the same count"))
    Phone.objects.update(last_seq=2)
    assert "1 answer that it counted never arrived" in page_text(desk.get("phones"))


def test_what_could_not_be_taken_is_read_with_person_place_answer_and_reason(
    desk: Desk, visit: Visit
) -> None:
    held = phone(desk)
    line = visit.sheets.get().lines.all()[0]
    take(desk, held, op(visit, 1, f"lines/{line.pk}/outcome", "perhaps"))
    for page in (desk.get("phones"), desk.get("phone", held.pk), desk.get("visit", visit.pk)):
        text = page_text(page)
        for words in ("perhaps", ": answer", "one of done, not_done, not_here", "Ana",
                      "Could not be taken"):  # fmt: skip
            assert words in text, words
    assert "1 answer of a phone could not be taken" in page_text(desk.get("due"))
    remark = PhoneRemark.objects.get()
    assert desk.post("phones_looked", remark=str(remark.pk)).status_code == 302
    remark.refresh_from_db()
    assert remark.seen_at == NOW
    assert AuditEntry.objects.filter(verb="looked at", object_id=str(remark.pk)).count() == 1
    assert "could not be taken" not in page_text(desk.get("due"))
    assert "perhaps" in page_text(desk.get("phone", held.pk)), "it stays readable"


def test_looking_at_what_is_no_key_changes_nothing(desk: Desk) -> None:
    for data in ({"remark": "x"}, {"visit": "\x00"}, {}):
        assert desk.post("phones_looked", **data).status_code == 302


def test_answers_after_the_report_wait_on_due_once_a_visit(desk: Desk) -> None:
    visit = desk.written_up()
    held = phone(desk)
    line = visit.sheets.get().lines.all()[0]
    take(desk, held, op(visit, 1, f"lines/{line.pk}/note", "a"),
         op(visit, 2, f"lines/{line.pk}/minutes", 5))  # fmt: skip
    assert page_text(desk.get("due")).count("2 answers arrived after the report") == 1
    assert "it was not put in" in page_text(desk.get("visit", visit.pk))


def test_what_differs_is_said_in_words(desk: Desk, visit: Visit) -> None:
    PhoneRemark.objects.create(
        kind="differs", device="x", visit=visit, made_at=NOW,
        says=[{"sheet": "s", "rule": "alkalinity_low", "loop": "", "phone": {"dose": 74.52},
               "server": {"dose": 80.0}},
              {"sheet": "s", "rule": "acute_ammonia", "loop": "", "phone": None,
               "server": {"dose": None}}],
    )  # fmt: skip
    text = page_text(desk.get("visit", visit.pk))
    assert "the phone had 74.52, the server 80" in text
    assert "acute ammonia: the phone had none, the server advice without a dose" in text
    assert "the phone had worked out other advice" in page_text(desk.get("due"))


def test_cutting_off_asks_for_a_reason_and_keeps_it(desk: Desk) -> None:
    held = phone(desk)
    refused = desk.post("phone_cut", held.pk, reason="  ")
    assert refused.status_code == 422
    assert desk.post("phone_cut", held.pk, reason="lost at the weir").status_code == 302
    held.refresh_from_db()
    assert held.cut_off_at == NOW
    entry = AuditEntry.objects.get(kind="phone", verb="cut off")
    assert entry.change == {"reason": "lost at the weir"}
    assert "Cut off since" in page_text(desk.get("phone", held.pk))
    desk.post("phone_cut", held.pk, reason="found again")
    held.refresh_from_db()
    assert held.cut_off_at is None
    assert AuditEntry.objects.get(kind="phone", verb="let in").change == {"reason": "found again"}


def test_a_copy_is_taken_in_and_says_what_came_of_it(desk: Desk, visit: Visit) -> None:
    sender = Sender(None, str(uuid4()))  # type: ignore[arg-type]
    line = visit.sheets.get().lines.all()[0]
    rows = [op(visit, 1, f"lines/{line.pk}/note", "by hand"), op(visit, 2, "roof", 1)]
    first = page_text(desk.post("phone_copy", copy=sender.copy(rows)))
    assert "New answers 1" in first
    assert "Could not be taken 1" in first
    again = page_text(desk.post("phone_copy", copy=sender.copy(rows)))
    assert "New answers 0 Here before 1" in again
    assert Value.objects.get().value == "by hand"
    assert str(Phone.objects.get().pk) == sender.device


def test_what_is_no_copy_is_refused_beside_its_field(desk: Desk) -> None:
    from django.core.files.uploadedfile import SimpleUploadedFile

    for content in (b"{}", b"nothing", b"\xff\xfe", b'{"kind": "backyard-phone-copy", "ops": 7}',
                    b"[" * 100_000, b'{"kind": "backyard-phone-copy", "device": "x"}'):  # fmt: skip
        answer = desk.post("phone_copy", copy=SimpleUploadedFile("x.json", content))
        assert answer.status_code == 422
        assert "not a copy that a phone saved" in page_text(answer)
    assert desk.post("phone_copy").status_code == 422


def test_somebody_late_stands_on_due_phones_and_visit_until_spoken_to(
    desk: Desk, visit: Visit
) -> None:
    desk.ana.phone = "0555 0142"
    desk.ana.save()
    past = desk.booked(start=NOW - 40 * HOUR)
    visit_booking.step(visit=past, to="under_way", by=desk.actor, at=NOW)
    Visit.objects.filter(pk=past.pk).update(made_at=NOW - 50 * HOUR)
    row = CheckIn.objects.create(
        visit=visit, by=f"technician:{desk.ana.pk}", fine_by=NOW - dt.timedelta(minutes=12)
    )
    text = page_text(desk.get("due"))
    assert "12 min Ana works alone" in text
    assert text.index("works alone") < text.index("is still under way"), "a person comes first"
    for page in (desk.get("due"), desk.get("phones"), desk.get("visit", visit.pk)):
        assert "0555 0142" in page_text(page)
    assert desk.post("check_in_heard", row.pk).status_code == 302
    row.refresh_from_db()
    assert row.fine_at == NOW
    assert "works alone" not in page_text(desk.get("due"))


def test_queries_stay_the_same_with_more_phones(desk: Desk, same_queries: Any) -> None:
    visit = desk.booked(start=NOW - HOUR)

    def more() -> None:
        for _ in range(3):
            held = phone(desk, pending_ops=1, last_at=NOW - 4 * HOUR)
            take(desk, held, op(visit, 1, "roof", 1))
            CheckIn.objects.create(visit=visit, by=f"technician:{desk.ana.pk}", fine_by=NOW - HOUR)

    more()
    assert same_queries(lambda: desk.get("phones"), more) <= 16


def test_what_was_used_swapped_and_signed_stands_on_the_visit(desk: Desk, visit: Visit) -> None:
    held, pump = phone(desk), desk.built.loop.components.get(name="Pump")
    key = str(uuid4())
    said = {
        f"supplies/{key}/item": "Chelated iron", f"supplies/{key}/amount": 20,
        f"supplies/{key}/unit": "g", f"swaps/{key}/component": str(pump.pk),
        f"swaps/{key}/serial": "RW-77", f"swaps/{key}/reason": "hums",
        f"signature/{key}/name": "Robin Kingsley",
        f"signature/{key}/strokes": [[[0.1, 0.2], [0.5, 0.9]], [[0.7, 0.7]]],
        f"signature/{key}/at": NOW.isoformat(),
    }  # fmt: skip
    take(
        desk, held, *[op(visit, n, path, value) for n, (path, value) in enumerate(said.items(), 1)]
    )
    answer = desk.get("visit", visit.pk)
    text = page_text(answer)
    for words in ("Chelated iron, 20 g", "Pump on: RW-77 · hums", "Robin Kingsley"):
        assert words in text, words
    assert 'd="M24 16.5L120 74.2M168 57.7h1"' in answer.content.decode()
    assert 'aria-label="Signature of Robin Kingsley"' in answer.content.decode()
