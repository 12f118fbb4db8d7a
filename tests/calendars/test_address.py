"""A calendar's address: what is answered, to whom, and what is kept of it."""

import datetime as dt
import hashlib
from uuid import uuid4

import pytest
from django.conf import settings
from django.db import connection
from django.http import HttpResponse
from django.test.utils import CaptureQueriesContext

from apps.accounts.models import AuditEntry, CalendarFeed, ClientLink
from apps.accounts.services import FEEDS_MOST, feed_revoke, link_issue, links_revoke, user_end
from apps.clients.models import Client
from apps.core.logs import SECRET
from tests import factories
from tests.calendars.conftest import World
from tests.reader import Reader as Browser
from tests.reader import number_of
from tests.trust.world import rows_of_everything

WHOSE = ("ana", "client", "contact")


def said(answer: HttpResponse) -> tuple[int, bytes, dict[str, str]]:
    return answer.status_code, answer.content, dict(answer.headers)


class TestAnswer:
    @pytest.mark.parametrize("whose", WHOSE)
    def test_headers(self, world: World, whose: str) -> None:
        answer = world.answer(whose)
        assert answer.headers["Content-Type"] == "text/calendar; charset=utf-8"
        assert answer.headers["Cache-Control"].startswith("private")
        assert "noindex" in answer.headers["X-Robots-Tag"]
        assert answer.headers["Referrer-Policy"] == "no-referrer"
        assert answer.headers["ETag"].startswith('"')
        assert answer.headers["Last-Modified"] == "Thu, 11 Jun 2026 09:00:00 GMT"

    def test_nothing_changed_is_304_and_the_same_bytes(self, world: World) -> None:
        world.book(world.mine)
        first = world.answer("ana")
        world.now += dt.timedelta(hours=3)
        second = world.answer("ana")
        assert second.content == first.content
        assert second.headers["ETag"] == first.headers["ETag"]
        tagged = world.answer("ana", If_None_Match=first.headers["ETag"])
        dated = world.answer("ana", If_Modified_Since=first.headers["Last-Modified"])
        for answer in (tagged, dated):
            assert (answer.status_code, answer.content) == (304, b"")
            assert answer.headers["Cache-Control"].startswith("private")
            assert "noindex" in answer.headers["X-Robots-Tag"]

    def test_what_changed_is_sent_with_a_later_stamp(self, world: World) -> None:
        visit = world.book(world.mine)
        first = world.answer("ana")
        world.now += dt.timedelta(minutes=1)
        Client.objects.filter(name="Okafor").update(name="Okafor & Sons")
        tag, day = first.headers["ETag"], first.headers["Last-Modified"]
        again = world.answer("ana", If_None_Match=tag, If_Modified_Since=day)
        assert again.status_code == 200
        assert again.headers["Last-Modified"] == "Thu, 11 Jun 2026 09:01:00 GMT"
        assert b"DTSTAMP:20260611T090100Z" in again.content
        # and back: the same words, at another time, are another answer
        world.now += dt.timedelta(minutes=1)
        Client.objects.filter(name="Okafor & Sons").update(name="Okafor")
        assert world.answer("ana", If_None_Match=tag).status_code == 200
        assert visit.rev == 1

    def test_head_and_no_writes(self, world: World) -> None:
        address = f"/calendar/{world.secrets['ana']}.ics"
        head = Browser().head(address)
        assert (head.status_code, head.content) == (200, b"")
        for method in ("post", "put", "patch", "delete"):
            assert getattr(Browser(), method)(address).status_code == 405

    def test_a_technician_who_is_signed_in_reads_it_too(self, world: World) -> None:
        browser = Browser()
        browser.force_login(world.marek)
        assert browser.get(f"/calendar/{world.secrets['ana']}.ics").status_code == 200


