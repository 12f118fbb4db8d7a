"""What the firm has begun: a wish with its survey and a proposal that waits, a filter coming in."""

import datetime as dt

from django.utils import timezone

from apps.accounts.models import User
from apps.calc.design.wish import Site, Wish
from apps.calc.rhythm import satisfied
from apps.care.choices import Mode, Who
from apps.care.models import CareTask, Completion
from apps.care.services import first_weeks_make, rhythm_of, tasks_recompute
from apps.catalogue.selectors import catalogue_current
from apps.clients.models import Place
from apps.core.scoping import Actor
from apps.flows.proposal_letters import proposal_send
from apps.proposals.designs import rules_of
from apps.proposals.services import (
    prices_set,
    proposal_change,
    proposal_make,
    survey_photo_keep,
    survey_save,
    version_make,
)
from apps.reports.choices import Delivery, LetterKind
from apps.reports.models import Letter
from apps.reports.rendering.child import CHILD
from apps.reports.services.letters import step_note
from apps.systems.models import Component, System
from demo.firm.keys import chance, key
from demo.firm.people import Home
from demo.firm.rows import estate_of
from demo.pictures import picture

PROPOSED = "Greens along the south wall"
WISHER = Home(
    "tarrow", "Sunniva Tarrow", "Sunniva Tarrow", "Mill Yard 9", "Tarnwick", (-0.2, -1.0),
    notes="The way in is past the rain barrels.",
)  # fmt: skip
PRICES = {
    "tank": 5_500, "settler": 2_400_000, "moving_bed": 6_000, "carriers": 9_500, "raft": 580_000,
    "gravel_bed": 740_000, "channel": 520_000, "sump": 5_000, "pump": 890_000,
    "air_pump": 1_390_000, "backup_air": 1_650_000, "heater": 640_000, "pipe": 72_000,
    "media": 1_800, "ammonium_chloride": 90_000, "potassium_bicarbonate": 65_000,
    "feed_pellets": 24_000, "iron_dtpa": 280_000, "net_pots": 1_200, "plugs": 800,
    "thiosulfate": 70_000, "reagent_ammonia": 140_000, "reagent_nitrite": 120_000,
    "reagent_nitrate": 150_000, "reagent_ph": 90_000, "titrant_alkalinity": 110_000,
    "dpd_tablets": 160_000, "buffer_ph": 130_000, "standard_ec": 120_000, "o_rings": 180_000,
}  # fmt: skip
SURVEY = {
    "surveyed_by": "Ana Sorrell", "species": "common_carp", "allowed": "free",
    "wants": "Salad from May to October for four, and something for the children to look after.",
    "allowed_by": "fisheries office, by telephone", "consent": "own", "length_m": 6.5,
    "width_m": 3.8, "ground": "paving", "slope_mm_m": 6.0, "narrowest_m": 0.9, "stairs": "no",
    "sun_hours": 5.5, "shade": "The pear tree at the south-west corner, from four.",
    "wind": "sheltered", "winter_c": 6.0, "summer_c": 25.0, "frost_days": 30, "source": "tap",
    "ph": 7.4, "alkalinity_mg_l_caco3": 88.0, "hardness_mg_l_caco3": 120.0,
    "total_chlorine_mg_l": 0.15, "chloramine": False, "temp_c": 13.0, "volts": 230.0, "amps": 16.0,
    "socket_m": 4.0, "earthed": "yes", "rcd": "trips", "rcd_ma": 30.0, "outage_h_month": 0.5,
    "longest_outage_h": 2.0, "drain": "garden", "soil_m2": 20.0,
    "comers": "Two children of six and nine; a cat from next door.", "neighbour_m": 7.0,
}  # fmt: skip
PHOTOS = (("leaf_good", "South side, with what grows there now"), ("sump", "The old rain barrel"))
TERMS = {
    "words": "Thank you for the plum cake. This is what we would build along the south wall.",
    "margin": 2_500, "hours": 2_200, "rate": 480_000, "tax": 2_100,
    "extras": [{"text": "Delivery and lifting", "amount": 1_600_000}],
    "left_out": "The pergola over the rafts.",
}  # fmt: skip


def begin(at: dt.datetime) -> None:
    """Write both by the project's own services, as if the firm had done so over the last days."""
    office = Actor("office", at, User.objects.get(username="office").pk)
    technician = Actor("technician", at, User.objects.get(username="ana").pk)
    first_weeks(office, technician)
    try:
        wish(office, technician)
    finally:
        CHILD.close()


