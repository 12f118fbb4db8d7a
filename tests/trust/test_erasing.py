"""A client who is erased is nowhere any more: no row, no file, no word; the others keep all."""

import datetime as dt
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.apps import apps
from django.core.files.storage import default_storage
from django.core.management import call_command
from django.db import IntegrityError, connection, models, transaction
from django.db.models import F, TextField
from django.db.models.functions import Cast

from apps.accounts.models import AuditEntry, Closure, IdempotencyKey
from apps.accounts.services import audit, digest_of
from apps.clients.models import Client, Contact, PastClients
from apps.core import clock, files, outbox
from apps.core.exceptions import Conflict, Invalid
from apps.core.models import Job
from apps.field.phone.day import day_of
from apps.flows import erasing
from apps.flows.client_rows import everything_of, naming
from apps.incidents.models import Incident, WeatherWatch
from apps.reports.models import BlockedAddress, DeliveryStep, Letter, Report
from apps.reports.services.reports import report_for
from apps.rounds.models import Absence, RoundPlan
from apps.visits.models import Phone, Photo, RefusedOperation, Sheet, Value, Visit
from apps.visits.services import uploads
from tests import factories
from tests.trust.world import Canaries, House, build

pytestmark = pytest.mark.django_db


@pytest.fixture
def world(db: None, monkeypatch: pytest.MonkeyPatch, settings: Any, tmp_path: Path) -> Canaries:
    """Two households with a row of every kind; the first one's visits are over."""
    monkeypatch.setattr(clock, "now", lambda: factories.NOW)
    settings.BACKYARD_DIR = tmp_path
    made = build()
    # the firm's own days off and its technicians' are nobody's, whatever the words in this world
    Closure.objects.update(name="closed")
    Absence.objects.update(reason="away")
    for home in (made.first, made.second):
        besides(home)
    over(made.first)
    return made


def over(home: House) -> None:
    """Nothing stands in the way of erasing a household any more."""
    Visit.objects.filter(place__client=home.client, state="booked").update(
        state="written_up", started_at=factories.NOW, finished_at=factories.NOW
    )
    Incident.objects.filter(system__place__client=home.client).update(
        state="closed", cause="power", outcome="it came back", closed_at=factories.NOW
    )


def besides(home: House) -> None:
    """Rows that name a household by its ids alone, as the program writes them."""
    visit, system = home.visit, home.built.system
    audit(at=factories.NOW, by="office", verb="changed", kind="place", object_id=visit.place_id,
          change={"street": f"street {home.canary}"})  # fmt: skip
    Job.objects.create(
        kind="letters.send", key=f"letter:{uuid4()}", args={"letter_id": str(home.rows["letter"].pk)},
        state="done", run_at=factories.NOW, made_at=factories.NOW,
        last_error=f"{home.canary} has no mailbox",
    )  # fmt: skip
    IdempotencyKey.objects.create(
        user=home.rows["technician"], key=f"k {home.canary}", fingerprint="f", status=200,
        body={"id": str(visit.pk), "place": f"place {home.canary}"}, made_at=factories.NOW,
    )  # fmt: skip
    plan = home.rows["round_plan"]
    RoundPlan.objects.filter(pk=plan.pk).update(work={str(system.pk): {"name": home.canary}})
    office = Letter.objects.create(
        kind="help", key=f"help {home.canary}", address="office@reedandroach.example",
        message_id=f"<h {home.canary}>", subject_line=f"{home.canary} asks for help", state="sent",
        parameters={"incident": str(home.rows["incident"].pk)}, made_at=factories.NOW,
    )  # fmt: skip
    DeliveryStep.objects.create(
        letter=office, at=factories.NOW, state="sent", words=f"250 for {home.canary}"
    )
    Value.objects.create(
        visit=visit,
        sheet=home.rows["sheet"],
        path=f"lines/{uuid4()}/note",
        value=home.canary,
        op_id=uuid4(),
    )
    refused = home.rows["remark"].refused
    RefusedOperation.objects.create(
        operation=str(uuid4()), device=refused.device, seq=9, received_at=factories.NOW, by="ana",
        payload={"visit": str(visit.pk), "value": f"refused {home.canary}"}, why=[],
    )  # fmt: skip


def texts_of(model: type[models.Model]) -> Iterator[tuple[Any, str]]:
    """Yield every row of a table as text, each column that can hold words or keys."""
    names = [field.attname for field in model._meta.concrete_fields]
    casts = {f"text_{name}": Cast(F(name), TextField()) for name in names}
    rows: Any = model._base_manager.annotate(**casts)
    for row in rows.values_list("pk", *casts):
        yield row[0], " ".join(str(value) for value in row[1:])


