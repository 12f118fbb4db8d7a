"""Letters in quiet hours: which wait, until when, and what the office may do about it."""

import datetime as dt
from collections.abc import Callable

import pytest
from django.core import mail
from django.test import Client as Browser

from apps.accounts.models import Firm
from apps.clients.models import Client, Contact
from apps.core import clock, outbox
from apps.core.models import Job
from apps.core.scoping import Actor
from apps.flows import visit_booking
from apps.flows.letters import COMPOSERS
from apps.flows.office_letters import due_list_letter
from apps.flows.report_letters import report_letters
from apps.reports.choices import AT_ONCE, LetterKind
from apps.reports.models import DeliveryStep, Letter
from apps.reports.services.letters import letter_make
from apps.visits.models import Visit
from tests import factories

pytestmark = pytest.mark.django_db
# firms of the tests keep UTC
EVENING = factories.NOW.replace(hour=21)
MORNING = (factories.NOW + dt.timedelta(days=1)).replace(hour=7, minute=30)
WAIT = {LetterKind.REPORT, LetterKind.APPOINTMENT, LetterKind.CALLED_OFF, LetterKind.REMINDER}


class World:
    """An evening at the firm."""

    def __init__(self) -> None:
        factories.firm(quiet_from=dt.time(20), quiet_until=dt.time(7, 30))
        self.office = factories.user("office", "office")
        self.ana = factories.user("ana")
        self.built = factories.system(factories.place(factories.client("Okafor")))
        self.contact = Contact.objects.get()
        self.by = factories.actor(self.office, EVENING)

    def visit(self, hours: float = 30) -> Visit:
        """Pencil a visit in."""
        start = EVENING + dt.timedelta(hours=hours)
        return visit_booking.pencil(
            place=self.built.system.place, systems=[self.built.system], technicians=[self.ana],
            start=start, end=start + dt.timedelta(hours=1), by=self.by, at=EVENING,
        )  # fmt: skip

    def make(self, kind: str, at: dt.datetime = EVENING, visit: Visit | None = None) -> Letter:
        """Write a letter of a kind."""
        return letter_make(
            kind=kind, key=f"{kind} {at}", address=self.contact.email, contact=self.contact,
            visit=visit or self.visit(), parameters={"sequence": 1}, at=at,
        )  # fmt: skip


@pytest.fixture
def world(monkeypatch: pytest.MonkeyPatch) -> World:
    monkeypatch.setattr(clock, "now", lambda: EVENING)
    monkeypatch.setattr(outbox, "poke", lambda *_args: None)
    return World()


def test_every_kind_waits_or_cannot() -> None:
    assert {kind for kind in LetterKind if kind not in AT_ONCE} >= WAIT
    assert {"running_late", "weather", "check_in", "due_list"} <= AT_ONCE
    assert not WAIT & AT_ONCE
    assert set(COMPOSERS) == set(LetterKind)


@pytest.mark.parametrize("kind", sorted(LetterKind))
def test_what_nobody_waits_for_goes_out_in_the_morning(world: World, kind: str) -> None:
    letter = world.make(kind)
    assert letter.not_before == (None if kind in AT_ONCE else MORNING)
    assert Job.objects.get(key=f"letter:{letter.pk}").run_at == letter.not_before or EVENING


def test_it_is_sent_then_and_not_before(world: World) -> None:
    world.visit()
    visit_booking.step(visit=world.visit(40), to="booked", by=world.by, at=EVENING)
    outbox.drain(MORNING - dt.timedelta(seconds=1))
    assert mail.outbox == []
    outbox.drain(MORNING)
    assert len(mail.outbox) == 1
    assert Letter.objects.get().state == "sent"


def test_by_day_it_goes_at_once(world: World) -> None:
    assert world.make(LetterKind.REMINDER, MORNING).not_before is None


def test_the_offices_letters_go_at_once(world: World) -> None:
    assert due_list_letter(EVENING.date(), EVENING).not_before is None