def _ago(at: dt.datetime, days: int, hour: int) -> dt.datetime:
    day = timezone.localdate(at) - dt.timedelta(days=days)
    return timezone.make_aware(dt.datetime.combine(day, dt.time(hour, 20)))


def wish(office: Actor, technician: Actor) -> None:
    """A survey with photos, prices, and a proposal that went to the client four days ago."""
    place = _place(timezone.localdate(office.at))
    surveyed, written, sent = (
        _ago(office.at, 9, 15), _ago(office.at, 6, 11), _ago(office.at, 4, 9),
    )  # fmt: skip
    prices_set(prices=PRICES, by=office, at=surveyed)
    survey = survey_save(
        place=place, values=SURVEY | {"on": timezone.localdate(surveyed)}, by=technician,
        at=surveyed,
    )  # fmt: skip
    for name, caption in PHOTOS:
        survey_photo_keep(
            survey=survey, pk=key("site photo", name), by=technician, at=surveyed, caption=caption,
            data=picture(name, chance(timezone.localdate(surveyed), "tarrow", name)),
        )  # fmt: skip
    row = proposal_make(
        place=place, name=PROPOSED, crop="lettuce_loose_leaf",
        wish=Wish("beds", 6, "common_carp", "leafy", "raft"),
        site=Site(6, 25, source_alkalinity=88.0, source_chlorine=0.15),
        rules=rules_of(catalogue_current()), by=office, at=written,
        today=timezone.localdate(written),
    )  # fmt: skip
    row = proposal_change(proposal=row, changes=TERMS, rev=row.rev, by=office, at=written)
    version, _new = version_make(proposal=row, by=office, at=sent)
    proposal_send(version=version, words="We could begin in three weeks.", by=office, at=sent)
    _arrived(sent)


def _place(today: dt.date) -> Place:
    """Return the place of a client who has no system yet, put into the firm's book."""
    estate = estate_of(WISHER, today)
    estate.client.since = None
    estate.client.save(force_insert=True)
    for row in (*estate.contacts, estate.place, *estate.waters):
        row.save(force_insert=True)
    return estate.place


def _arrived(at: dt.datetime) -> None:
    """Let the letter have gone out on its day, as all letters of the year before today have."""
    letter = Letter.objects.get(kind=LetterKind.PROPOSAL)
    subject = f"Our proposal: {PROPOSED}"
    Letter.objects.filter(pk=letter.pk).update(
        state=Delivery.SENT, sent_at=at, subject_line=subject, tries=1, not_before=None
    )
    step_note(letter, Delivery.SENT, at, "")


def first_weeks(office: Actor, technician: Actor) -> None:
    """The tasks of the newest system's first weeks, those of the days that are over done."""
    system = System.objects.get(pk=key("system", "kim"))
    assert system.started_on is not None
    today = timezone.localdate(office.at)
    tasks = first_weeks_make(
        system=system, catalogue=catalogue_current(), has_fish=True, has_plants=True,
        components=list(Component.objects.filter(loop__system=system, removed_on=None)),
        # its water begins with the first ammonia, which comes on the third day
        started=system.started_on - dt.timedelta(days=3), temp_c=26.0, by=office, at=office.at,
    )  # fmt: skip
    done = [_done(task, today, technician, office.at) for task in tasks if _is_over(task, today)]
    Completion.objects.bulk_create(done)
    tasks_recompute(task_ids=[row.task_id for row in done], at=office.at)


def _is_over(task: CareTask, today: dt.date) -> bool:
    return task.anchor is not None and task.anchor < today


def _done(task: CareTask, today: dt.date, technician: Actor, at: dt.datetime) -> Completion:
    """Return what was done of a task: on its day, or of a series on the day before today."""
    day = task.anchor if task.mode == Mode.ONCE and task.anchor else today - dt.timedelta(days=1)
    by = f"technician:{technician.user_id}"
    if task.who == Who.CLIENT:
        by = f"client:{task.system.place.client_id}"
    return Completion(
        pk=key("begun", task.code), task=task, done_on=day, by=by, made_at=at,
        occurrence=satisfied(rhythm_of(task), day),
    )  # fmt: skip