def found_anywhere(words: list[str]) -> dict[str, list[str]]:
    """Return where one of the words still stands: table -> rows."""
    wanted = [word.lower() for word in words]
    found: dict[str, list[str]] = {}
    for model in apps.get_models(include_auto_created=True):
        for _pk, text in texts_of(model):
            if any(word in text.lower() for word in wanted):
                found.setdefault(model._meta.label, []).append(text)
    return found


def stored(folder: str = "") -> Iterator[str]:
    folders, names = default_storage.listdir(folder)
    yield from (f"{folder}/{name}".lstrip("/") for name in names)
    for name in folders:
        yield from stored(f"{folder}/{name}".lstrip("/"))


def erase(world: Canaries, client: Client | None = None) -> int:
    row = client or world.first.client
    return erasing.client_erase(
        client=row, name=row.name, by=factories.actor(world.office), at=factories.NOW
    )


def words_of(home: House) -> list[str]:
    """What may stand nowhere afterwards: name, words, address, secrets and all ids."""
    ids = [
        form
        for held in everything_of(home.client).values()
        for pk in held
        if isinstance(pk, UUID)
        for form in (str(pk), pk.hex)
    ]
    secret = home.link.rstrip("/").rsplit("/", 1)[-1]
    return [home.canary, secret, digest_of(secret), *ids]


class TestErased:
    def test_no_table_holds_a_word_or_a_key_of_theirs(self, world: Canaries) -> None:
        words = words_of(world.first)
        assert len(words) > 150
        assert len(found_anywhere(words)) > 60
        gone = erase(world)
        assert gone > 150
        assert found_anywhere(words) == {}

    def test_no_file_does(self, world: Canaries) -> None:
        mark = world.first.canary.encode()
        before = {name for name in stored() if mark in files.read(name)}
        assert {name.split("/")[0] for name in before} == {"photos", "proposals", "reports"}
        erase(world)
        outbox.drain(factories.NOW)
        assert not [name for name in stored() if mark in files.read(name)]
        assert [name for name in stored() if world.second.canary.encode() in files.read(name)]

    def test_the_other_household_keeps_every_row(self, world: Canaries) -> None:
        keys = everything_of(world.second.client)
        before = {model: dict(texts_of(model)) for model in keys}
        mine = everything_of(world.first.client)
        assert not any(held & keys.get(model, set()) for model, held in mine.items())
        erase(world)
        for model, held in keys.items():
            after = dict(texts_of(model))
            assert {pk: before[model][pk] for pk in held} == {pk: after[pk] for pk in held}

    def test_what_stays_says_nothing_of_them(self, world: Canaries) -> None:
        erase(world)
        row = PastClients.objects.get()
        assert (row.year, row.clients, row.systems) == (2026, 1, {"coupled": 1})
        assert (row.years, row.visits % 5, row.readings % 50, row.reports % 5) == (1, 0, 0, 0)
        entry = AuditEntry.objects.get(verb="erased")
        assert (entry.object_id, list(entry.change)) == ("", ["rows"])

    def test_the_sums_grow(self, world: Canaries) -> None:
        over(world.second)
        erase(world)
        erase(world, world.second.client)
        assert PastClients.objects.get().clients == 2

    def test_numbers_are_not_given_out_again(self, world: Canaries) -> None:
        highest = max(Report.objects.values_list("number", flat=True))
        over(world.second)
        erase(world, world.second.client)
        assert Report.objects.count() < highest
        sheet = Sheet.objects.filter(visit=world.first.visit).get()
        assert report_for(sheet, factories.NOW).number == highest + 1

    def test_by_two_at_once_counts_one(self, world: Canaries) -> None:
        """Whoever waited for the first finds nobody there any more."""
        client = world.first.client
        late = Client.objects.get(pk=client.pk)
        erase(world, client)
        with pytest.raises(Conflict, match="Somebody else has erased"):
            erase(world, late)
        assert PastClients.objects.get().clients == 1
        assert AuditEntry.objects.filter(verb="erased").count() == 1

    def test_a_client_with_nothing(self, world: Canaries) -> None:
        bare = Client.objects.create(name="Nobody")
        assert erase(world, bare) == 1
        assert not Client.objects.filter(name="Nobody").exists()

    def test_a_block_of_an_address_that_somebody_else_has_stays(self, world: Canaries) -> None:
        for name in ("own@both.example", "mine@one.example"):
            Contact.objects.create(client=world.first.client, name="Ash", email=name)
            BlockedAddress.objects.create(address=name, why="bounced", since=factories.NOW)
        Contact.objects.create(client=world.second.client, name="Elm", email="Own@both.example")
        erase(world)
        left = set(BlockedAddress.objects.values_list("address", flat=True))
        assert "own@both.example" in left
        assert "mine@one.example" not in left

    def test_and_one_that_a_letter_of_theirs_made(self, world: Canaries) -> None:
        letter = world.first.rows["letter"]
        Contact.objects.filter(pk=letter.contact_id).update(email="own@both.example")
        Contact.objects.create(client=world.second.client, name="Elm", email="Own@both.example")
        for name in ("own@both.example", "before@one.example"):
            BlockedAddress.objects.create(
                address=name, why="bounced", since=factories.NOW, letter=letter
            )
        erase(world)
        assert BlockedAddress.objects.get(address="own@both.example").letter is None
        assert not BlockedAddress.objects.filter(address="before@one.example").exists()

    def test_a_list_for_a_weather_that_went_to_others_too_stays(self, world: Canaries) -> None:
        watch = WeatherWatch.objects.create(kind="frost", words="x", made_at=factories.NOW, by="o")
        for home in (world.first, world.second):
            watch.asks.create(contact=Contact.objects.filter(client=home.client).first())
        erase(world)
        assert watch.asks.count() == 1
        assert not WeatherWatch.objects.filter(pk=world.first.rows["watch"].pk).exists()

    def test_a_job_for_several_goes_on_for_the_others(self, world: Canaries) -> None:
        ids = [str(home.built.system.pk) for home in (world.first, world.second)]
        job = Job.objects.create(
            kind="standing.refresh", key="both", args={"system_ids": ids}, run_at=factories.NOW,
            made_at=factories.NOW,
        )  # fmt: skip
        erase(world)
        job.refresh_from_db()
        assert job.args == {"system_ids": ids[1:]}


