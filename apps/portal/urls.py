"""Addresses of the client's page."""

from django.urls import path

from apps.portal import away, calendars, help, home, letters, proposals, reopening, views

app_name = "portal"
urlpatterns = [
    path("<str:secret>/", views.page, name="page"),
    path("<str:secret>/close", reopening.close, name="close"),
    path("<str:secret>/again", reopening.again, name="again"),
    path("<str:secret>/visits/<uuid:visit>/answer", views.answer, name="answer"),
    path("<str:secret>/times/<uuid:offer>/answer", views.times, name="times"),
    path("<str:secret>/weather/<uuid:ask>/answer", views.weather, name="weather"),
    path("<str:secret>/reports/<uuid:version>.pdf", views.report, name="report"),
    path("<str:secret>/proposals/<uuid:version>.pdf", proposals.proposal, name="proposal"),
    path(
        "<str:secret>/proposals/<uuid:version>/answer",
        proposals.proposal_said,
        name="proposal_said",
    ),
    path("<str:secret>/photos/<uuid:photo>.jpg", views.photo, name="photo"),
    path("<str:secret>/systems/<uuid:system>/log/", home.log, name="log"),
    path("<str:secret>/systems/<uuid:system>/done/", home.done, name="done"),
    path("<str:secret>/systems/<uuid:system>/help/", help.help_page, name="help"),
    path("<str:secret>/away/", away.away_new, name="away_new"),
    path("<str:secret>/away/<uuid:pk>/", away.away, name="away"),
    path("<str:secret>/away/<uuid:pk>/change/", away.away_edit, name="away_edit"),
    path("<str:secret>/away/<uuid:pk>/withdraw/", away.away_end, name="away_end"),
    path("<str:secret>/letters/", letters.letters, name="letters"),
    path("<str:secret>/letters/stop/", letters.stop, name="letters_stop"),
    path("<str:secret>/calendar/", calendars.calendar, name="calendar"),
    path("<str:secret>/calendar/<uuid:feed>/end/", calendars.calendar_end, name="calendar_end"),
]