class TestKept:
    def test_only_the_hash_of_256_bits(self, world: World) -> None:
        for whose in WHOSE:
            secret = world.secrets[whose]
            # base64url without padding: 43 characters hold 32 octets
            assert len(secret) == 43
            row = world.feed(whose)
            assert row.digest == hashlib.sha256(secret.encode()).hexdigest()
            everything = repr(rows_of_everything())
            assert secret not in everything

    def test_reading_changes_nothing_but_its_own_row(self, world: World) -> None:
        world.step(world.book(world.mine), "booked")
        before = rows_of_everything()
        world.answer("ana")
        after = rows_of_everything()
        assert [name for name in after if after[name] != before[name]] == ["accounts.CalendarFeed"]

    def test_reads_are_noted_once_in_ten_minutes(self, world: World) -> None:
        for minutes, reads in ((0, 1), (5, 1), (9, 1), (10, 2), (19, 2), (45, 3)):
            world.now = factories.NOW + dt.timedelta(minutes=minutes)
            with CaptureQueriesContext(connection) as asked:
                world.answer("client")
            writes = [q["sql"] for q in asked if q["sql"].startswith(("UPDATE", "INSERT"))]
            assert world.feed("client").reads == reads
            assert bool(writes) == (minutes in (0, 10, 45)), (minutes, writes)
        assert world.feed("client").read_at == world.now

    def test_the_address_stays_out_of_the_log(self, world: World) -> None:
        secret = world.secrets["ana"]
        assert secret not in SECRET.sub(r"\1\2…", f"GET /calendar/{secret}.ics 404")


class TestGone:
    """Unknown, revoked, ended: one answer, which tells nothing."""

    def test_all_answer_the_same(self, world: World) -> None:
        unknown = said(Browser().get(f"/calendar/{'x' * 43}.ics"))
        assert unknown[0] == 404
        feed_revoke(feed=world.feed("client"), by=world.by, at=world.now)
        user_end(user=world.ana, at=world.now)
        assert said(world.answer("client")) == unknown
        assert said(world.answer("ana")) == unknown
        Client.objects.filter(name="Okafor").update(active=False)
        assert said(world.answer("contact")) == unknown
        for secret in ("", "a", "\0", "č", "../x", "%00", world.secrets["contact"] + "x"):
            assert Browser().get(f"/calendar/{secret}.ics").status_code == 404

    def test_a_technician_who_is_switched_off(self, world: World) -> None:
        world.ana.is_active = False
        world.ana.save()
        assert world.answer("ana").status_code == 404

    def test_a_contact_who_is_gone(self, world: World) -> None:
        Client.objects.get(name="Okafor").contacts.all().delete()
        assert world.answer("contact").status_code == 404
        assert world.answer("client").status_code == 200

    def test_ending_a_clients_links_ends_its_calendars(self, world: World) -> None:
        links_revoke(client_id=world.mine.system.place.client_id, at=world.now, by=world.by)
        assert [world.answer(whose).status_code for whose in WHOSE] == [200, 404, 404]

    def test_a_secret_is_only_ever_compared_as_a_hash(self, world: World) -> None:
        """What is looked up is a hash: how long it takes says nothing of how near a guess was."""
        guess = world.secrets["ana"][:-1] + "!"
        with CaptureQueriesContext(connection) as asked:
            Browser().get(f"/calendar/{guess}.ics")
        assert len(asked) == 1
        assert guess[:20] not in asked[0]["sql"]
        assert hashlib.sha256(guess.encode()).hexdigest() in asked[0]["sql"]

    def test_links_open_no_calendar_and_calendars_no_page(self, world: World) -> None:
        link = link_issue(client_id=world.mine.system.place.client_id, purpose="page", at=world.now)
        assert Browser().get(f"/calendar/{link}.ics").status_code == 404
        assert Browser().get(f"/c/{world.secrets['client']}/").status_code == 404