@pytest.mark.outside(source="IANA time zone database by zoneinfo", kind="computed", tolerance=0)
@pytest.mark.parametrize(
    ("zone", "at", "expected"),
    [
        # 21:00 in UTC is 11 in the morning of the next day there
        ("Pacific/Kiritimati", "2026-06-11T21:00Z", None),
        ("America/New_York", "2026-06-11T21:00Z", None),
        ("America/New_York", "2026-06-12T03:00Z", "2026-06-12T07:30-04:00"),
        ("Asia/Kathmandu", "2026-06-11T21:00Z", "2026-06-12T07:30+05:45"),
        # the two nights on which an hour is left out, or comes twice
        ("Europe/Brussels", "2026-03-28T21:00Z", "2026-03-29T07:30+02:00"),
        ("Europe/Brussels", "2026-10-24T21:00Z", "2026-10-25T07:30+01:00"),
        ("America/New_York", "2026-03-08T01:00Z", "2026-03-08T07:30-04:00"),
        ("America/New_York", "2026-11-01T01:00Z", "2026-11-01T07:30-05:00"),
        ("", "2026-06-11T21:00Z", "2026-06-12T07:30Z"),
    ],
)
def test_on_the_readers_own_clock(world: World, zone: str, at: str, expected: str | None) -> None:
    world.contact.time_zone = zone
    world.contact.save()
    moment = dt.datetime.fromisoformat(at)
    letter = world.make(LetterKind.REPORT, moment, world.visit())
    assert letter.not_before == (dt.datetime.fromisoformat(expected) if expected else None)


def test_two_contacts_each_by_their_clock(world: World) -> None:
    client = world.contact.client
    Contact.objects.create(
        client=client, name="Far", email="far@okafor.example", time_zone="Asia/Tokyo"
    )
    visit_booking.step(visit=world.visit(80), to="booked", by=world.by, at=EVENING)
    times = dict(Letter.objects.values_list("contact__name", "not_before"))
    assert times == {"Robin Okafor": MORNING, "Far": MORNING.replace(hour=22, minute=30, day=11)}


def test_what_would_come_too_late_goes_at_once(world: World) -> None:
    early, later = world.visit(hours=11), world.visit(hours=13)
    for visit, waits in ((early, False), (later, True)):
        letter = world.make(LetterKind.REMINDER, EVENING - dt.timedelta(minutes=visit.start.hour),
                            visit)  # fmt: skip
        assert bool(letter.not_before) is waits, visit.start
    # a report is about a visit that is over
    Visit.objects.filter(pk=early.pk).update(start=EVENING - dt.timedelta(hours=3))
    early.refresh_from_db()
    assert world.make(LetterKind.REPORT, EVENING, early).not_before == MORNING