def test_a_phone_is_not_sent_their_visits_any_more(world: Canaries) -> None:
    """What is no longer sent leaves the phone: `leave` in its visits.js, tests/phone."""
    home, ana = world.first, factories.actor(world.ana)
    Visit.objects.filter(pk=home.visit.pk).update(start=factories.NOW)
    assert str(home.visit.pk) in str(day_of(ana))
    erase(world)
    assert home.canary not in str(day_of(ana))
    assert day_of(ana)["visits"] == []


class TestRefused:
    def refused(self, world: Canaries, words: str) -> None:
        before = {model: model._base_manager.count() for model in apps.get_models()}
        with pytest.raises(Conflict, match=words), transaction.atomic():
            erase(world)
        assert before == {model: model._base_manager.count() for model in apps.get_models()}

    def test_another_name(self, world: Canaries) -> None:
        with pytest.raises(Invalid, match="name"):
            erasing.client_erase(
                client=world.first.client, name="DRAGONFLY", by=factories.actor(world.office),
                at=factories.NOW,
            )  # fmt: skip
        assert Client.objects.filter(pk=world.first.client.pk).exists()

    @pytest.mark.parametrize("state", ["booked", "under_way"])
    def test_a_visit_to_come(self, world: Canaries, state: str) -> None:
        Visit.objects.filter(pk=world.first.visit.pk).update(state=state)
        self.refused(world, "visit is booked")

    def test_a_call_for_help(self, world: Canaries) -> None:
        Incident.objects.filter(pk=world.first.rows["incident"].pk).update(
            state="watching", closed_at=None
        )
        self.refused(world, "call for help")

    @pytest.mark.parametrize("state", ["sending", "unsure"])
    def test_a_letter_on_its_way(self, world: Canaries, state: str) -> None:
        Letter.objects.filter(pk=world.first.rows["letter"].pk).update(state=state)
        self.refused(world, "nobody knows")

    @pytest.mark.parametrize("what", ["pending_ops", "pending_photos"])
    def test_a_phone_that_holds_something(self, world: Canaries, what: str) -> None:
        Phone.objects.filter(user=world.ana).update(**{what: 2})
        self.refused(world, "phone still holds")

    def test_not_by_a_phone_that_is_cut_off_or_never_was_there(self, world: Canaries) -> None:
        Phone.objects.filter(user=world.ana).update(pending_ops=2, cut_off_at=factories.NOW)
        Phone.objects.filter(user=world.marek).update(pending_ops=2)
        assert erase(world)

    def test_something_being_made(self, world: Canaries) -> None:
        Job.objects.create(
            kind="reports.render", key="now", args={"visit_id": str(world.first.visit.pk)},
            state="busy", run_at=factories.NOW, made_at=factories.NOW,
        )  # fmt: skip
        self.refused(world, "being made")


def without_photos(monkeypatch: pytest.MonkeyPatch) -> None:
    """As if a photo came in after all else was gathered."""
    whole = everything_of

    def less(client: Client) -> Any:
        keys = whole(client)
        keys.pop(Photo)
        return keys

    monkeypatch.setattr(erasing, "everything_of", less)


