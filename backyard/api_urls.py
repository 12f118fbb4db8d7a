"""Addresses of the API, version 1."""

from django.urls import path
from drf_spectacular.views import SpectacularJSONAPIView

from apps.field.api import days, operations, pictures, session
from apps.office.api import (
    absences,
    ahead,
    calculators,
    calendars,
    catalogue,
    counters,
    due,
    incidents,
    letters,
    offering,
    photos,
    reports,
    rounds,
    systems,
    visit_days,
    visits,
)

app_name = "api"
urlpatterns = [
    path("schema", SpectacularJSONAPIView.as_view(), name="schema"),
    path("due", due.Due.as_view(), name="due"),
    path("systems", systems.Systems.as_view(), name="systems"),
    path("systems/<uuid:pk>", systems.OneSystem.as_view(), name="system"),
    path("systems/<uuid:pk>/ahead", ahead.Ahead.as_view(), name="system_ahead"),
    path("systems/<uuid:pk>/counters", counters.MeterReadings.as_view(), name="meter_readings"),
    path(
        "counters/<uuid:pk>/withdrawal", counters.WithdrawReading.as_view(), name="meter_withdrawal"
    ),
    path("places", systems.Places.as_view(), name="places"),
    path("technicians", systems.Technicians.as_view(), name="technicians"),
    path("visit-days", visit_days.VisitDays.as_view(), name="visit_days"),
    path("visits", visits.Visits.as_view(), name="visits"),
    path("visits/<uuid:pk>", visits.OneVisit.as_view(), name="visit"),
    path("visits/<uuid:pk>/transition", visits.Transition.as_view(), name="transition"),
    path("visits/<uuid:pk>/assessment", visits.Assessment.as_view(), name="assessment"),
    path("visits/<uuid:pk>/values", visits.Values.as_view(), name="values"),
    path("visits/<uuid:pk>/submission", visits.Submission.as_view(), name="submission"),
    path("visits/<uuid:pk>/reports", visits.VisitReports.as_view(), name="visit_reports"),
    path("visits/<uuid:pk>/times", offering.VisitTimes.as_view(), name="visit_times"),
    path("visits/<uuid:pk>/offer", offering.VisitOffer.as_view(), name="visit_offer"),
    path(
        "visits/<uuid:pk>/offer/withdraw",
        offering.WithdrawOffer.as_view(),
        name="visit_offer_withdraw",
    ),
    path("visits/<uuid:pk>/offer/pick", offering.PickOffer.as_view(), name="visit_offer_pick"),
    path("visits/<uuid:pk>/photos", photos.Photos.as_view(), name="photos"),
    path("photos/<uuid:pk>", photos.OnePhoto.as_view(), name="photo"),
    path("reports/<uuid:pk>/release", reports.ReleaseReport.as_view(), name="release"),
    path("reports/<uuid:pk>/pdf", reports.ReportPdf.as_view(), name="report_pdf"),
    path("readings/<uuid:pk>/correction", reports.CorrectReading.as_view(), name="correction"),
    path("rounds/plans", rounds.Plans.as_view(), name="round_plans"),
    path("rounds/plans/<uuid:pk>", rounds.OnePlan.as_view(), name="round_plan"),
    path("rounds/plans/<uuid:pk>/accept", rounds.AcceptPlan.as_view(), name="round_plan_accept"),
    path("rounds/plans/<uuid:pk>/drop", rounds.DropPlan.as_view(), name="round_plan_drop"),
    path("rounds/plans/<uuid:pk>/move", rounds.MoveStop.as_view(), name="round_plan_move"),
    path(
        "rounds/plans/<uuid:pk>/absence", rounds.TechnicianAway.as_view(), name="round_plan_absence"
    ),
    path("absences", absences.Absences.as_view(), name="absences"),
    path("absences/<uuid:pk>", absences.OneAbsence.as_view(), name="absence"),
    path("absences/<uuid:pk>/instead", absences.Instead.as_view(), name="absence_instead"),
    path("calendars", calendars.Calendars.as_view(), name="calendars"),
    path("calendars/<uuid:pk>", calendars.OneCalendar.as_view(), name="calendar"),
    path("letters", letters.Letters.as_view(), name="letters"),
    path("letters/<uuid:pk>/now", letters.LetterNow.as_view(), name="letter_now"),
    path("letters/<uuid:pk>/again", letters.LetterAgain.as_view(), name="letter_again"),
    path("incidents", incidents.Incidents.as_view(), name="incidents"),
    path("incidents/<uuid:pk>", incidents.OneIncident.as_view(), name="incident"),
    path("incidents/<uuid:pk>/notes", incidents.IncidentNotes.as_view(), name="incident_notes"),
    path("incidents/<uuid:pk>/close", incidents.CloseIncident.as_view(), name="incident_close"),
    path("calculators", calculators.Calculators.as_view(), name="calculators"),
    path("calculators/<str:name>", calculators.Calculate.as_view(), name="calculate"),
    path("catalogue/<str:kind>", catalogue.CatalogueEntries.as_view(), name="catalogue"),
    path("field/session", session.Session.as_view(), name="phone_session"),
    path("field/day", days.Day.as_view(), name="phone_day"),
    path("field/operations", operations.Operations.as_view(), name="phone_operations"),
    path("field/contact", operations.Contact.as_view(), name="phone_contact"),
    path("field/photos/<uuid:pk>", pictures.Upload.as_view(), name="phone_photo"),
    path("field/copy", operations.Copy.as_view(), name="phone_copy"),
]