def test_what_the_client_has_just_done_is_answered_at_once(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    client = Actor(role="client", at=EVENING, client_id=world.contact.client_id)
    visit = world.visit()
    # which steps are open to a client is not what this is about
    monkeypatch.setattr(visit_booking, "visit_step", lambda **_more: visit)
    visit_booking.step(visit=visit, to="booked", by=client, at=EVENING)
    assert Letter.objects.get().not_before is None
    visit_booking.step(visit=visit, to="booked", by=world.by, at=EVENING)
    assert Letter.objects.exclude(not_before=None).count() == 1


def test_a_later_letter_takes_the_place_of_one_that_waits(world: World) -> None:
    visit = visit_booking.step(visit=world.visit(60), to="booked", by=world.by, at=EVENING)
    (first,) = Letter.objects.all()
    visit = visit_booking.move(
        visit=visit, start=visit.start + dt.timedelta(hours=1), rev=visit.rev, at=EVENING,
        end=visit.end + dt.timedelta(hours=1), technicians=[world.ana], by=world.by,
    )  # fmt: skip
    visit_booking.step(
        visit=visit, to="called_off", by=world.by, at=EVENING, reason="client is away"
    )
    assert (
        list(Letter.objects.order_by("made_at", "key").values_list("state", flat=True)).count(
            "replaced"
        )
        == 2
    )
    outbox.drain(MORNING)
    assert [message.subject.split(" on ")[0] for message in mail.outbox] == ["Our visit"]
    first.refresh_from_db()
    assert first.state == "replaced"
    assert DeliveryStep.objects.filter(letter=first).values_list("state", flat=True).last() == (
        "replaced"
    )


def test_a_report_takes_the_place_of_nothing(world: World) -> None:
    visit = visit_booking.step(visit=world.visit(60), to="booked", by=world.by, at=EVENING)
    assert report_letters(visit, [], EVENING) == []
    world.make(LetterKind.REPORT, EVENING, visit)
    assert not Letter.objects.filter(state="replaced").exists()


class TestOffice:
    @pytest.fixture
    def desk(self, world: World) -> Browser:
        browser = Browser()
        browser.force_login(world.office)
        return browser

    def test_sees_when_it_goes_out_and_sends_it_now(self, world: World, desk: Browser) -> None:
        visit = visit_booking.step(visit=world.visit(60), to="booked", by=world.by, at=EVENING)
        letter = Letter.objects.get()
        said = "goes out Fri 12 June, 07:30"
        for page in (f"/letters/{letter.pk}/", "/letters/", f"/visits/{visit.pk}/"):
            assert said in desk.get(page).content.decode(), page
        desk.post(f"/letters/{letter.pk}/now/")
        outbox.drain(EVENING)
        assert len(mail.outbox) == 1
        letter.refresh_from_db()
        assert (letter.state, letter.not_before) == ("sent", None)
        assert desk.post(f"/letters/{letter.pk}/now/").status_code == 409
        outbox.drain(MORNING)
        assert len(mail.outbox) == 1

    def test_nobody_else_sends_it(self, world: World) -> None:
        letter = world.make(LetterKind.REMINDER)
        browser = Browser()
        browser.force_login(world.ana)
        assert browser.post(f"/letters/{letter.pk}/now/").status_code == 403
        letter.refresh_from_db()
        assert letter.not_before == MORNING

    def test_sets_the_hours(self, world: World, desk: Browser) -> None:
        assert "From 20:00 until 07:30" in desk.get("/letters/").content.decode()
        refused = desk.post("/letters/quiet/", {"quiet_from": "25:00", "quiet_until": "7"})
        assert refused.status_code == 422
        # beside each field, and above the form
        assert refused.content.decode().count("Write a time such as 08:30.") == 4
        desk.post("/letters/quiet/", {"quiet_from": "22:00", "quiet_until": "06:00"})
        firm = Firm.objects.get()
        assert (firm.quiet_from, firm.quiet_until) == (dt.time(22), dt.time(6))
        assert world.make(LetterKind.REMINDER).not_before is None
        desk.post("/letters/quiet/", {"quiet_from": "00:00", "quiet_until": "00:00"})
        assert "at any hour" in desk.get("/letters/").content.decode()

    def test_a_zone_that_is_none_is_refused_at_its_field(self, world: World, desk: Browser) -> None:
        place = world.built.system.place
        address = f"/places/{place.pk}/contacts/{world.contact.pk}/"
        values = {"name": "Robin", "email": "r@okafor.example", "language": "en", "units": "metric"}
        refused = desk.post(address, values | {"time_zone": "Middle/Nowhere"})
        assert refused.status_code == 422
        assert "Middle/Nowhere is no time zone; write one such as" in refused.content.decode()
        assert desk.post(address, values | {"time_zone": "Asia/Tokyo"}).status_code == 302
        assert "Asia/Tokyo" in desk.get(f"/places/{place.pk}/").content.decode()
        assert Client.objects.count() == 1


def test_the_model_knows_its_default_hours() -> None:
    make: Callable[..., Firm] = Firm
    assert (make().quiet_from, make().quiet_until) == (dt.time(20), dt.time(7, 30))
