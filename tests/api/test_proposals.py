"""Surveys and proposals through the API: from a site to its system, by the same services and limits."""

from typing import Any
from uuid import uuid4

import pytest
from django.core import mail
from django.core.files.uploadedfile import SimpleUploadedFile

from apps.clients.models import Contact
from apps.core import outbox
from apps.proposals.models import Proposal, SiteSurvey
from apps.systems.models import System
from tests import factories
from tests.api.conftest import World
from tests.office.test_survey_photos import jpeg
from tests.proposals.sending import undraw

SURVEY = {
    "on": "2026-06-10", "surveyed_by": "Ana Reyes", "wants": "Salad for four.", "length_m": 7,
    "width_m": 4.5, "ground": "paving", "winter_c": 16, "summer_c": 29.5, "rcd": "none",
    "ph": 7.4, "alkalinity_mg_l_caco3": 90, "total_chlorine_mg_l": 0.6, "chloramine": False,
    "frost_days": 12,
}  # fmt: skip
WISH = {
    "name": "Patio greens", "by": "beds", "amount": 4, "crop_group": "leafy", "bed_kind": "raft",
    "species": "nile_tilapia", "winter_c": 18, "summer_c": 30, "crop": "lettuce_loose_leaf",
}  # fmt: skip
TERMS = {
    "words": "With pleasure.", "margin": 25, "hours": 12.5, "rate": 48, "tax": 21,
    "prices": {"tank": 0.45, "raft": 62.5, "pump": 79.9},
    "extras": [{"text": "Delivery", "amount": 35}],
}  # fmt: skip


@pytest.fixture(autouse=True)
def undrawn(monkeypatch: pytest.MonkeyPatch) -> None:
    undraw(monkeypatch)
    monkeypatch.setattr(outbox, "poke", lambda *_args: None)


@pytest.fixture
def place(world: World) -> str:
    return str(world.mine.system.place_id)


def survey(world: World, place: str, /, **change: Any) -> Any:
    return world.office("POST", "/surveys", SURVEY | {"place": place} | change)


def wished(world: World, place: str, /, **change: Any) -> Any:
    return world.office("POST", "/proposals", WISH | {"place": place} | change)


def priced(world: World, place: str) -> dict[str, Any]:
    made = wished(world, place)
    assert made.status_code == 201, made.content
    path = f"/proposals/{made.json()['id']}"
    tag = world.office("GET", path)["ETag"]
    answer = world.office("PATCH", path, TERMS, If_Match=tag)
    assert answer.status_code == 200, answer.content
    found: dict[str, Any] = answer.json()
    return found


def pointers(answer: Any) -> list[str]:
    assert answer.status_code == 422, answer.content
    return [item["pointer"] for item in answer.json()["errors"]]


