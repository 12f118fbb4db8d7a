"""Surveys and proposals to look at, each in a state of its own; the page of who has one and no system."""

import datetime as dt
from typing import Any
from uuid import uuid4

from apps.accounts.choices import Purpose
from apps.accounts.services import link_issue
from apps.calc.design.wish import Site, Wish
from apps.catalogue.selectors import catalogue_current
from apps.clients.selectors import letter_contacts
from apps.core import clock
from apps.core.scoping import Actor
from apps.flows.proposal_letters import proposal_send
from apps.office.services import proposal_make_system
from apps.proposals.choices import Said
from apps.proposals.designs import rules_of
from apps.proposals.models import Proposal, SiteSurvey
from apps.proposals.services import (
    proposal_answer,
    proposal_change,
    proposal_make,
    survey_photo_keep,
    survey_save,
    version_make,
    word_add,
    word_seen,
)
from apps.proposals.survey_words import WATER
from apps.systems.choices import ComponentKind
from apps.visits.models import Visit
from demo.firm.keys import chance
from demo.pictures import picture

SURVEYED = {
    "surveyed_by": "Ana Reyes", "wants": "Salad for six, and fish now and then.",
    "species": "nile_tilapia", "allowed": "permit", "allowed_by": "fisheries office, by telephone",
    "consent": "own", "length_m": 7.0, "width_m": 4.0, "ground": "paving", "slope_mm_m": 8.0,
    "narrowest_m": 0.85, "stairs": "no", "sun_hours": 5.0, "shade": "The plane tree, from three.",
    "wind": "open", "winter_c": 16.0, "summer_c": 29.0, "frost_days": 12, "source": "tap",
    "ph": 7.4, "alkalinity_mg_l_caco3": 90.0, "total_chlorine_mg_l": 0.6, "volts": 230.0,
    "socket_m": 9.0, "earthed": "yes", "rcd": "untested", "drain": "garden", "soil_m2": 12.0,
    "comers": "Two children, a heron.", "neighbour_m": 6.0,
}  # fmt: skip
TERMS = {
    "words": "Thank you for the tea. This is what we would build along the wall.",
    "prices": {
        "tank": 5_500, "settler": 2_400_000, "moving_bed": 6_000, "carriers": 9_500,
        "raft": 580_000, "sump": 5_000, "pump": 890_000, "air_pump": 1_390_000,
        "backup_air": 1_650_000, "pipe": 72_000, "ammonium_chloride": 90_000,
        "potassium_bicarbonate": 65_000, "feed_pellets": 24_000, "iron_dtpa": 280_000,
        "net_pots": 1_200, "plugs": 800, "reagent_ammonia": 140_000, "reagent_nitrite": 120_000,
        "reagent_nitrate": 150_000, "reagent_ph": 90_000, "titrant_alkalinity": 110_000,
    },
    "margin": 2_500, "hours": 2_600, "rate": 480_000, "tax": 2_100,
    "extras": [{"text": "Delivery and lifting", "amount": 1_800_000}],
    "left_out": "The pergola over the rafts.",
}  # fmt: skip


def proposal_samples(facts: dict[str, Any], office: Actor) -> dict[str, str]:
    """Return a survey and a proposal with prices; an empty survey, one unpriced, and one built."""
    place = Visit.objects.get(pk=facts["visit_id"]).place
    catalogue, names = catalogue_current(), {kind.value: kind.value for kind in ComponentKind}
    held = {row.name: row for row in Proposal.objects.filter(place=place)}
    if not held:
        values = dict.fromkeys(WATER)
        survey_save(
            place=place, by=office, at=office.at,
            values=values | {"on": clock.today() - dt.timedelta(days=1), "surveyed_by": "Office"},
        )  # fmt: skip
        survey_save(place=place, values=values | SURVEYED | {"on": clock.today()}, by=office, at=office.at)  # fmt: skip
        for name in ("Front yard greens", "Front yard, larger", "Back wall"):
            held[name] = proposal_make(
                place=place, name=name, wish=Wish("beds", 6, "nile_tilapia", "leafy", "raft"),
                site=Site(18, 30, source_alkalinity=90), rules=rules_of(catalogue),
                crop="lettuce_loose_leaf", by=office, at=office.at, today=clock.today(),
            )  # fmt: skip
        Proposal.objects.filter(name="Front yard, larger").update(prices={})
        for name in ("Front yard greens", "Back wall"):
            row = proposal_change(
                proposal=held[name], changes=TERMS, rev=1, by=office, at=office.at
            )
            version, _new = version_make(proposal=row, by=office, at=office.at)
        proposal_answer(
            proposal=row, answer="accepted", on=clock.today(), words="Go ahead.", version=version,
            said_by="Ottoline Marsh", by=office, at=office.at,
        )  # fmt: skip
        _sent_and_over(held, office)
        proposal_make_system(
            proposal=row, name="Back wall", names=names, catalogue=catalogue, by=office,
            at=office.at,
        )  # fmt: skip
    empty, full = SiteSurvey.objects.filter(place=place).order_by("on")
    priced = held["Front yard greens"]
    return {
        "survey": str(full.pk), "open_survey": str(empty.pk), "proposal": str(priced.pk),
        "open_proposal": str(held["Front yard, larger"].pk),
        "built_proposal": str(held["Back wall"].pk),
        "proposal_version": str(priced.versions.order_by("number")[0].pk),
        "open_proposal_version": str(held["Front yard, larger"].versions.get().pk),
        "survey_photo": str(full.photos.all()[0].pk), "wish_secret": _wish(office),
    }  # fmt: skip


def _sent_and_over(held: dict[str, Proposal], office: Actor) -> None:
    """Send two, one of which is over by now, with words of the client's and photos of the site."""
    place = held["Front yard, larger"].place
    survey = SiteSurvey.objects.filter(place=place).latest("on")
    for number, caption in enumerate(("South wall, with the socket", ""), 1):
        survey_photo_keep(
            survey=survey, pk=uuid4(), data=picture("sump", chance(clock.today(), "site", number)),
            caption=caption, by=office, at=office.at,
        )  # fmt: skip
    contact = letter_contacts(place.client_id)[0]
    for name, kind, words in (
        ("Front yard greens", Said.WANTED, ""), ("Front yard, larger", Said.QUESTION, "Could the tank stand in the shade?"),
    ):  # fmt: skip
        row = Proposal.objects.get(pk=held[name].pk)
        version, _new = version_make(proposal=row, by=office, at=office.at)
        proposal_send(version=version, words="", by=office, at=office.at)
        word_add(
            version=version, kind=kind, words=words, contact_id=contact.pk, pk=uuid4(), by=office,
            at=office.at,
        )  # fmt: skip
    over = clock.today() - dt.timedelta(days=1)
    Proposal.objects.filter(pk=row.pk).update(valid_until=over)
    word_seen(word=version.words_said.get(), by=office, at=office.at)


def _wish(office: Actor) -> str:
    """Return the page of a client who has a proposal and no system yet."""
    waits = Proposal.objects.filter(place__systems=None, versions__sending__isnull=False).first()
    return link_issue(
        client_id=(waits or Proposal.objects.all()[0]).place.client_id, purpose=Purpose.PAGE,
        at=office.at, secret="screens-wish-" + "a" * 30,
    )  # fmt: skip
