"""The effects that the outbox may run: kind -> what it does."""

import datetime as dt
from uuid import UUID

from apps.accounts.selectors import firm_current
from apps.advice.services import standing_refresh
from apps.core.outbox import effect
from apps.core.scoping import system
from apps.flows import ahead, checking_in, erasing, file_removal, offering, rounds, visit_days
from apps.flows.letters import compose
from apps.flows.releasing import release
from apps.reports.services.reports import blocking, version_make
from apps.reports.services.sending import letter_send
from apps.visits.models import Visit


@effect("reports.render", queue="pdf", lease_s=150)
def render_reports(*, visit_id: str, at: dt.datetime, reason: str = "", by: str = "") -> None:
    """Draw each report of a visit; release them where the firm wants that and nothing blocks."""
    visit = Visit.objects.select_related("place__client").get(pk=visit_id)
    for sheet in visit.sheets.select_related("system__place__client").order_by("id"):
        sheet.visit = visit
        version_make(sheet, reason=reason, by=by, at=at)
    if firm_current().release_automatically and not blocking(visit):
        release(visit=visit, by=system("the firm's setting", at), at=at)


@effect("letters.send", lease_s=120, max_attempts=16)
def send_letter(*, letter_id: str, at: dt.datetime) -> None:
    """Send one letter."""
    letter_send(letter_id=UUID(letter_id), compose=compose, at=at)


@effect("standing.refresh", lease_s=300)
def refresh_standing(*, system_ids: list[str], at: dt.datetime) -> None:
    """Work out the standing of some systems anew."""
    ids = [UUID(pk) for pk in system_ids]
    standing_refresh(ids, at)


@effect("erasing.finish", lease_s=300)
def finish_erasing(*, names: list[str], mark: str, on: str, at: dt.datetime) -> None:
    """Take away the files of a client who was erased."""
    erasing.finish(names=names, mark=mark, on=on, at=at)


@effect("files.remove", lease_s=300)
def remove_files(*, names: list[str], at: dt.datetime) -> None:
    """Take away files whose rows are gone."""
    file_removal.files_remove(names)


@effect("check_in.tell", max_attempts=16)
def tell_late_check_in(*, check_in_id: str, at: dt.datetime) -> None:
    """Write to the office about somebody who works alone and has not said fine."""
    checking_in.tell(check_in_id=UUID(check_in_id), at=at)


@effect("rounds.plan", lease_s=180, max_attempts=3)
def plan_rounds(*, plan_id: str, at: dt.datetime) -> None:
    """Make a plan of rounds."""
    rounds.plan_make(plan_id=UUID(plan_id), at=at)


@effect("offer.lapse", max_attempts=16)
def lapse_offer(*, offer_id: str, at: dt.datetime) -> None:
    """Let times that a client did not choose from in time go."""
    offering.lapse(offer_id=UUID(offer_id), at=at)


@effect("care.visit_days", lease_s=300)
def plan_visit_days(*, place_id: str, at: dt.datetime) -> None:
    """Plan the visit days of one place anew."""
    visit_days.visit_days_make(place_id=UUID(place_id), at=at)


@effect("care.visit_days_all", lease_s=300)
def plan_all_visit_days(*, at: dt.datetime) -> None:
    """Ask for the visit days of every place."""
    visit_days.all_ask(at)


@effect("ahead.make", lease_s=300)
def make_forecasts(*, system_ids: list[str], at: dt.datetime) -> None:
    """Make the forecasts of some systems anew."""
    ahead.forecasts_make(system_ids=[UUID(pk) for pk in system_ids], at=at)