class TestSurveys:
    def test_written_read_and_changed(self, world: World, place: str) -> None:
        made = survey(world, place)
        assert made.status_code == 201, made.content
        body = made.json()
        assert body["answers"]["length_m"] == 7
        assert body["answers"]["alkalinity_mg_l_caco3"] == 90
        assert body["answers"]["wind"] is None
        assert "wind" in body["open"] or "sun_hours" in body["open"]
        assert "rcd_none" in [concern["code"] for concern in body["concerns"]]
        path = f"/surveys/{body['id']}"
        seen = world.office("GET", path)
        assert seen.json() == body
        changed = world.office(
            "PATCH", path, {"rcd": "trips", "frost_days": None}, If_Match=seen["ETag"]
        )
        assert changed.status_code == 200, changed.content
        assert changed.json()["answers"]["rcd"] == "trips"
        assert changed.json()["answers"]["frost_days"] is None
        # what was not named stays
        assert changed.json()["answers"]["ph"] == 7.4
        assert changed.json()["answers"]["wants"] == "Salad for four."
        listed = world.office("GET", f"/surveys?place={place}").json()
        assert (listed["count"], listed["results"][0]["rev"]) == (1, 2)

    def test_an_older_version_is_refused(self, world: World, place: str) -> None:
        path = f"/surveys/{survey(world, place).json()['id']}"
        tag = world.office("GET", path)["ETag"]
        world.office("PATCH", path, {"notes": "x"}, If_Match=tag)
        assert world.office("PATCH", path, {"notes": "y"}, If_Match=tag).status_code == 412
        assert world.office("PATCH", path, {"notes": "y"}).status_code == 428

    @pytest.mark.parametrize(
        ("change", "pointer"),
        [({"length_m": "wide"}, "/length_m"), ({"length_m": 900}, "/length_m"),
         ({"alkalinity_mg_l_caco3": None}, "/alkalinity_mg_l_caco3"),
         ({"summer_c": 10}, "/summer_c"), ({"ground": "cloud"}, "/ground"),
         ({"frost_days": 1.5}, "/frost_days"), ({"chloramine": "yes"}, "/chloramine"),
         ({"on": "2031-01-01"}, "/on"), ({"surveyed_by": ""}, "/surveyed_by"),
         ({"roof": "red"}, "/roof"), ({"place": str(uuid4())}, "/place"),
         ({"wants": 7}, "/wants"), ({"length_m": True}, "/length_m")],
    )  # fmt: skip
    def test_what_cannot_be_names_its_field(
        self, world: World, place: str, change: dict[str, Any], pointer: str
    ) -> None:
        assert pointers(survey(world, place, **change)) == [pointer]
        assert not SiteSurvey.objects.exists()

    def test_sent_twice_it_counts_once(self, world: World, place: str) -> None:
        body, key = SURVEY | {"place": place}, str(uuid4())
        first = world.office("POST", "/surveys", body, Idempotency_Key=key)
        again = world.office("POST", "/surveys", body, Idempotency_Key=key)
        assert again.json() == first.json()
        assert SiteSurvey.objects.count() == 1

    def test_photos_of_the_site(self, world: World, place: str) -> None:
        held = survey(world, place).json()["id"]
        form = {"id": str(uuid4()), "caption": "South wall"}
        picture = SimpleUploadedFile("wall.jpg", jpeg(), "image/jpeg")
        path, headers = f"/api/v1/surveys/{held}/photos", world.office.headers
        browser = world.office.browser
        made = browser.post(path, form | {"photo": picture}, headers=headers)
        assert made.status_code == 201, made.content
        picture.seek(0)
        again = browser.post(path, form | {"photo": picture}, headers=headers)
        assert again.json() == made.json()
        listed = world.office("GET", f"/surveys/{held}").json()["photos"]
        assert [photo["caption"] for photo in listed] == ["South wall"]
        shown = world.office("GET", f"/surveys/photos/{form['id']}?size=small")
        assert (shown["Content-Type"], shown.content[:2]) == ("image/jpeg", b"\xff\xd8")
        assert pointers(browser.post(path, form, headers=headers)) == ["/photo"]
        assert world.ana("GET", f"/surveys/photos/{form['id']}").status_code == 403
        assert world.office("DELETE", f"/surveys/photos/{form['id']}").status_code == 204
        assert world.office("GET", f"/surveys/{held}").json()["photos"] == []


class TestProposals:
    def test_what_it_comes_to(self, world: World, place: str) -> None:
        """As the office's page reckons: 450 + 312.50 + 99.88 + 600 + 35, and 21 % of it."""
        made = priced(world, place)
        assert (made["sum"]["net"], made["sum"]["tax"], made["sum"]["gross"]) == (
            1497.38, 314.45, 1811.83,
        )  # fmt: skip
        assert made["sum"]["currency"] == "EUR"
        assert "settler" in made["sum"]["unpriced"]
        assert made["stand"] == "draft"
        assert made["extras"] == TERMS["extras"]

    def test_a_price_is_taken_away_by_null_and_the_rest_stays(
        self, world: World, place: str
    ) -> None:
        made = priced(world, place)
        path = f"/proposals/{made['id']}"
        tag = world.office("GET", path)["ETag"]
        body = {"prices": {"raft": None}, "extras": [], "tax": None}
        changed = world.office("PATCH", path, body, If_Match=tag).json()
        assert changed["prices"] == {"tank": 0.45, "pump": 79.9}
        assert (changed["extras"], changed["tax"], changed["margin"]) == ([], None, 25)

    @pytest.mark.parametrize(
        ("change", "pointer"),
        [({"prices": {"tank": -1}}, "/prices/tank"), ({"prices": {"gold": 1}}, "/prices/gold"),
         ({"prices": {"tank": 0.00001}}, "/prices/tank"), ({"prices": [1]}, "/prices"),
         ({"extras": [{"text": "", "amount": 4}]}, "/extras/0/text"),
         ({"extras": [{"text": "Crane"}]}, "/extras/0/amount"), ({"rate": None}, "/rate"),
         ({"valid_until": "soon"}, "/valid_until"), ({"margin": 900}, "/margin"),
         ({"answer": "accepted"}, "/answer"), ({"name": ""}, "/name")],
    )  # fmt: skip
    def test_terms_that_cannot_be_name_their_field(
        self, world: World, place: str, change: dict[str, Any], pointer: str
    ) -> None:
        made = priced(world, place)
        path = f"/proposals/{made['id']}"
        tag = world.office("GET", path)["ETag"]
        assert pointers(world.office("PATCH", path, change, If_Match=tag)) == [pointer]
        assert world.office("GET", path).json()["rev"] == made["rev"]

    @pytest.mark.parametrize(
        ("change", "pointer"),
        [({"amount": 0}, "/amount"), ({"amount": 900}, "/amount"), ({"by": "luck"}, "/by"),
         ({"species": "dragon"}, "/species"), ({"winter_c": 40}, "/summer_c"),
         ({"name": ""}, "/name"), ({"place": "here"}, "/place")],
    )  # fmt: skip
    def test_wishes_that_cannot_be_name_their_field(
        self, world: World, place: str, change: dict[str, Any], pointer: str
    ) -> None:
        assert pointers(wished(world, place, **change)) == [pointer]
        assert not Proposal.objects.exists()

    def test_it_begins_with_the_survey(self, world: World, place: str) -> None:
        held = survey(world, place).json()["id"]
        assert wished(world, place).json()["survey"] == held