def test_the_end_refuses_what_refers_to_something_gone(
    world: Canaries, monkeypatch: pytest.MonkeyPatch
) -> None:
    without_photos(monkeypatch)
    with transaction.atomic():
        erase(world)
        with pytest.raises(IntegrityError):
            connection.check_constraints()
        transaction.set_rollback(True)


class TestFiles:
    def test_what_cannot_be_removed_is_tried_again(
        self, world: Canaries, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        mark = world.first.canary.encode()

        def full(_name: str) -> None:
            raise PermissionError

        erase(world)
        with monkeypatch.context() as patched:
            patched.setattr(default_storage, "delete", full)
            for minutes in range(0, 24 * 60, 30):
                outbox.drain(factories.NOW + dt.timedelta(minutes=minutes))
        job = Job.objects.get(kind="erasing.finish")
        # far more tries than a job has otherwise
        assert (job.state, job.attempts > 10) == ("new", True)
        monkeypatch.setattr(clock, "now", lambda: factories.NOW + dt.timedelta(days=1))
        assert erasing.files_waiting() == 1
        outbox.drain(factories.NOW + dt.timedelta(days=2))
        assert not [name for name in stored() if mark in files.read(name)]
        assert erasing.files_waiting() == 0

    def test_looks_that_cannot_be_rewritten_keep_no_file(
        self, world: Canaries, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        mark = world.first.canary.encode()

        def full(_gone: Any) -> None:
            raise OSError(28, "no room")

        erase(world)
        with monkeypatch.context() as patched:
            patched.setattr(erasing, "clients_forget", full)
            for hours in range(24):
                outbox.drain(factories.NOW + dt.timedelta(hours=hours))
        assert not [name for name in stored() if mark in files.read(name)]
        job = Job.objects.get(kind="erasing.finish")
        assert (job.state, "no room" in job.last_error) == ("new", True)
        outbox.drain(factories.NOW + dt.timedelta(days=2))
        job.refresh_from_db()
        assert job.state == "done"

    def test_pieces_of_photos_go_as_well(self, world: Canaries) -> None:
        """Nothing but the phone knows whose home they show."""
        owner = str(world.ana.pk)
        uploads.piece_add(
            owner=owner, key=(key := uuid4()), data=b"half", offset=0, length=8, sha256=""
        )
        erase(world)
        outbox.drain(factories.NOW)
        assert uploads.offset_of(owner, key) == 0

    def test_bytes_that_somebody_else_has_as_well_stay(self, world: Canaries) -> None:
        name, _sha = files.store("photos", b"the same bytes", "jpg")
        for home in (world.first, world.second):
            Photo.objects.filter(pk=home.rows["photo"].pk).update(screen=name)
        erase(world)
        outbox.drain(factories.NOW)
        assert files.read(name) == b"the same bytes"


class TestACopySetBack:
    def test_they_are_erased_again(self, world: Canaries, capsys: Any) -> None:
        """A copy of the database from before knows them again; the list beside it does, too."""
        client = world.first.client
        erase(world)
        outbox.drain(factories.NOW)
        text = erasing.list_path().read_text()
        assert str(client.pk) not in text
        assert world.first.canary not in text
        back = Client.objects.create(pk=client.pk, name="KINGFISHER")
        Client.objects.create(name="Somebody else")
        call_command("erase_client", "--again")
        assert "1" in capsys.readouterr().out
        assert not Client.objects.filter(pk=back.pk).exists()
        assert Client.objects.filter(name="Somebody else").exists()

    def test_an_older_key_still_tells(self, world: Canaries, settings: Any) -> None:
        old = settings.SECRET_KEY
        erase(world)
        outbox.drain(factories.NOW)
        settings.SECRET_KEY, settings.SECRET_KEY_FALLBACKS = "n" * 50, [old]
        back = Client.objects.create(pk=world.first.client.pk, name="KINGFISHER")
        assert erasing.erased_before() == [back]

    def test_the_mark_is_noted_once(self, world: Canaries) -> None:
        for _n in range(2):
            erasing.finish(names=[], mark="m", on="2026-06-11", at=factories.NOW)
        assert erasing.list_path().read_text() == "2026-06-11 m\n"


def test_ids_are_found_in_every_form(db: None) -> None:
    key = uuid4()
    rows = [
        audit(at=factories.NOW, by="o", verb="v", kind="k", object_id=where)
        for where in (key, key.hex, uuid4())
    ]
    rows.append(audit(at=factories.NOW, by="o", verb="v", kind="k", object_id=1,
                      change={"a": [{"b": f"visit {key}!"}]}))  # fmt: skip
    found = set(naming(AuditEntry, ("object_id", "change"), [key]))
    assert found == {rows[0].pk, rows[1].pk, rows[3].pk}
    assert json.dumps(rows[3].change)