class TestStaffsPage:
    def browser(self, member: object) -> Browser:
        browser = Browser()
        browser.force_login(member)  # type: ignore[arg-type]
        return browser

    def test_made_shown_once_read_and_ended(self, world: World) -> None:
        browser = self.browser(world.marek)
        assert b"No address yet." in browser.get("/account/calendars/").content
        assert CalendarFeed.objects.filter(user=world.marek).count() == 0, "a look makes nothing"
        page = browser.post("/account/calendars/").content.decode()
        secret = page.split("/calendar/")[1].split(".ics")[0]
        host = settings.BACKYARD_BASE_URL.split("://")[1]
        assert f"webcal://{host}/calendar/{secret}.ics" in page
        assert f"{settings.BACKYARD_BASE_URL}/calendar/{secret}.ics" in page
        later = browser.get("/account/calendars/").content.decode()
        assert secret not in later
        world.secrets["marek"] = secret
        assert world.answer("marek").status_code == 200
        assert "read once" in browser.get("/account/calendars/").content.decode()
        row = CalendarFeed.objects.get(user=world.marek)
        browser.post(f"/account/calendars/{row.pk}/end/")
        assert world.answer("marek").status_code == 404
        verbs = AuditEntry.objects.filter(object_id=row.pk).order_by("id")
        assert [entry.verb for entry in verbs] == ["issued", "revoked"]

    def test_another_technicians_is_not_there(self, world: World) -> None:
        browser = self.browser(world.marek)
        row = world.feed("ana")
        assert str(row.pk) not in browser.get("/account/calendars/").content.decode()
        for pk in (row.pk, world.feed("client").pk, uuid4()):
            assert browser.post(f"/account/calendars/{pk}/end/").status_code == 404
        assert world.answer("ana").status_code == 200

    def test_the_office_ends_anybodys_and_comes_back(self, world: World) -> None:
        browser = self.browser(world.office)
        place = f"/places/{world.mine.system.place_id}/"
        crew = f"/rounds/people/{world.ana.pk}/"
        for whose, page in (("ana", crew), ("client", place)):
            row = world.feed(whose)
            assert f"/account/calendars/{row.pk}/end/" in browser.get(page).content.decode()
            answer = browser.post(f"/account/calendars/{row.pk}/end/", {"next": page})
            assert answer.headers["Location"] == page
            assert world.answer(whose).status_code == 404
        row = world.feed("contact")
        away = browser.post(
            f"/account/calendars/{row.pk}/end/", {"next": "https://elsewhere.example/"}
        )
        assert away.headers["Location"] == "/"

    def test_as_many_as_anybody_needs(self, world: World) -> None:
        browser = self.browser(world.marek)
        codes = [browser.post("/account/calendars/").status_code for _ in range(FEEDS_MOST + 1)]
        assert codes == [200] * FEEDS_MOST + [409]
        assert CalendarFeed.objects.filter(user=world.marek).count() == FEEDS_MOST


class TestClientsPage:
    def test_made_shown_once_and_ended(self, world: World) -> None:
        client_id = world.other.system.place.client_id
        link = link_issue(client_id=client_id, purpose="page", at=world.now)
        browser = Browser()
        assert f"/c/{number_of(link)}/calendar/" in browser.get(f"/c/{link}/").content.decode()
        assert browser.get(f"/c/{link}/calendar/").status_code == 200
        assert CalendarFeed.objects.filter(client_id=client_id).count() == 0
        page = browser.post(f"/c/{link}/calendar/").content.decode()
        world.secrets["made"] = page.split("webcal://")[1].split("/calendar/")[1].split(".ics")[0]
        assert world.secrets["made"] not in browser.get(f"/c/{link}/calendar/").content.decode()
        assert world.answer("made").status_code == 200
        row = world.feed("made")
        browser.post(f"/c/{link}/calendar/{row.pk}/end/")
        assert world.answer("made").status_code == 404

    def test_only_a_link_to_the_whole_page_makes_one(self, world: World) -> None:
        visit = world.book(world.mine)
        link = link_issue(
            client_id=visit.place.client_id, purpose="appointment", at=world.now,
            subject_id=visit.pk,
        )  # fmt: skip
        assert Browser().get(f"/c/{link}/calendar/").status_code == 404
        assert Browser().post(f"/c/{link}/calendar/").status_code == 404
        assert "/calendar/" not in Browser().get(f"/c/{link}/").content.decode()

    def test_nobody_elses_is_ended(self, world: World) -> None:
        link = link_issue(
            client_id=world.other.system.place.client_id, purpose="page", at=world.now
        )
        mine = link_issue(client_id=world.mine.system.place.client_id, purpose="page", at=world.now)
        for whose in WHOSE:
            row = world.feed(whose)
            assert Browser().post(f"/c/{link}/calendar/{row.pk}/end/").status_code == 404
        # a contact's own is not another's of the same house
        row = world.feed("contact")
        assert Browser().post(f"/c/{mine}/calendar/{row.pk}/end/").status_code == 404
        assert all(world.answer(whose).status_code == 200 for whose in WHOSE)
        assert ClientLink.objects.filter(revoked_at__isnull=False).count() == 0
