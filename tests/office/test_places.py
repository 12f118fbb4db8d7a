"""Places: made, changed, kept apart where two change the same."""

import datetime as dt
from typing import Any

from apps.clients.models import Client, Contact, Place, SourceWater, VisitingHours
from tests import factories
from tests.office.conftest import Desk

NEW = {
    "client_name": "Brandt-Silva", "kind": "household", "name": "Sofia Brandt-Silva",
    "email": "sofia@brandt.example", "phone": "0555 0142", "language": "en", "units": "metric",
    "gets_letters": "on", "place_name": "terrace", "street": "Long Acre 3", "town": "Tarnwick",
    "area": "Tarnwick", "latitude": "50,1", "longitude": "5.25", "altitude_m": "",
}  # fmt: skip


def test_a_new_client_with_contact_and_place(empty: Desk) -> None:
    answer = empty.post("place_new", **NEW)
    place = Place.objects.get()
    assert answer.url == f"/places/{place.pk}/"
    assert (place.client.name, place.latitude, place.altitude_m) == ("Brandt-Silva", 50.1, 0.0)
    assert Contact.objects.get().gets_letters
    page = empty.get("place", place.pk).content.decode()
    for words in ("terrace", "Long Acre 3, Tarnwick", "0555 0142", "No system yet"):
        assert words in page


def test_faults_stand_at_their_fields_and_nothing_is_stored(empty: Desk) -> None:
    wrong = NEW | {"email": "", "latitude": "95", "longitude": "", "street": ""}
    answer = empty.post("place_new", **wrong)
    assert answer.status_code == 422
    assert {"email", "latitude", "street"} <= set(answer.context["form"].errors)
    assert "Letters need an e-mail address." in answer.content.decode()
    assert not Client.objects.exists()


def test_one_coordinate_alone_is_refused(empty: Desk) -> None:
    answer = empty.post("place_new", **(NEW | {"longitude": ""}))
    assert "longitude" in answer.context["form"].errors


def test_direction_marks_are_taken_out(empty: Desk) -> None:
    empty.post("place_new", **(NEW | {"client_name": "Brandt\u202egpj"}))
    assert Client.objects.get().name == "Brandtgpj"


def test_another_place_of_a_client(desk: Desk) -> None:
    owner = desk.place.client
    page = desk.get("place_new", client=str(owner.pk)).content.decode()
    assert "Another place of Okafor." in page
    values = {key: NEW[key] for key in ("place_name", "street", "town")}
    desk.browser.post(f"/places/new/?client={owner.pk}", values)
    assert owner.places.count() == 2
    assert Client.objects.count() == 1


def edit(desk: Desk, **more: Any) -> dict[str, Any]:
    place = desk.place
    return {
        "place_name": place.name, "street": place.street, "town": place.town, "area": place.area,
        "rev": place.rev,
    } | more  # fmt: skip


def test_a_change_is_kept(desk: Desk) -> None:
    desk.post("place_edit", desk.place.pk, **edit(desk, gate_code="4711", dog="on"))
    place = Place.objects.get()
    assert (place.gate_code, place.dog, place.rev) == ("4711", True, 2)


def test_coordinates_as_fine_as_a_metre_come_back_as_they_are(desk: Desk) -> None:
    where = {"latitude": "44.606291", "longitude": "-12,39496"}
    desk.post("place_edit", desk.place.pk, **edit(desk, **where))
    place = Place.objects.get()
    assert (place.latitude, place.longitude) == (44.606291, -12.39496)
    shown = desk.get("place_edit", place.pk).context["form"]
    again = {name: shown[name].value() for name in ("latitude", "longitude")}
    assert (
        desk.post("place_edit", place.pk, **edit(desk, rev=place.rev, **again)).status_code == 302
    )


def test_two_who_change_the_same_see_both(desk: Desk) -> None:
    mine = edit(desk, gate_code="4711")
    desk.post("place_edit", desk.place.pk, **edit(desk, gate_code="0815"))
    answer = desk.post("place_edit", desk.place.pk, **mine)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "0815" in page
    assert "4711" in page
    assert Place.objects.get().gate_code == "0815"
    again = mine | {"rev": answer.context["form"].data["rev"]}
    assert desk.post("place_edit", desk.place.pk, **again).status_code == 302
    assert Place.objects.get().gate_code == "4711"


def test_the_client_is_changed(desk: Desk) -> None:
    owner = desk.place.client
    values = {"client_name": "Okafor & Sons", "kind": "cafe", "active": "on", "rev": owner.rev}
    desk.post("client_edit", desk.place.pk, **values)
    owner.refresh_from_db()
    assert (owner.name, owner.kind, owner.active) == ("Okafor & Sons", "cafe", True)


def test_contacts_are_added_and_changed(desk: Desk) -> None:
    values = {"name": "Mags", "phone": "0555 0199", "language": "en", "units": "us"}
    desk.post("contact_new", desk.place.pk, **values)
    mags = Contact.objects.get(name="Mags")
    assert mags.units == "us"
    values |= {"email": "mags@okafor.example", "gets_letters": "on"}
    desk.post("contact_edit", desk.place.pk, mags.pk, **values)
    mags.refresh_from_db()
    assert mags.gets_letters


def test_a_contact_of_somebody_else_is_not_there(desk: Desk) -> None:
    other = Contact.objects.get(client=factories.client("Osei"))
    assert desk.get("contact_edit", desk.place.pk, other.pk).status_code == 404


def test_hours_are_set_and_a_slip_is_said(desk: Desk) -> None:
    bad = {"d1_0_opens": "15:00", "d1_0_closes": "08:00", "d2_0_opens": "08:00"}
    answer = desk.post("hours", desk.place.pk, **bad)
    assert answer.status_code == 422
    assert set(answer.context["form"].errors) == {"d1_0_opens", "d2_0_opens"}
    good = {
        "d1_0_opens": "08:00",
        "d1_0_closes": "12:00",
        "d1_1_opens": "14:00",
        "d1_1_closes": "16:00",
    }
    desk.post("hours", desk.place.pk, **good)
    rows = VisitingHours.objects.filter(place=desk.place).order_by("opens")
    assert [(row.weekday, row.opens) for row in rows] == [(1, dt.time(8)), (1, dt.time(14))]
    desk.post("hours", desk.place.pk)
    assert not VisitingHours.objects.exists()


def test_source_water_is_noted(desk: Desk) -> None:
    values = {"on": "2026-06-01", "ph": "7,6", "alkalinity_mg_l_caco3": "120", "chloramine": "on"}
    desk.post("source_new", desk.place.pk, **values)
    row = SourceWater.objects.latest("on")
    assert (row.ph, row.chloramine, row.total_chlorine_mg_l) == (7.6, True, 0)
    twice = desk.post("source_new", desk.place.pk, **values)
    assert twice.status_code == 422