class TestToTheSystem:
    def test_drawn_sent_accepted_built(self, world: World, place: str) -> None:
        made = priced(world, place)
        path = f"/proposals/{made['id']}"
        version = world.office("POST", f"{path}/versions")
        assert version.status_code == 201
        assert world.office("POST", f"{path}/versions").status_code == 200
        pk = version.json()["id"]
        pdf = world.office("GET", f"/proposals/versions/{pk}/pdf")
        assert pdf.content.startswith(b"%PDF-1.7")
        sent = world.office("POST", f"/proposals/versions/{pk}/send", {"words": "In May."})
        assert sent.json()["letters"] == 1
        assert sent.json()["version"]["sent_at"] is not None
        outbox.drain(factories.NOW)
        assert "In May." in mail.outbox[0].body
        assert world.office("GET", "/proposals?stand=sent").json()["count"] == 1
        again = world.office("POST", f"/proposals/versions/{pk}/send", {})
        assert again.json()["letters"] == 0
        answer = {"answer": "accepted", "version": pk, "on": "2026-06-10", "said_by": "Robin"}
        accepted = world.office("POST", f"{path}/answer", answer).json()
        assert (accepted["stand"], accepted["accepted"], accepted["answered_by"]) == (
            "accepted", pk, "Robin",
        )  # fmt: skip
        built = world.office("POST", f"{path}/build", {"name": "Mill end"})
        assert built.status_code == 201, built.content
        system = System.objects.get(pk=built.json()["id"])
        assert (system.name, str(system.proposal.pk)) == ("Mill end", made["id"])
        assert world.office("POST", f"{path}/build", {"name": "Again"}).status_code == 409
        assert world.office("GET", path).json()["stand"] == "built"

    def test_an_acceptance_says_which_version_and_who(self, world: World, place: str) -> None:
        path = f"/proposals/{priced(world, place)['id']}"
        pk = world.office("POST", f"{path}/versions").json()["id"]
        accepted = {"answer": "accepted", "version": pk, "said_by": "Robin"}
        for name in ("version", "said_by"):
            body = {key: value for key, value in accepted.items() if key != name}
            assert pointers(world.office("POST", f"{path}/answer", body)) == [f"/{name}"]
        other = world.office("POST", f"/proposals/{priced(world, place)['id']}/versions").json()
        body = accepted | {"version": other["id"]}
        assert pointers(world.office("POST", f"{path}/answer", body)) == ["/version"]
        assert world.office("POST", f"{path}/build", {"name": "x"}).status_code == 409

    def test_what_must_not_go_out_is_refused(self, world: World, place: str) -> None:
        path = f"/proposals/{priced(world, place)['id']}"
        pk = world.office("POST", f"{path}/versions").json()["id"]
        Contact.objects.update(gets_letters=False)
        assert pointers(world.office("POST", f"/proposals/versions/{pk}/send", {})) == ["/words"]
        Proposal.objects.update(words="Another")
        refused = world.office("POST", f"/proposals/versions/{pk}/send", {})
        assert refused.status_code == 409
        assert "outdated" in refused.json()["type"]

    def test_the_office_alone(self, world: World, place: str) -> None:
        path = f"/proposals/{priced(world, place)['id']}"
        for method, where in (
            ("GET", "/proposals"), ("GET", path), ("GET", "/surveys"), ("POST", f"{path}/versions"),
        ):  # fmt: skip
            assert world.ana(method, where).status_code == 403
            assert world.nobody(method, where).status_code == 401
