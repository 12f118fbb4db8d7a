"""Each look at a client's data leaves a line with ids alone, and none where nothing was shown."""

import csv
import datetime as dt
import fcntl
import io
import json
import os
from pathlib import Path
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.test import Client as Browser
from django.urls import reverse

from apps.accounts.services import feed_issue, link_issue
from apps.clients.models import Client, Place
from apps.core import clock, outbox
from apps.flows import access_log, erasing
from apps.flows.client_data import ways_of
from apps.flows.middleware import LISTS, NAMED, clients_of
from apps.incidents.models import Incident
from apps.visits.models import Visit
from tests import factories
from tests.trust.policy import POLICIES
from tests.trust.test_erasing import over
from tests.trust.test_matrix import Case, ask, part
from tests.trust.world import Canaries, build

pytestmark = pytest.mark.django_db
# addresses that name a row of a client's by its key, and do not show it
NOT_NAMING = {
    "office:phone", "office:phone_cut", "office:round_plan", "office:round_accept",
    "office:round_drop", "office:round_move", "office:round_swap", "office:weather_watch",
    "calendar", "api:calendar", "accounts:calendar_end", "api:phone_photo",
}  # fmt: skip


@pytest.fixture
def world(db: None, monkeypatch: pytest.MonkeyPatch, settings: Any, tmp_path: Path) -> Canaries:
    monkeypatch.setattr(clock, "now", lambda: factories.NOW)
    made = build()
    settings.BACKYARD_DIR = tmp_path
    settings.ACCESS_LOG_DIR = tmp_path / "access"
    return made


def lines(folder: Path) -> list[dict[str, str]]:
    paths = sorted((folder / "access").glob("*")) if (folder / "access").exists() else []
    return [json.loads(line) for path in paths for line in path.read_text().splitlines()]


def look(name: str, actor: str, world: Canaries, method: str = "GET", whose: str = "own") -> Any:
    return ask(Case(name, method, actor, whose), world)


