"""Places: made, changed, kept apart where two change the same."""

import datetime as dt
from typing import Any

import pytest

from apps.clients.models import Client, Contact, Place, SourceWater, VisitingHours
from tests import factories
from tests.office.conftest import Desk

NEW = {
    "client_name": "Brandt-Silva", "kind": "household", "name": "Sofia Brandt-Silva",
    "email": "sofia@brandt.example", "phone": "0555 0142", "language": "en", "units": "metric",
    "gets_letters": "on", "place_name": "terrace", "street": "Long Acre 3", "town": "Tarnwick",
    "area": "Tarnwick", "where": "50.1000, 5.2500", "altitude_m": "",
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
    wrong = NEW | {"email": "", "where": "95.000, 5.250", "street": ""}
    answer = empty.post("place_new", **wrong)
    assert answer.status_code == 422
    assert {"email", "where", "street"} <= set(answer.context["form"].errors)
    assert "Letters need an e-mail address." in answer.content.decode()
    assert not Client.objects.exists()


@pytest.mark.parametrize(
    "typed",
    ["50.1", "50.10000", "95.000, 5.250", "50.1, 5.2", "0.000, 0.000", "north of the mill",
     "9F26VC22+2", "9F26VC00+", "VC22+22", "50°06'N 5°15'E", "x" * 130],
)  # fmt: skip
def test_what_names_no_place_is_refused_at_its_field(empty: Desk, typed: str) -> None:
    answer = empty.post("place_new", **(NEW | {"where": typed}))
    assert answer.status_code == 422
    assert set(answer.context["form"].errors) == {"where"}
    assert not Place.objects.exists()


@pytest.mark.outside(
    source="Open Location Code specification, example 8FVC9G8F+6W (Zurich, 47.365590 8.524997)",
    kind="memory", tolerance=0.0002, absolute=True,
)  # fmt: skip
def test_an_open_location_code_gives_coordinates_that_are_told(empty: Desk, outside: Any) -> None:
    answer = empty.browser.post("/places/new/", NEW | {"where": "8FVC9G8F+6W"}, follow=True)
    place = Place.objects.get()
    outside(place.latitude, 47.365590)
    outside(place.longitude, 8.524997)
    page = answer.content.decode()
    assert f"It lies at {place.where}." in page
    assert "8FVC9G8F+6W" in page  # the place's page


def test_a_short_code_counts_from_other_places_in_the_town(empty: Desk) -> None:
    owner = factories.client("Osei")
    factories.place(owner, town="Tarnwick", latitude=47.37, longitude=8.54)
    factories.place(owner, town="Elsewhere", latitude=-30.0, longitude=100.0)
    empty.post("place_new", **(NEW | {"where": "9G8F+6W", "town": "tarnwick"}))
    place = Place.objects.get(name="terrace")
    assert place.where.startswith("47.365")
    # a town of which nothing is known counts from the firm's own
    empty.post(
        "place_new", **(NEW | {"where": "9G8F+6W", "town": "Newmill", "email": "b@b.example"})
    )
    assert Place.objects.get(town="Newmill").where == place.where


def test_coordinates_can_be_taken_away(desk: Desk) -> None:
    desk.post("place_edit", desk.place.pk, **edit(desk, where="50.1000, 5.2500"))
    desk.post("place_edit", desk.place.pk, **edit(desk, where="", rev=2))
    assert Place.objects.get().latitude is None


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
    where = {"where": "44.606291; -12.3949600"}
    desk.post("place_edit", desk.place.pk, **edit(desk, **where))
    place = Place.objects.get()
    assert (place.latitude, place.longitude) == (44.606291, -12.39496)
    shown = desk.get("place_edit", place.pk).context["form"]
    again = {"where": shown["where"].value()}
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


def test_windows_that_overlap_are_refused_in_any_order(desk: Desk) -> None:
    typed = {
        "d3_0_opens": "14:00", "d3_0_closes": "18:00", "d3_1_opens": "08:00",
        "d3_1_closes": "14:30", "spans": "2",
    }  # fmt: skip
    answer = desk.post("hours", desk.place.pk, **typed)
    assert answer.status_code == 422
    assert "Overlaps 14:00 to 18:00; make one of both." in answer.content.decode()
    assert not VisitingHours.objects.exists()
    desk.post("hours", desk.place.pk, **(typed | {"d3_1_closes": "14:00"}))
    assert VisitingHours.objects.count() == 2


def test_a_third_window_has_room_when_asked_and_stays(desk: Desk) -> None:
    typed = {
        "d1_0_opens": "08:00", "d1_0_closes": "10:00", "d1_1_opens": "11:00",
        "d1_1_closes": "12:00", "spans": "2", "more": "1",
    }  # fmt: skip
    page = desk.post("hours", desk.place.pk, **typed)
    assert page.status_code == 200
    form = page.context["form"]
    assert (form.room, form["d1_0_opens"].value()) == (3, "08:00")
    assert not VisitingHours.objects.exists()
    del typed["more"]
    third = {"d1_2_opens": "14:00", "d1_2_closes": "16:00", "spans": "3"}
    desk.post("hours", desk.place.pk, **(typed | third))
    assert VisitingHours.objects.count() == 3
    held = desk.get("hours", desk.place.pk).context["form"]
    assert held["d1_2_closes"].value() == dt.time(16)
    # emptied, it is taken away
    without = typed | {"spans": "3", "d1_1_opens": "", "d1_1_closes": ""}
    desk.post("hours", desk.place.pk, **(without | third))
    assert VisitingHours.objects.count() == 2
    again = desk.post("hours", desk.place.pk, **(typed | {"spans": "6", "more": "1"}))
    assert not again.context["form"].may_grow


def test_source_water_is_noted(desk: Desk) -> None:
    values = {"on": "2026-06-01", "ph": "7,6", "alkalinity_mg_l_caco3": "120", "chloramine": "on"}
    desk.post("source_new", desk.place.pk, **values)
    row = SourceWater.objects.latest("on")
    assert (row.ph, row.chloramine, row.total_chlorine_mg_l) == (7.6, True, 0)
    twice = desk.post("source_new", desk.place.pk, **values)
    assert twice.status_code == 422