class TestWhatIsNoted:
    def test_a_page(self, world: Canaries, tmp_path: Path) -> None:
        assert look("office:place", "office", world).status_code == 200
        assert lines(tmp_path) == [
            {
                "at": "2026-06-11T09:00:00+00:00", "who": str(world.office.pk),
                "page": "office:place", "method": "GET", "client": str(world.first.client.pk),
            }
        ]  # fmt: skip

    def test_the_api_by_token(self, world: Canaries, tmp_path: Path) -> None:
        assert look("api:visit", "ana", world).status_code == 200
        row = lines(tmp_path)[0]
        assert (row["who"], row["page"]) == (str(world.ana.pk), "api:visit")

    def test_a_client_by_their_link(self, world: Canaries, tmp_path: Path) -> None:
        assert look("portal:page", "link", world).status_code == 200
        row = lines(tmp_path)[0]
        assert row["who"] == f"link:{world.first.rows['link'].pk}"
        assert row["client"] == str(world.first.client.pk)

    def test_a_client_s_session_with_each_page_and_not_the_way_there(
        self, world: Canaries, tmp_path: Path
    ) -> None:
        secret = link_issue(client_id=world.first.client.pk, purpose="page", at=factories.NOW)
        browser, stranger = Browser(), Browser()
        # a scanner of mail goes as far as this, and is shown nothing
        number = browser.get(f"/c/{secret}/")["Location"]
        assert stranger.get(number).status_code == 403
        assert lines(tmp_path) == []
        for where in (number, f"{number}letters/"):
            assert browser.get(where).status_code == 200
        assert {row["who"] for row in lines(tmp_path)} == {f"link:{number.split('/')[2]}"}
        assert [(row["page"], row["client"]) for row in lines(tmp_path)] == [
            ("portal:page", str(world.first.client.pk)),
            ("portal:letters", str(world.first.client.pk)),
        ]

    def test_the_day_on_a_phone_once(self, world: Canaries, tmp_path: Path) -> None:
        answer = look("api:phone_day", "ana", world)
        assert {row["client"] for row in lines(tmp_path)} == {str(world.first.client.pk)}
        before = len(lines(tmp_path))
        browser = Browser()
        again = browser.get(
            reverse("api:phone_day"),
            headers={
                "Authorization": f"Bearer {world.tokens['ana']}", "If-None-Match": answer["ETag"]
            },
        )  # fmt: skip
        assert again.status_code == 304
        assert len(lines(tmp_path)) == before

    def test_the_round_online(self, world: Canaries, tmp_path: Path) -> None:
        """A technician's day with its addresses; the office's is a page of everybody."""
        assert look("field:round", "ana", world).status_code == 200
        (row,) = lines(tmp_path)
        assert (row["page"], row["client"]) == ("field:round", str(world.first.client.pk))
        assert look("field:round", "office", world).status_code == 200
        assert len(lines(tmp_path)) == 1

    def test_a_list_of_everybody(self, world: Canaries, tmp_path: Path) -> None:
        look("office:places_csv", "office", world)
        assert [row["client"] for row in lines(tmp_path)] == ["*"]

    def test_a_file_says_how_many_and_who_stood_in_it(
        self, world: Canaries, tmp_path: Path
    ) -> None:
        Place.objects.filter(client=world.first.client).update(area="North")
        browser = Browser()
        browser.force_login(world.office)
        browser.get(reverse("office:places_csv"), {"area": "North"})
        (row,) = lines(tmp_path)
        assert (row["client"], row["rows"]) == ("*", 1)
        assert row["some"] == [str(world.first.client.pk)]
        seen = [list(access_log.looks_at(home.client.pk)) for home in (world.first, world.second)]
        assert [len(found) for found in seen] == [1, 0]

    @pytest.mark.parametrize(
        "name",
        ["due_csv", "places_csv", "systems_csv", "letters_csv", "incidents_csv", "proposals_csv"],
    )
    def test_each_file_names_those_who_stand_in_it(
        self, world: Canaries, tmp_path: Path, name: str
    ) -> None:
        answer = look(f"office:{name}", "office", world)
        text = b"".join(answer.streaming_content).decode("utf-8-sig")
        (row,) = lines(tmp_path)
        assert row["rows"] == len(list(csv.reader(io.StringIO(text)))) - 1 > 0
        for home in (world.first, world.second):
            assert (home.canary in text) == (str(home.client.pk) in row["some"])

    def test_of_a_long_one_only_that_it_was_taken(
        self, world: Canaries, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(access_log, "FEW", 1)
        look("office:places_csv", "office", world)
        (row,) = lines(tmp_path)
        assert row["rows"] == 2
        assert "some" not in row
        assert len(list(access_log.looks_at(world.second.client.pk))) == 1

    def test_one_with_nobody_in_it_is_none(self, world: Canaries, tmp_path: Path) -> None:
        Incident.objects.all().update(state="closed", cause="power", outcome="it came back",
                                      closed_at=factories.NOW)  # fmt: skip
        browser = Browser()
        browser.force_login(world.office)
        browser.get(reverse("office:incidents_csv"), {"show": "open"})
        assert lines(tmp_path) == []

    def test_a_list_of_the_api_says_how_many(self, world: Canaries, tmp_path: Path) -> None:
        answer: Any = look("api:places", "office", world)
        (row,) = lines(tmp_path)
        assert row["rows"] == len(answer.json()["results"]) == 2

    def test_looking_through_all_places_once_a_day(
        self, world: Canaries, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        browser = Browser()
        browser.force_login(world.office)
        for _n in range(3):
            for name in ("office:places", "office:search", "office:due"):
                assert browser.get(reverse(name)).status_code == 200
        assert [row["page"] for row in lines(tmp_path)] == ["office:places", "office:search"]
        tomorrow = factories.NOW + dt.timedelta(days=1)
        monkeypatch.setattr(clock, "now", lambda: tomorrow)
        browser.get(reverse("office:places"))
        assert len(lines(tmp_path)) == 3

    def test_a_calendar_when_it_was_sent(self, world: Canaries, tmp_path: Path) -> None:
        """Programs ask every hour: what has not changed was not shown again."""
        Visit.objects.filter(place__client=world.first.client).update(
            start=factories.NOW, end=factories.NOW + dt.timedelta(hours=1)
        )
        where = reverse("calendar", args=[world.first.calendar])
        answer = Browser().get(where)
        assert answer.status_code == 200
        (row,) = lines(tmp_path)
        assert row["who"] == f"feed:{world.first.rows['feed'].pk}"
        assert (row["page"], row["client"]) == ("calendar", str(world.first.client.pk))
        again = Browser().get(where, headers={"If-None-Match": answer["ETag"]})
        assert (again.status_code, len(lines(tmp_path))) == (304, 1)
        page = look("office:client_access", "office", world).content.decode()
        assert "the client, by a calendar" in page

    def test_a_technician_s_calendar_of_whom_it_says_where(
        self, world: Canaries, tmp_path: Path
    ) -> None:
        secret = feed_issue(at=factories.NOW, by=factories.actor(world.ana), user=world.ana)
        Visit.objects.filter(place__client=world.first.client).update(
            start=factories.NOW, end=factories.NOW + dt.timedelta(hours=1)
        )
        where = reverse("calendar", args=[secret])
        assert Browser().get(where).status_code == 200
        (row,) = lines(tmp_path)
        assert (row["who"], row["client"]) == (str(world.ana.pk), str(world.first.client.pk))
        # so far ahead it tells the time alone
        start = factories.NOW + dt.timedelta(days=40)
        mine = Visit.objects.filter(pk=world.first.visit.pk)
        Visit.objects.filter(place__client=world.first.client).exclude(pk__in=mine).update(
            state="called_off"
        )
        mine.update(start=start, end=start + dt.timedelta(hours=1))
        answer = Browser().get(where)
        assert (answer.status_code, str(mine.get().pk) in answer.content.decode()) == (200, True)
        assert lines(tmp_path) == [row]

    @pytest.mark.parametrize(
        ("name", "actor", "whose"),
        [
            ("office:place", "anonymous", "own"), ("office:place", "ana", "own"),
            ("api:visit", "ana", "other"), ("office:calculators", "office", "own"),
        ],
    )  # fmt: skip
    def test_not_what_was_refused_or_shows_nobody(
        self, world: Canaries, tmp_path: Path, name: str, actor: str, whose: str
    ) -> None:
        look(name, actor, world, whose=whose)
        assert lines(tmp_path) == []

    def test_no_word_and_no_secret_is_in_it(self, world: Canaries, tmp_path: Path) -> None:
        for name, actor in (("portal:page", "link"), ("office:place", "office")):
            look(name, actor, world)
        text = "".join(path.read_text() for path in (tmp_path / "access").glob("*"))
        assert text
        assert world.first.canary.lower() not in text.lower()
        assert world.first.link not in text
        assert oct((tmp_path / "access").glob("*").__next__().stat().st_mode)[-3:] == "600"

    def test_a_disk_that_is_full_stops_no_page(
        self, world: Canaries, settings: Any, tmp_path: Path, caplog: pytest.LogCaptureFixture
    ) -> None:
        (tmp_path / "file").write_text("")
        settings.ACCESS_LOG_DIR = tmp_path / "file"
        assert look("office:place", "office", world).status_code == 200
        assert "could not be noted" in caplog.text


def test_every_address_that_names_a_client_s_row_is_noted(world: Canaries) -> None:
    """A new page over a client's row has its beginning in the table, or stands here with why not."""
    from django.urls import resolve

    missed = []
    for name, policy in POLICIES.items():
        kind = policy.objects.get("pk", "")
        row = world.first.rows.get(kind) or {"system": world.first.built.system,
            "visit": world.first.visit, "loop": world.first.built.loop}.get(kind)  # fmt: skip
        if (
            row is None
            or not ways_of(type(row))
            or name in NOT_NAMING
            or kind == "own_feed"
            or name.startswith("portal:")
        ):
            continue
        kwargs = {key: part(value, world.first, world) for key, value in policy.objects.items()}
        match = resolve(reverse(name, kwargs=kwargs))
        head = match.route.split("<", 1)[0].removeprefix("api/v1/").strip("/")
        found = clients_of(NAMED[head], row.pk) if head in NAMED else set()
        if found != {world.first.client.pk}:
            missed.append(name)
    assert missed == []


def test_every_list_is_an_address() -> None:
    assert set(POLICIES) >= LISTS


class TestThePage:
    def test_it_says_who_and_finds(self, world: Canaries) -> None:
        for actor, name in (("office", "office:place"), ("ana", "api:visit")):
            look(name, actor, world)
        look("portal:page", "link", world)
        look("office:places_csv", "office", world)
        page = look("office:client_access", "office", world).content.decode()
        for words in ("Office", "Ana", "the client, by a link", "a list · 2 rows", "api:visit"):
            assert words in page, words
        assert page.index("places_csv") < page.index("office:place</code>")
        browser = Browser()
        browser.force_login(world.office)
        where = reverse("office:client_access", args=[world.first.client.pk])
        found = browser.get(where, {"q": "ana"}).content.decode()
        assert "api:visit" in found
        assert "office:place</code>" not in found
        other = reverse("office:client_access", args=[world.second.client.pk])
        assert "api:visit" not in browser.get(other).content.decode()

    def test_for_a_spreadsheet(self, world: Canaries) -> None:
        look("office:place", "office", world)
        answer: Any = look("office:client_access_csv", "office", world)
        text = b"".join(answer.streaming_content).decode("utf-8-sig")
        assert text.splitlines()[0] == "at,who,page,method,a list,rows"
        assert "Office,office:place,GET" in text

    def test_a_line_that_is_none_is_left_out(self, world: Canaries, tmp_path: Path) -> None:
        look("office:place", "office", world)
        path = next((tmp_path / "access").glob("*"))
        path.write_text("{half a li\n[]\n" + path.read_text())
        assert look("office:client_access", "office", world).status_code == 200
        assert len(list(access_log.looks_at(world.first.client.pk))) == 2


class TestItGoes:
    def write(self, folder: Path, day: str, *clients: UUID) -> Path:
        (folder / "access").mkdir(exist_ok=True)
        path = folder / "access" / f"{day}.jsonl"
        look = {"at": f"{day}T08:00:00+00:00", "who": "x", "page": "p", "method": "GET"}
        path.write_text("".join(json.dumps(look | {"client": str(pk)}) + "\n" for pk in clients))
        return path

    def test_with_its_days(self, world: Canaries, tmp_path: Path) -> None:
        old = self.write(tmp_path, "2026-03-01", uuid4(), uuid4())
        edge = self.write(tmp_path, "2026-03-13", uuid4())
        keep = tmp_path / "access" / "notes.txt"
        keep.write_text("")
        assert access_log.days_forget(factories.NOW - dt.timedelta(days=90)) == 2
        assert [old.exists(), edge.exists(), keep.exists()] == [False, True, True]

    def test_a_client_leaves_the_lists_and_the_others_stay(
        self, world: Canaries, tmp_path: Path
    ) -> None:
        look("office:places_csv", "office", world)
        mine, other = world.first.client.pk, world.second.client.pk
        access_log.clients_forget(lambda pk: pk == mine)
        (row,) = lines(tmp_path)
        assert (row["some"], row["rows"]) == ([str(other)], 2)
        access_log.clients_forget(lambda pk: pk == other)
        assert lines(tmp_path) == []

    @pytest.mark.parametrize("at", ["write", "fsync", "rename"])
    def test_a_crash_in_between_loses_no_line(
        self, world: Canaries, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, at: str
    ) -> None:
        """Until the new file has taken its place the old one is whole, and the next try ends it."""
        mine, other = world.first.client.pk, world.second.client.pk
        path = self.write(tmp_path, "2026-06-01", *[mine, other] * 50)
        before = path.read_text()

        def dies(*_args: Any) -> None:
            raise OSError(28, "no room")

        def half(rows: Any) -> Any:
            yield next(iter(rows))
            dies()

        put = access_log._put
        with monkeypatch.context() as patched:
            if at == "write":
                patched.setattr(access_log, "_put", lambda path, rows: put(path, half(rows)))
            elif at == "fsync":
                patched.setattr(os, "fsync", dies)
            else:
                patched.setattr(Path, "replace", dies)
            with pytest.raises(OSError, match="no room"):
                access_log.clients_forget(lambda pk: pk == mine)
        assert path.read_text() == before
        assert len(list(access_log.looks_at(other))) == 50
        access_log.clients_forget(lambda pk: pk == mine)
        assert path.read_text().count(str(other)) == 50
        assert str(mine) not in path.read_text()
        assert [one.name for one in path.parent.iterdir()] == [path.name]
        assert oct(path.stat().st_mode)[-3:] == "600"

    def test_who_waited_for_the_old_file_writes_into_the_new_one(
        self, world: Canaries, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        mine, other = world.first.client.pk, world.second.client.pk
        path = self.write(tmp_path, "2026-06-11", mine, other)
        lock, waited = fcntl.flock, []

        def late(file: Any, how: int) -> None:
            lock(file, how)
            if not waited:
                # while it waited, somebody wrote the file anew
                waited.append(file)
                access_log._put(path, [path.read_text().splitlines(keepends=True)[1]])

        monkeypatch.setattr(fcntl, "flock", late)
        access_log.log(at=factories.NOW, who="x", page="late", method="GET", clients=[other])
        assert [row["page"] for row in lines(tmp_path)] == ["p", "late"]

    def test_with_its_client(self, world: Canaries, tmp_path: Path) -> None:
        mine, other = world.first.client.pk, world.second.client.pk
        path = self.write(tmp_path, "2026-06-01", mine, other, mine)
        over(world.first)
        browser = Browser()
        browser.force_login(world.office)
        answer = browser.post(
            reverse("office:client_erase", args=[mine]),
            {"name": "KINGFISHER", "password": "office-password-1"},
        )
        assert answer.status_code == 302
        outbox.drain(factories.NOW)
        assert not Client.objects.filter(pk=mine).exists()
        assert [row["client"] for row in lines(tmp_path)] == [str(other)]
        assert path.read_text().count("\n") == 1
        assert erasing.list_path().exists()
